//! Lists and shows the records of jobs.

use super::options::{RecordOptions, or_near};
use super::proof::tell_lost;
use super::search::SearchOptions;
use super::terminal;
use miette::IntoDiagnostic;
use record::{JobId, Wanted};
use std::process::ExitCode;
use steps::{Mode, Outcome};

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
    if as_json {
        terminal::tell_json(&jobs)?;
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
        for job in jobs {
            let how = match job.outcome {
                Some(Outcome::Finished) => "finished",
                Some(Outcome::Abandoned) => "given up",
                None => "open",
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
