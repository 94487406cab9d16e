//! Writes the report of a job, and attaches photos to it.

use super::options::RecordOptions;
use clap::{Args, ValueEnum};
use miette::{Context, IntoDiagnostic, miette};
use record::{Archive, JobId, MAX_PHOTO_BYTES};
use report::{JobReport, Picture};
use sayback::library::Shelf;
use std::fs::File;
use std::io::{Read, Write};
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
    /// Write one HTML file with everything inside
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
    /// The paper of the HTML and the PDF
    #[arg(long, value_enum, default_value = "a4")]
    paper: Paper,
    /// Write over files that are there
    #[arg(long)]
    overwrite: bool,
}

pub fn write(records: &RecordOptions, id: &str, files: &ReportFiles) -> miette::Result<ExitCode> {
    let archive = records.to_read()?;
    let record = proved(&archive, &JobId::new(id))?;
    let report = JobReport::of(&record);
    let json = || report.json().into_diagnostic();
    let mut made: Vec<(&Path, Vec<u8>)> = Vec::new();
    // All are made before the first is written, so a failure leaves no half of them.
    let photos = photos(&archive, &record);
    if let Some(path) = &files.html {
        made.push((path, report.html(&photos, files.paper.into()).into_bytes()));
    }
    if let Some(path) = &files.pdf {
        let pdf = report.pdf(&photos, files.paper.into()).into_diagnostic()?;
        made.push((path, pdf));
    }
    if let Some(path) = &files.csv {
        made.push((path, report.csv().into_diagnostic()?.into_bytes()));
    }
    if let Some(path) = &files.json {
        made.push((path, json()?.into_bytes()));
    }
    if made.is_empty() {
        tell!("{}", json()?.trim_end());
    }
    for (path, _) in &made {
        if path.exists() && !files.overwrite {
            return Err(miette!(
                help = "name another file, or say --overwrite",
                "{} is there already, and was left as it is",
                path.display()
            ));
        }
    }
    for (path, bytes) in made {
        put(path, &bytes)?;
        tell!("{}", path.display());
    }
    Ok(ExitCode::SUCCESS)
}

/// The record, replayed where the shipped procedure is still the one that the job was worked by.
fn proved(archive: &Archive, id: &JobId) -> miette::Result<record::Report> {
    let record = archive.report(id).into_diagnostic()?;
    match Shelf::Shipped.load(record.procedure.as_str()) {
        Ok(procedure) if procedure.sha256 == record.procedure_sha256 => archive
            .report_replayed(id, Arc::new(procedure))
            .into_diagnostic(),
        Ok(_) | Err(_) => Ok(record),
    }
}

/// Writes a file whole or not at all: beside its place first, then into it.
fn put(path: &Path, bytes: &[u8]) -> miette::Result<()> {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".part");
    let beside = path.with_file_name(name);
    let write = || {
        let mut file = File::create(&beside)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        std::fs::rename(&beside, path)
    };
    write()
        .inspect_err(|_| {
            let _ = std::fs::remove_file(&beside);
        })
        .into_diagnostic()
        .wrap_err_with(|| {
            format!(
                "{} can't be written: see that its folder is there, that you may write in it and that it has room",
                path.display()
            )
        })
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
    let archive = records.archive()?;
    let mut bytes = Vec::new();
    // One byte more than is taken shows that it is too large.
    File::open(file)
        .and_then(|open| open.take(MAX_PHOTO_BYTES + 1).read_to_end(&mut bytes))
        .into_diagnostic()
        .wrap_err_with(|| format!("the photo {} can't be read", file.display()))?;
    let given = file.file_name().unwrap_or_default().to_string_lossy();
    let now = sayback::work::conversation::now();
    let photo = archive
        .attach(&JobId::new(id), note, &given, &bytes, now)
        .into_diagnostic()?;
    let to = note.map_or_else(String::new, |note| format!(" to note {note}"));
    tell!(
        "Attached{to}, {} × {} pixels: {}",
        photo.width,
        photo.height,
        photo.path
    );
    Ok(ExitCode::SUCCESS)
}
