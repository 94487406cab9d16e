//! A list of steps becomes the draft of a procedure.

use drafts::{Form, MAX_BYTES};
use miette::{Context, IntoDiagnostic, miette};
use std::ffi::OsStr;
use std::io::{Read, Write};
use std::path::Path;
use std::process::ExitCode;

pub fn import(list: &Path, out: &Path, overwrite: bool) -> miette::Result<ExitCode> {
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
    let text = read(list)?;
    let made = drafts::draft(&text, form, id)
        .into_diagnostic()
        .wrap_err_with(|| format!("{} can't be imported", list.display()))?;
    let mut options = std::fs::File::options();
    options.write(true);
    match overwrite {
        true => options.create(true).truncate(true),
        false => options.create_new(true),
    };
    let written = options
        .open(out)
        .and_then(|mut file| file.write_all(made.toml.as_bytes()));
    if let Err(error) = written {
        return Err(match error.kind() {
            std::io::ErrorKind::AlreadyExists => miette!(
                help = "name another file, or say --overwrite",
                "{} is there already, and was left as it is",
                out.display()
            ),
            _ => miette!("{} can't be written: {error}", out.display()),
        });
    }
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

fn read(list: &Path) -> miette::Result<String> {
    let told = || format!("{} can't be read", list.display());
    let file = std::fs::File::open(list)
        .into_diagnostic()
        .wrap_err_with(told)?;
    let mut bytes = Vec::new();
    // One byte more than is allowed shows that it is too large.
    file.take(MAX_BYTES as u64 + 1)
        .read_to_end(&mut bytes)
        .into_diagnostic()
        .wrap_err_with(told)?;
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let before = &error.as_bytes()[..good];
        let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
        miette!(
            help = "save it as UTF-8",
            "line {line} of {} is not UTF-8 text",
            list.display()
        )
    })
}
