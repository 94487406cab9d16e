//! Lists and shows the records of jobs.

use super::options::{RecordOptions, or_near};
use super::proof::tell_lost;
use super::search::SearchOptions;
use super::terminal;
use miette::IntoDiagnostic;
use record::{JobId, JobSummary, WaitingFor, Wanted, time};
use serde::Serialize;
use std::process::ExitCode;
use steps::{Mode, Outcome};

/// A job in the list, for programs.
#[derive(Serialize)]
struct Listed<'a> {
    #[serde(flatten)]
    job: &'a JobSummary,
    /// What it waits for.
    #[serde(skip_serializing_if = "Option::is_none")]
    waiting: &'a Option<WaitingFor>,
}

pub fn list(
    records: &RecordOptions,
    search: &SearchOptions,
    as_json: bool,
) -> miette::Result<ExitCode> {
    let wanted = search.wanted()?;
    let (archive, read) = records.read_around(|archive| {
        Ok((
            archive.unlisted()?,
            archive.orphans()?,
            archive.search(&wanted)?,
        ))
    })?;
    let (unlisted, orphans, jobs) = read.into_diagnostic()?;
    for problem in unlisted {
        warn!("Not listed: {problem}");
    }
    // Of damaged records these are among what is lost.
    tell_lost(match archive.lost() {
        [] => &orphans,
        lost => lost,
    });
    let waiting = |job: JobSummary| (archive.waiting_for(&job), job);
    let jobs: Vec<_> = jobs.into_iter().map(waiting).collect();
    if as_json {
        let listed = jobs.iter().map(|(waiting, job)| Listed { job, waiting });
        terminal::tell_json(&listed.collect::<Vec<_>>())?;
    } else if jobs.is_empty() {
        match wanted == Wanted::default() {
            true => tell!("No job is on record."),
            false => {
                tell!(
                    "No job on record matches. Drop a condition, or list all jobs with `sayback records`."
                )
            }
        }
    } else {
        for (waiting, job) in jobs {
            let how = match (job.outcome, &waiting) {
                (Some(Outcome::Finished), _) => "finished".to_owned(),
                (Some(Outcome::Abandoned), _) => "given up".to_owned(),
                (None, None) => "open".to_owned(),
                (None, Some(WaitingFor { part, since })) => {
                    let part = part.as_deref().unwrap_or("a part");
                    format!(
                        "open, waiting for {part} since {} UTC",
                        time::second(*since)
                    )
                }
            };
            let mark = match job.mode {
                Mode::Work => "",
                Mode::Rehearsal => ", REHEARSAL",
                Mode::Recordings => ", FROM RECORDINGS",
            };
            tell!("{}  {} ({how}{mark})", job.id, job.title);
        }
    }
    Ok(match archive.lost() {
        [] => ExitCode::SUCCESS,
        _ => ExitCode::FAILURE,
    })
}

pub fn show(
    records: &RecordOptions,
    id: &str,
    journal: bool,
    as_json: bool,
) -> miette::Result<ExitCode> {
    let (name, id) = (id, JobId::new(id));
    let (archive, read) = records.read_around(|archive| archive.report(&id))?;
    tell_lost(archive.lost());
    let report = read.map_err(|error| or_near(&archive, name, error))?;
    if journal {
        for line in report.journal_lines() {
            tell!("{line}");
        }
    } else if as_json {
        terminal::tell_json_text(&report.json().into_diagnostic()?);
    } else {
        tell!("{}", report::Summary(&report));
    }
    Ok(ExitCode::SUCCESS)
}
