//! Shows many jobs by one procedure side by side.

use super::options::{Overwrite, RecordOptions};
use super::search::PeriodOptions;
use super::terminal;
use miette::IntoDiagnostic;
use report::statistics::{self, PartStatistics, Quartiles, Statistics};
use std::path::Path;
use std::process::ExitCode;
use steps::Id;

/// Columns of a part's name in the table.
const NAME: usize = 34;

pub fn show(
    procedure: &str,
    records: &RecordOptions,
    period: &PeriodOptions,
    as_json: bool,
    picture: Option<&Path>,
    overwrite: Overwrite,
) -> miette::Result<ExitCode> {
    let wanted = period.wanted()?;
    let statistics = statistics::statistics(&records.to_read()?, &Id::new(procedure), &wanted)
        .into_diagnostic()?;
    if let Some(path) = picture {
        let drawing = statistics.picture();
        files::write(path, drawing.as_bytes(), overwrite.if_there()).into_diagnostic()?;
    }
    for (job, why) in &statistics.left_out {
        warn!("Left out, because its record is not whole: {job} ({why}).");
    }
    if as_json {
        terminal::tell_json(&statistics)?;
    } else if statistics.jobs == 0 {
        tell!("No job by “{procedure}” is on record; rehearsals and recordings don't count.");
    } else {
        table(&statistics);
    }
    Ok(ExitCode::SUCCESS)
}

fn table(statistics: &Statistics) {
    tell!(
        "{}: {} on record",
        statistics.procedure,
        jobs(statistics.jobs)
    );
    if let Some(all) = statistics.seconds {
        tell!("Whole job, finished ones: {}", in_words(all));
    }
    tell!("");
    tell!(
        "{:NAME$} {:>5} {:>9} {:>9} {:>9} {:>6} {:>8} {:>14}",
        "Minutes",
        "jobs",
        "quartile",
        "median",
        "quartile",
        "asked",
        "refused",
        "out of limits"
    );
    for part in &statistics.parts {
        tell!("{}", row(part));
    }
    if !statistics.questions.is_empty() {
        tell!("\nMost often asked:");
    }
    for (question, count) in &statistics.questions {
        tell!("{count:>6} × {question}{}", mostly_at(statistics, question));
    }
}

fn row(part: &PartStatistics) -> String {
    let minutes = |seconds: f64| format!("{:.1}", seconds / 60.0);
    format!(
        "{:NAME$} {:>5} {:>9} {:>9} {:>9} {:>6} {:>8} {:>14}",
        part.part.to_string(),
        part.jobs,
        minutes(part.seconds.first),
        minutes(part.seconds.median),
        minutes(part.seconds.third),
        blank(part.asked()),
        blank(part.refusals),
        blank(part.out_of_limits)
    )
}

/// Nothing is left blank, so that what there is shows.
fn blank(count: u32) -> String {
    match count {
        0 => String::new(),
        count => count.to_string(),
    }
}

fn jobs(count: usize) -> String {
    match count {
        1 => "1 job".to_owned(),
        count => format!("{count} jobs"),
    }
}

fn in_words(quartiles: Quartiles) -> String {
    format!(
        "median {:.1} min, half of them from {:.1} to {:.1} min",
        quartiles.median / 60.0,
        quartiles.first / 60.0,
        quartiles.third / 60.0
    )
}

/// Where a question is asked most.
fn mostly_at(statistics: &Statistics, question: &str) -> String {
    let asked = |part: &PartStatistics| {
        let found = part.questions.iter().find(|(it, _)| *it == question);
        found.map_or(0, |(_, count)| *count)
    };
    let most = statistics.parts.iter().max_by_key(|part| asked(part));
    most.map(|part| format!(", most at {} ({})", part.part, asked(part)))
        .unwrap_or_default()
}
