//! A procedure onto paper: its step sheet as PDF, HTML or Markdown.

use super::report::Paper;
use clap::Args;
use miette::{Context, IntoDiagnostic, miette};
use report::StepSheet;
use sayback::library::Shelf;
use std::ffi::OsStr;
use std::path::PathBuf;

/// Where a step sheet goes.
#[derive(Debug, Args)]
pub struct ExportOptions {
    /// Write its step sheet, for the wall or to be read before the job: .pdf, .html or .md, by the name's ending
    #[arg(long, visible_alias = "sheet", value_name = "FILE")]
    export: Option<PathBuf>,
    /// The paper of the step sheet
    #[arg(long, value_enum, default_value = "a4", requires = "export")]
    paper: Paper,
    /// Write over a step sheet that is there
    #[arg(long, requires = "export")]
    overwrite: bool,
}

impl ExportOptions {
    /// Writes the sheet, if one is asked for.
    pub fn write(&self, shelf: &Shelf, name: &str) -> miette::Result<()> {
        let Some(path) = &self.export else {
            return Ok(());
        };
        let procedure = super::work::load(shelf, name)?;
        let sheet = StepSheet::of(&procedure, self.paper.into());
        let ending = path.extension().and_then(OsStr::to_str).unwrap_or_default();
        let bytes = match ending.to_ascii_lowercase().as_str() {
            "pdf" => sheet.pdf().into_diagnostic()?,
            "html" | "htm" => sheet.html().into_bytes(),
            "md" | "markdown" => sheet.markdown().into_bytes(),
            _ => {
                return Err(miette!(
                    help = "end the file's name in .pdf, .html or .md",
                    "{} doesn't say what to write",
                    path.display()
                ));
            }
        };
        if path.exists() && !self.overwrite {
            return Err(miette!(
                help = "name another file, or say --overwrite",
                "{} is there already, and was left as it is",
                path.display()
            ));
        }
        std::fs::write(path, bytes)
            .into_diagnostic()
            .wrap_err_with(|| {
                format!(
                    "the step sheet can't be written to {}: name another file",
                    path.display()
                )
            })
    }
}
