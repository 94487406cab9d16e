//! Writes the report of a job, and attaches photos to it.

use super::options::{Overwrite, RecordOptions, or_near};
use super::terminal;
use clap::{Args, ValueEnum};
use miette::{IntoDiagnostic, miette};
use record::{Archive, JobId, MAX_PHOTO_BYTES, RecordError};
use report::{JobReport, Picture, Shop, TimeZone};
use sayback::config::shop;
use sayback::library::Shelf;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

/// Pixels on the longer side of a photo in a report.
const PHOTO_SIDE: u32 = 900;

/// The paper, as it is typed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    /// 210 × 297 mm
    #[default]
    A4,
    /// 8½ × 11 in
    Letter,
}

impl From<Paper> for report::Paper {
    fn from(paper: Paper) -> Self {
        match paper {
            Paper::A4 => Self::A4,
            Paper::Letter => Self::Letter,
        }
    }
}

/// What a report is written to.
#[derive(Debug, Args)]
pub struct ReportFiles {
    /// Write a self-contained HTML file
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Write a PDF
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// Write a table for spreadsheets
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Write JSON for other programs
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    /// Write one page for the customer, as HTML or PDF by the file's ending: what was done, what was measured, what to watch
    #[arg(long, value_name = "FILE")]
    customer: Option<PathBuf>,
    /// The paper of the HTML and the PDF
    #[arg(long, value_enum, default_value = "a4")]
    paper: Paper,
    #[command(flatten)]
    overwrite: Overwrite,
}

pub fn write(records: &RecordOptions, id: &str, options: &ReportFiles) -> miette::Result<ExitCode> {
    let archive = records.to_read()?;
    let record = proved(&archive, &JobId::new(id)).map_err(|error| or_near(&archive, id, error))?;
    let report = JobReport::of(&record);
    let (paper, zone) = (options.paper.into(), TimeZone::system());
    let json = || report.json().into_diagnostic();
    let mut made: Vec<(&Path, Vec<u8>)> = Vec::new();
    // All are made before the first is written, so a failure leaves no half of them.
    let photos = photos(&archive, &record);
    // JSON and CSV name no shop.
    let pages = [&options.html, &options.pdf, &options.customer];
    let shop = match pages.iter().any(|it| it.is_some()) {
        true => shop::load()?,
        false => Shop::default(),
    };
    if let Some(path) = &options.html {
        made.push((path, report.html(&shop, &photos, paper, &zone).into_bytes()));
    }
    if let Some(path) = &options.pdf {
        let pdf = report.pdf(&shop, &photos, paper, &zone).into_diagnostic()?;
        made.push((path, pdf));
    }
    if let Some(path) = &options.customer {
        let is = |ending: &str| path.extension().is_some_and(|it| it == ending);
        let page = match (is("pdf"), is("html")) {
            (true, _) => report
                .customer_pdf(&shop, &photos, paper, &zone)
                .into_diagnostic()?,
            (false, true) => report
                .customer_html(&shop, &photos, paper, &zone)
                .into_bytes(),
            (false, false) => {
                return Err(miette!("{} ends in neither .html nor .pdf", path.display()));
            }
        };
        made.push((path, page));
    }
    if let Some(path) = &options.csv {
        made.push((path, report.csv().into_diagnostic()?.into_bytes()));
    }
    if let Some(path) = &options.json {
        made.push((path, json()?.into_bytes()));
    }
    if made.is_empty() {
        terminal::tell_json_text(&json()?);
    }
    let if_there = options.overwrite.if_there();
    for (path, _) in &made {
        files::check_place(path, if_there).into_diagnostic()?;
    }
    for (path, bytes) in made {
        files::write(path, &bytes, if_there).into_diagnostic()?;
        tell!("{}", path.display());
    }
    Ok(ExitCode::SUCCESS)
}

/// The record, replayed where the shipped procedure is still the one that the job was worked by.
fn proved(archive: &Archive, id: &JobId) -> Result<record::Report, RecordError> {
    let record = archive.report(id)?;
    match Shelf::Shipped.load(record.procedure.as_str()) {
        Ok(procedure) if procedure.sha256 == record.procedure_sha256 => {
            archive.report_replayed(id, Arc::new(procedure))
        }
        Ok(_) | Err(_) => Ok(record),
    }
}

/// The photos that are still kept as they were.
fn photos(archive: &Archive, record: &record::Report) -> Vec<Picture> {
    let numbered = record.photos.iter().enumerate();
    numbered
        .filter_map(|(place, attached)| {
            let (jpeg, width, height) = archive.shown(&attached.photo, PHOTO_SIDE)?;
            Some(Picture {
                number: place + 1,
                jpeg,
                width,
                height,
            })
        })
        .collect()
}

pub fn attach(
    records: &RecordOptions,
    id: &str,
    file: &Path,
    note: Option<usize>,
) -> miette::Result<ExitCode> {
    let archive = records.archive_that_is_there()?;
    let bytes = files::read(file, MAX_PHOTO_BYTES).into_diagnostic()?;
    let given = file.file_name().unwrap_or_default().to_string_lossy();
    let given = steps::harmless(&given);
    let now = sayback::work::conversation::now();
    let photo = archive
        .attach(&JobId::new(id), note, &given, &bytes, now)
        .map_err(|error| or_near(&archive, id, error))?;
    let to = note.map_or_else(String::new, |note| format!(" to note {note}"));
    tell!(
        "Attached{to}, {} × {} pixels: {}",
        photo.width,
        photo.height,
        photo.path
    );
    Ok(ExitCode::SUCCESS)
}
