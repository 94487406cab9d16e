//! Shows many jobs by one procedure side by side.

use super::options::{Overwrite, RecordOptions};
use super::search::PeriodOptions;
use super::terminal;
use miette::IntoDiagnostic;
use report::statistics::{self, PartStatistics, PauseStatistics, Quartiles, Statistics};
use std::path::Path;
use std::process::ExitCode;
use steps::codes::InWords;
use steps::{Id, Language};

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
        tell!("Whole job without pauses, finished ones: {}", in_words(all));
    }
    if statistics.unknown > 0 {
        tell!(
            "Not counted there, since some of their time is unknown: {}",
            jobs(statistics.unknown)
        );
    }
    if !statistics.phases.is_empty() {
        tell!(
            "\n{:NAME$} {:>5} {:>9} {:>9} {:>9} {:>9}",
            "Minutes by phase",
            "jobs",
            "quartile",
            "median",
            "quartile",
            "estimate"
        );
    }
    for phase in &statistics.phases {
        let estimate = phase.estimate_minutes.map(|it| it.to_string());
        tell!(
            "{:NAME$} {:>5} {} {:>9}",
            phase.name,
            phase.jobs,
            spread(phase.jobs, phase.seconds),
            estimate.unwrap_or_default()
        );
    }
    if !statistics.pauses.is_empty() {
        tell!("\nPauses:");
    }
    for pause in &statistics.pauses {
        tell!("{}", paused(pause));
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
    format!(
        "{:NAME$} {:>5} {} {:>6} {:>8} {:>14}",
        part.part.to_string(),
        part.jobs,
        spread(part.jobs, part.seconds),
        blank(part.asked()),
        blank(part.refusals),
        blank(part.out_of_limits)
    )
}

/// Quartile, median, quartile, each in a column.
fn spread(jobs: usize, seconds: Option<Quartiles>) -> String {
    let columns = match seconds {
        // One job has a time, but no spread.
        Some(seconds) if jobs == 1 => ["–".to_owned(), minutes(seconds.median), "–".to_owned()],
        Some(seconds) => [seconds.first, seconds.median, seconds.third].map(minutes),
        None => ["–", "unknown", "–"].map(str::to_owned),
    };
    columns.map(|column| format!("{column:>9}")).join(" ")
}

fn paused(pause: &PauseStatistics) -> String {
    let reason = pause.reason.map(|it| it.words(Language::English));
    let unknown = match pause.unknown {
        0 => String::new(),
        unknown => format!(", and {unknown} of unknown length"),
    };
    format!(
        "{:>6} × {}, {} min in all{unknown}",
        pause.times,
        reason.unwrap_or_else(|| "no reason given".to_owned()),
        minutes(pause.seconds as f64)
    )
}

/// To a tenth; what took time is never told as none.
fn minutes(seconds: f64) -> String {
    match seconds / 60.0 {
        some if some > 0.0 && some < 0.05 => "< 0.1".to_owned(),
        minutes => format!("{minutes:.1}"),
    }
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
    let [first, median, third] = [quartiles.first, quartiles.median, quartiles.third].map(minutes);
    match quartiles.first < quartiles.third {
        true => format!("median {median} min, half of them from {first} to {third} min"),
        false => format!("{median} min"),
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use report::Part;

    #[test]
    fn one_job_has_a_time_and_no_spread_and_no_time_is_told_as_none() {
        let seconds = Quartiles {
            first: 90.0,
            median: 90.0,
            third: 90.0,
        };
        let mut part = PartStatistics {
            part: Part::Step(Id::new("nuts")),
            jobs: 1,
            seconds: Some(seconds),
            questions: Vec::new(),
            refusals: 0,
            out_of_limits: 0,
        };
        let told = |part: &PartStatistics| -> Vec<String> {
            let row = row(part);
            let words = row.split_whitespace().skip(1);
            words.map(str::to_owned).collect()
        };
        assert_eq!(told(&part), ["1", "–", "1.5", "–"]);
        part.jobs = 2;
        assert_eq!(told(&part), ["2", "1.5", "1.5", "1.5"]);
        part.seconds = None;
        assert_eq!(told(&part), ["2", "–", "unknown", "–"]);
        assert_eq!(in_words(seconds), "1.5 min");
        assert_eq!([0.0, 1.0, 3.0].map(minutes), ["0.0", "< 0.1", "0.1"]);
    }
}
