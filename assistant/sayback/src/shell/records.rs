//! Lists and shows the records of jobs.

use super::options::{RecordOptions, or_near};
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
    let shop = records.shop_that_is_there()?;
    for problem in shop.unlisted().into_diagnostic()? {
        warn!("Not listed: {problem}");
    }
    let jobs = shop.search(&wanted).into_diagnostic()?;
    if as_json {
        terminal::tell_json(&jobs)?;
    } else if jobs.is_empty() {
        match wanted == Wanted::default() {
            true => tell!("No job is on record."),
            false => {
                tell!("No job on record is as wanted. Ask for less, or see `sayback records`.")
            }
        }
    } else {
        for job in jobs {
            let how = match job.outcome {
                Some(Outcome::Finished) => "finished",
                Some(Outcome::Abandoned) => "given up",
                None => "open",
            };
            let rehearsal = match job.mode {
                Mode::Work => "",
                Mode::Rehearsal => ", REHEARSAL",
            };
            tell!("{}  {} ({how}{rehearsal})", job.id, job.title);
        }
    }
    Ok(ExitCode::SUCCESS)
}

pub fn show(
    records: &RecordOptions,
    id: &str,
    journal: bool,
    as_json: bool,
    verify: bool,
    head: Option<&str>,
) -> miette::Result<ExitCode> {
    let shop = records.shop_that_is_there()?;
    let (name, id) = (id, JobId::new(id));
    let amiss = |error| or_near(&shop, name, error);
    if verify {
        let verdict = match head {
            Some(head) => shop.verify_against(&id, head).map_err(amiss)?,
            None => shop.verify(&id, None).map_err(amiss)?,
        };
        tell!("{verdict}");
        return Ok(if verdict.is_whole() {
            ExitCode::SUCCESS
        } else {
            ExitCode::FAILURE
        });
    }
    let report = shop.report(&id).map_err(amiss)?;
    if journal {
        for line in report.journal_lines() {
            tell!("{line}");
        }
    } else if as_json {
        terminal::tell_json_text(&report.json().into_diagnostic()?);
    } else {
        tell!("{report}");
    }
    Ok(ExitCode::SUCCESS)
}
