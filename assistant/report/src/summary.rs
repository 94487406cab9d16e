//! A record in plain text, 80 columns wide.

use crate::names::Names;
use record::line::{ended, listed, note, verdict};
use record::{Report, ReportLine, time};
use std::fmt;
use steps::codes::{InWords, limits};
use steps::{Entry, Language, Mode};

/// Columns.
const WIDTH: usize = 80;

/// Columns before an entry's words: a time and two blanks.
const INDENT: usize = 21;

/// Stands on top of a rehearsal's record and over each of its parts.
const REHEARSAL: &str = "REHEARSAL - NO PROOF OF WORK";

/// The same of a job that was worked from recordings.
const RECORDINGS: &str = "WORKED FROM RECORDINGS - NO PROOF OF WORK";

fn mark(mode: Mode) -> Option<&'static str> {
    match mode {
        Mode::Work => None,
        Mode::Rehearsal => Some(REHEARSAL),
        Mode::Recordings => Some(RECORDINGS),
    }
}

/// The parts of a summary, in order.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Gates,
    Torques,
    Readings,
    Left,
    Notes,
    Course,
    Signed,
}

impl Part {
    const ALL: [Self; 7] = [
        Self::Gates,
        Self::Torques,
        Self::Readings,
        Self::Left,
        Self::Notes,
        Self::Course,
        Self::Signed,
    ];

    fn heading(self) -> &'static str {
        match self {
            Self::Gates => "Hold points and checks",
            Self::Torques => "Torques",
            Self::Readings => "Readings",
            Self::Left => "Left for later",
            Self::Notes => "Notes (heard, unchecked)",
            Self::Course => "What was done",
            Self::Signed => "Signed off",
        }
    }

    /// Where an entry belongs; `None` where the top tells it.
    fn of(entry: &Entry) -> Option<Self> {
        match entry {
            Entry::Opened { .. } | Entry::Chosen { .. } => None,
            Entry::GateOpened { .. } | Entry::GateRefused { .. } | Entry::Voided { .. } => {
                Some(Self::Gates)
            }
            Entry::Tightened { .. } => Some(Self::Torques),
            Entry::Read { .. } => Some(Self::Readings),
            Entry::Deferred { .. } => Some(Self::Left),
            Entry::Noted { .. } => Some(Self::Notes),
            Entry::Done { .. }
            | Entry::Answered { .. }
            | Entry::TakenBack { .. }
            | Entry::CutShort { .. }
            | Entry::Helped { .. }
            | Entry::Resumed { .. }
            | Entry::WorkedBy { .. }
            | Entry::TakenOver { .. }
            | Entry::Abandoning
            | Entry::PartMissing { .. }
            | Entry::Waiting { .. }
            | Entry::HeldOn { .. }
            | Entry::PausedFor { .. }
            | Entry::PartArrived
            | Entry::Closed { .. } => Some(Self::Course),
            Entry::Signed { .. } => Some(Self::Signed),
        }
    }
}

/// A record to be shown as plain text.
#[derive(Debug, Clone, Copy)]
pub struct Summary<'a>(pub &'a Report);

impl fmt::Display for Summary<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(record) = self;
        let mark = mark(record.mode);
        if let Some(mark) = mark {
            writeln!(f, "{mark}\n")?;
        }
        writeln!(
            f,
            "{}\n{}",
            record.title,
            "=".repeat(columns(&record.title).min(WIDTH))
        )?;
        top(record, f)?;
        let names = Names::of(record);
        for part in Part::ALL {
            let lines: Vec<_> = record
                .lines
                .iter()
                .filter(|line| Part::of(&line.entry) == Some(part))
                .collect();
            if lines.is_empty() {
                continue;
            }
            heading(f, part.heading(), mark)?;
            for line in lines {
                item(f, line, &names, record.language)?;
            }
        }
        heading(f, "Proof", mark)?;
        wrapped(f, "", &record.verified, 0)?;
        match record.whole {
            true => Ok(()),
            false => writeln!(f, "THIS RECORD WAS CHANGED. It proves nothing."),
        }
    }
}

fn top(record: &Report, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let mut fact = |name: &str, words: &str| wrapped(f, &format!("{name}:"), words, INDENT);
    fact("Job", record.job.as_str())?;
    fact("Procedure", record.procedure.as_str())?;
    fact("  text, SHA-256", &record.procedure_sha256)?;
    for at in &record.procedure_changed {
        fact(
            "  text changed",
            &format!("{} UTC, while the job was open", time::second(*at)),
        )?;
    }
    for line in &record.lines {
        if let Entry::Chosen { variant, option } = &line.entry {
            fact(&format!("  {variant}"), option.as_str())?;
        }
    }
    fact("Opened", &format!("{} UTC", time::second(record.opened)))?;
    let seconds = record.last.since(record.opened).as_secs();
    let last = format!(
        "{} UTC, after {}",
        time::second(record.last),
        time::length(seconds)
    );
    match record.outcome {
        Some(outcome) => {
            fact("Closed", &last)?;
            fact("Outcome", ended(outcome))?;
            match record.outstanding.is_empty() {
                true => fact("Outstanding", "nothing")?,
                false => fact("OUTSTANDING", &listed(&record.outstanding, record.language))?,
            }
        }
        None => {
            fact("Last entry", &last)?;
            fact("Outcome", "none yet, the job is open")?;
        }
    }
    fact("Written by", &format!("sayback {}", record.program))?;
    // Nobody has said who they are: for pen and ink.
    let blank = "_".repeat(36);
    fact("Worked by", &blank)?;
    fact("Signed, date", &blank)
}

fn heading(f: &mut fmt::Formatter<'_>, name: &str, mark: Option<&str>) -> fmt::Result {
    let name = match mark {
        Some(mark) => format!("{name} - {mark}"),
        None => name.to_owned(),
    };
    writeln!(f, "\n{name}\n{}", "-".repeat(columns(&name)))
}

fn item(
    f: &mut fmt::Formatter<'_>,
    line: &ReportLine,
    names: &Names,
    language: Language,
) -> fmt::Result {
    let time = time::second(line.at);
    let mut say = |words: &str| wrapped(f, &time, words, INDENT);
    match &line.entry {
        Entry::GateOpened {
            means,
            words,
            sound,
            ..
        } => say(&format!(
            "CONFIRMED: {means}. Said: “{words}”{}",
            kept(sound)
        )),
        Entry::GateRefused { gate, tried, why } => {
            let (why, tried) = (why.words(language), why.tried(tried));
            let gate = names.gate(gate);
            say(&format!("not confirmed: {gate}; {why}. Said: “{tried}”"))
        }
        Entry::Voided { fact, why } => {
            let fact = names.fact(fact);
            say(&format!("no longer so: {fact}; {}", why.words(language)))
        }
        Entry::CutShort { step, seconds_left } => say(&format!(
            "wait cut short: {}, {}",
            names.step(step),
            record::time::left(*seconds_left)
        )),
        Entry::Helped { branch } => say(&names.extra_steps(branch)),
        Entry::Tightened {
            what, wanted, told, ..
        } => say(&format!(
            "{}: wanted {}, told {}",
            what.words(language),
            wanted.words(language),
            told.words(language)
        )),
        Entry::Read {
            name,
            value,
            unit,
            limits: formerly,
            within,
            sound,
            range,
            ..
        } => say(&format!(
            "{name}: {value} {unit}, {}{}",
            verdict(
                limits(*range, unit, formerly.as_deref()).as_deref(),
                *within
            ),
            kept(sound)
        )),
        Entry::Noted { words, sound, .. } => say(&format!("{}{}", note(words), kept(sound))),
        Entry::TakenBack { what, words } => say(&format!("taken back: {what}. Said: “{words}”")),
        Entry::Deferred { what, .. } => say(&what.words(language)),
        Entry::Done { text, .. } => say(&text.words(language)),
        Entry::Opened { .. }
        | Entry::Chosen { .. }
        | Entry::Answered { .. }
        | Entry::Resumed { .. }
        | Entry::WorkedBy { .. }
        | Entry::TakenOver { .. }
        | Entry::Signed { .. }
        | Entry::Abandoning
        | Entry::PartMissing { .. }
        | Entry::Waiting { .. }
        | Entry::HeldOn { .. }
        | Entry::PausedFor { .. }
        | Entry::PartArrived
        | Entry::Closed { .. } => say(&record::line::told(&line.entry, language)),
    }
}

fn kept(sound: &Option<String>) -> String {
    sound
        .as_ref()
        .map(|path| format!(" [{path}]"))
        .unwrap_or_default()
}

fn columns(text: &str) -> usize {
    text.chars().count()
}

/// Words broken into lines at blanks, with something before the first and room before the others. A word
/// that is longer than a line is broken anywhere.
fn wrapped(f: &mut fmt::Formatter<'_>, before: &str, words: &str, indent: usize) -> fmt::Result {
    let room = WIDTH - indent;
    let mut line = String::new();
    let mut lines = Vec::new();
    // What was heard may hold anything; a line is a line.
    let clean: String = words
        .chars()
        .map(|it| if it.is_control() { ' ' } else { it })
        .collect();
    for word in clean.split(' ').filter(|word| !word.is_empty()) {
        if !line.is_empty() && columns(&line) + 1 + columns(word) > room {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        for letter in word.chars() {
            if columns(&line) == room {
                lines.push(std::mem::take(&mut line));
            }
            line.push(letter);
        }
    }
    lines.push(line);
    for (number, line) in lines.iter().enumerate() {
        let before = if number == 0 { before } else { "" };
        if columns(before) >= indent && indent > 0 && number == 0 {
            writeln!(f, "{before}\n{}{line}", " ".repeat(indent))?;
        } else {
            writeln!(f, "{before:<indent$}{line}")?;
        }
    }
    Ok(())
}
