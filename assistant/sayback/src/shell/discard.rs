//! Discards sounds and photos that were kept long enough.

use super::options::{RecordOptions, known_job};
use super::terminal;
use miette::{IntoDiagnostic, miette};
use record::{JobId, Rule};
use sayback::{config::tools, work::conversation::now};
use serde::Deserialize;
use std::process::ExitCode;
use std::time::Duration;

/// `keeping.toml`, beside the tools file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Keeping {
    /// Sounds and photos of a closed job go after so many days.
    days: u32,
}

pub fn discard(
    records: &RecordOptions,
    days: Option<u32>,
    only: Option<&str>,
    try_only: bool,
    json: bool,
) -> miette::Result<ExitCode> {
    let days = match days {
        Some(days) => days,
        None => configured()?,
    };
    let archive = records.archive_that_is_there()?;
    if let Some(id) = only {
        known_job(&archive, id)?;
    }
    let rule = Rule {
        closed_for: Duration::from_secs(u64::from(days) * 24 * 60 * 60),
        only: only.map(JobId::new),
        why: format!("kept for {days} days after the job was closed"),
    };
    let discarded = archive.discard(&rule, try_only, now()).into_diagnostic()?;
    if json {
        terminal::tell_json(&discarded)?;
        return Ok(ExitCode::SUCCESS);
    }
    for it in &discarded {
        tell!(
            "{}: {} sounds or photos, {} kB",
            it.job,
            it.files.len(),
            it.bytes.div_ceil(1000)
        );
    }
    match (discarded.is_empty(), try_only) {
        (true, _) => tell!("Nothing has been kept longer than {days} days."),
        (false, true) => tell!("Nothing was discarded: this was only a look."),
        (false, false) => tell!("Discarded, and the records say so."),
    }
    Ok(ExitCode::SUCCESS)
}

fn configured() -> miette::Result<u32> {
    let unsaid = || {
        miette!(
            help = "say --days 365, or write `days = 365` into keeping.toml beside tools.toml",
            "nothing says how long sounds and photos are kept"
        )
    };
    let path = tools::usual_place()
        .map(|tools| tools.with_file_name("keeping.toml"))
        .ok_or_else(unsaid)?;
    let text = match files::read_text(&path, 100_000) {
        Ok(text) => text,
        Err(error) if error.is_missing() => return Err(unsaid()),
        Err(error) => return Err(miette::Report::from_err(error)),
    };
    let keeping: Keeping = toml::from_str(&text).map_err(|error| {
        miette!(
            help = "write it like this: days = 365",
            "{} can't be used: {}",
            path.display(),
            error.message()
        )
    })?;
    Ok(keeping.days)
}
