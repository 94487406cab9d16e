//! Writes a procedure's step sheet as PDF, HTML or Markdown.

use super::options::Overwrite;
use super::report::Paper;
use clap::Args;
use miette::{IntoDiagnostic, miette};
use report::StepSheet;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use steps::Procedure;

/// Where a step sheet goes.
#[derive(Debug, Args)]
pub struct ExportOptions {
    /// Write its step sheet, to hang up or to read before the job; the file ends in .pdf, .html or .md
    #[arg(long, visible_alias = "sheet", value_name = "FILE")]
    export: Option<PathBuf>,
    /// The paper of the step sheet
    #[arg(long, value_enum, default_value = "a4", requires = "export")]
    paper: Paper,
    #[command(flatten)]
    pub overwrite: Overwrite,
}

impl ExportOptions {
    /// Writes the sheet, if one is asked for, and returns where.
    pub fn write(&self, procedure: &Procedure) -> miette::Result<Option<&Path>> {
        let Some(path) = &self.export else {
            return Ok(None);
        };
        let sheet = StepSheet::of(procedure, self.paper.into());
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
        files::write(path, &bytes, self.overwrite.if_there()).into_diagnostic()?;
        Ok(Some(path))
    }
}
