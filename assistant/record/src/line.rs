//! One line of a record.

use crate::time;
use serde::{Deserialize, Serialize};
use steps::codes::{InWords, limits};
use steps::{Entry, Language, Moment, Outcome};

/// Something on the record, and when it came there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    /// The number of the journal's entry that led to it.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// What.
    pub entry: Entry,
}

/// The language that a job is told in, by what is on its record.
pub(crate) fn language<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Language {
    let mut opened = entries.into_iter().filter_map(|entry| match entry {
        Entry::Opened { language, .. } => Some(*language),
        _other => None,
    });
    opened.next().unwrap_or_default()
}

/// An entry in one line of words.
pub fn told(entry: &Entry, language: Language) -> String {
    match entry {
        Entry::Opened {
            procedure,
            title,
            sha256,
            rehearsal,
            recordings,
            ..
        } => {
            let what = match (rehearsal, recordings) {
                (true, _) => "rehearsal",
                (false, true) => "job from recordings",
                (false, false) => "job",
            };
            format!("{what} opened: {title} ({procedure}, SHA-256 {sha256})")
        }
        Entry::Chosen { variant, option } => format!("chosen: {variant} is {option}"),
        Entry::Done { step, text, .. } => format!("done: {} ({step})", text.words(language)),
        Entry::Tightened {
            what, wanted, told, ..
        } => format!(
            "tightened: {}, wanted {}, told {}",
            what.words(language),
            wanted.words(language),
            told.words(language)
        ),
        Entry::GateOpened {
            gate, means, words, ..
        } => format!("gate {gate} opened: {means}; heard “{words}”"),
        Entry::GateRefused { gate, tried, why } => {
            let (why, tried) = (why.words(language), why.tried(tried));
            format!("gate {gate} stayed closed: {why}; heard “{tried}”")
        }
        Entry::Voided { fact, why } => {
            format!("{fact} no longer taken for true: {}", why.words(language))
        }
        Entry::Read {
            name,
            value,
            unit,
            limits: formerly,
            within,
            range,
            ..
        } => {
            let verdict = verdict(
                limits(*range, unit, formerly.as_deref()).as_deref(),
                *within,
            );
            format!("measured: {name} {value} {unit}, {verdict}")
        }
        Entry::Answered { question, yes, .. } => {
            format!("asked: {question} {}", if *yes { "Yes" } else { "No" })
        }
        Entry::TakenBack { what, words } => format!("taken back: {what}; heard “{words}”"),
        Entry::Deferred { what, .. } => format!("deferred: {}", what.words(language)),
        Entry::CutShort { step, seconds_left } => cut_short(step.as_str(), *seconds_left),
        Entry::Noted { words, .. } => {
            format!("note, heard, unchecked: {}", note(words))
        }
        Entry::Helped { branch } => format!("help: {branch}"),
        Entry::Resumed { away_seconds } => {
            format!("resumed after {}", time::length(*away_seconds))
        }
        Entry::WorkedBy { person } => format!("worked by {person}"),
        Entry::TakenOver { from, person, .. } => match from {
            Some(from) => format!("taken over from {from} by {person}"),
            None => format!("worked by {person}"),
        },
        Entry::Signed { person, words, .. } => format!("signed off by {person}: “{words}”"),
        Entry::Abandoning => "giving the job up".to_owned(),
        Entry::PartMissing { part } => missing(part.as_deref()),
        Entry::Waiting { outstanding } => format!(
            "made safe, waiting for the part; {}",
            left_off(outstanding, language)
        ),
        Entry::HeldOn { seconds } => held(*seconds),
        Entry::PausedFor { reason } => format!("the pause was for {}", reason.words(language)),
        Entry::PartArrived => "the part is here, the work goes on".to_owned(),
        Entry::Closed {
            outcome,
            outstanding,
            again,
        } => {
            let rest = left_off(outstanding, language);
            let again = match again.is_empty() {
                true => String::new(),
                false => format!("; still to do: {}", listed(again, language)),
            };
            format!("closed, {}; {rest}{again}", ended(*outcome))
        }
    }
}

/// A time in which the job was put down with "hold on".
pub fn held(seconds: Option<u64>) -> String {
    match seconds {
        Some(seconds) => format!("held for {}", time::length(seconds)),
        None => "held for a time that nobody knows, since the clock was changed".to_owned(),
    }
}

/// A part that is missing.
pub fn missing(part: Option<&str>) -> String {
    match part {
        Some(part) => format!("a part is missing: {part}"),
        None => "a part is missing".to_owned(),
    }
}

/// What is left off.
pub fn left_off(outstanding: &[impl InWords], language: Language) -> String {
    match outstanding.is_empty() {
        true => "nothing outstanding".to_owned(),
        false => format!("outstanding: {}", listed(outstanding, language)),
    }
}

/// A wait that was cut short.
pub fn cut_short(step: &str, seconds_left: u64) -> String {
    format!("wait cut short: {step}, {}", time::left(seconds_left))
}

/// Several things in words.
pub fn listed(things: &[impl InWords], language: Language) -> String {
    let words: Vec<String> = things.iter().map(|it| it.words(language)).collect();
    words.join("; ")
}

/// What a reading comes to.
pub fn verdict(limits: Option<&str>, within: bool) -> String {
    match (limits, within) {
        (Some(limits), true) => format!("within limits ({limits})"),
        (Some(limits), false) => format!("OUT OF LIMITS ({limits})"),
        (None, true) => "no limits given".to_owned(),
        (None, false) => "OUT OF LIMITS".to_owned(),
    }
}

/// The words of a note.
pub fn note(words: &str) -> String {
    match words.trim() {
        "" => "(no words understood, the sound is kept)".to_owned(),
        words => format!("“{words}”"),
    }
}

/// An outcome in a word.
pub fn ended(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Finished => "finished",
        Outcome::Abandoned => "given up",
    }
}
