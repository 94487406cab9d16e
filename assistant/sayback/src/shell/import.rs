//! Turns a list of steps into the draft of a procedure.

use super::options::Overwrite;
use drafts::{Form, MAX_BYTES};
use miette::{Context, IntoDiagnostic, miette};
use std::ffi::OsStr;
use std::path::Path;
use std::process::ExitCode;

pub fn import(list: &Path, out: &Path, overwrite: Overwrite) -> miette::Result<ExitCode> {
    let ending = list.extension().and_then(OsStr::to_str).unwrap_or_default();
    let form = match ending.to_ascii_lowercase().as_str() {
        "csv" | "tsv" => Form::Csv,
        "md" | "markdown" => Form::Markdown,
        _ => {
            return Err(miette!(
                help = "save the list as a table (.csv) or as Markdown (.md)",
                "{} is no list that can be read",
                list.display()
            ));
        }
    };
    let id = match (out.extension(), out.file_stem().and_then(OsStr::to_str)) {
        (Some(ending), Some(id)) if ending == "toml" => id,
        (_, _) => return Err(miette!("{} is not a .toml file", out.display())),
    };
    let text = files::read_text(list, MAX_BYTES as u64).into_diagnostic()?;
    let made = drafts::draft(&text, form, id)
        .into_diagnostic()
        .wrap_err_with(|| format!("{} can't be imported", list.display()))?;
    files::write(out, made.toml.as_bytes(), overwrite.if_there()).into_diagnostic()?;
    tell!(
        "{}: {} steps, {} fastener groups.",
        out.display(),
        made.steps,
        made.groups
    );
    if !made.not_understood.is_empty() {
        let lines: Vec<String> = made
            .not_understood
            .iter()
            .map(ToString::to_string)
            .collect();
        tell!(
            "Look at these lines of the list first, their words or values were not understood: {}.",
            lines.join(", ")
        );
    }
    tell!(
        "It can't be used yet. Compare each of its {} lines `review = …` with your source, and delete the line. \
         Then run: sayback check {}",
        made.reviews,
        out.display()
    );
    Ok(ExitCode::SUCCESS)
}
