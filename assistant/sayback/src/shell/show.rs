//! Shows a talk, line by line.

use sayback::view::showing::Showing;
use sayback::work::conversation::Line;
use sayback::work::hearing::{Meaning, Understood};
use sayback::work::live::{Level, Notice};
use steps::codes::InWords;
use steps::{Certainty, Entry, Language, Tone};

/// Prints what is heard, said and, unless it is to be quiet, recorded.
pub fn printer(quiet: bool, language: Language) -> impl FnMut(Line<'_>) {
    move |line| match line {
        Line::Heard(understood) => {
            if let Some(line) = heard(understood) {
                tell!("{line}");
            }
        }
        Line::Said(sentence) => {
            let mark = match sentence.tone {
                Tone::Warning => "!",
                Tone::Hold => "#",
                Tone::Question => "?",
                Tone::Refusal => "x",
                Tone::Step | Tone::Answer => " ",
            };
            tell!("  {mark} {}", sentence.text);
        }
        Line::Recorded(entry) if !quiet => tell!("      [record] {}", recorded(entry, language)),
        Line::Recorded(_) | Line::Stands(_) | Line::Manner(..) => {}
        Line::Muted(true) => tell!("  ! The voice was muted on the page."),
        Line::Muted(false) => tell!("    The voice speaks again."),
        Line::Trouble(told) => warn!("  trouble: {told}"),
    }
}

fn heard(understood: &Understood) -> Option<String> {
    let words = &understood.heard.words;
    let sure = match understood.heard.certainty {
        Certainty::Sure | Certainty::Typed => "",
        Certainty::Doubtful => " (not sure)",
    };
    match understood.meaning {
        Meaning::Told(_) => Some(format!("“{words}”{sure}")),
        Meaning::NotUnderstood => Some(format!("“{words}” (none of what can be said)")),
        Meaning::Called => Some(format!("“{words}”")),
        Meaning::Ignored if words.is_empty() => None,
        Meaning::Ignored => Some(format!("(not for me: “{words}”)")),
    }
}

/// Shows viewers what the microphone's loop tells.
pub fn notice(notice: &Notice<'_>, showing: &mut Showing) {
    match notice {
        Notice::Listening(name) => showing.microphone(Some(name)),
        Notice::Lost(_) => showing.microphone(None),
        Notice::Level(Level {
            rms_dbfs,
            speech,
            noise_dbfs,
        }) => showing.level(*rms_dbfs, *speech, *noise_dbfs),
        Notice::Overrun(_) | Notice::Heard(_) => {}
    }
}

/// A record entry on one line.
pub fn recorded(entry: &Entry, language: Language) -> String {
    match entry {
        Entry::Opened {
            title,
            rehearsal,
            recordings,
            ..
        } => {
            format!(
                "opened: {title}{}",
                match (rehearsal, recordings) {
                    (true, _) => ", REHEARSAL",
                    (false, true) => ", FROM RECORDINGS",
                    (false, false) => "",
                }
            )
        }
        Entry::Chosen { variant, option } => format!("{variant}: {option}"),
        Entry::Done { step, .. } => format!("done: {step}"),
        Entry::Tightened {
            what, wanted, told, ..
        } => format!(
            "tightened: {}, wanted {}, told {}",
            what.words(language),
            wanted.words(language),
            told.words(language)
        ),
        Entry::GateOpened { means, words, .. } => format!("gate opened: {means}; heard “{words}”"),
        Entry::GateRefused { gate, tried, why } => {
            let (tried, why) = (why.tried(tried), why.words(language));
            format!("gate {gate} stays closed: “{tried}”, {why}")
        }
        Entry::Voided { fact, why } => {
            format!("no longer certain: {fact}, {}", why.words(language))
        }
        Entry::Read {
            name,
            value,
            unit,
            within,
            ..
        } => {
            format!(
                "reading: {name} {value} {unit}, {}",
                if *within {
                    "within limits"
                } else {
                    "OUT OF LIMITS"
                }
            )
        }
        Entry::Answered { question, yes, .. } => {
            format!("{question} {}", if *yes { "yes" } else { "no" })
        }
        Entry::TakenBack { what, words } => format!("taken back: {what}; heard “{words}”"),
        Entry::Deferred { what, .. } => format!("deferred: {}", what.words(language)),
        Entry::CutShort { step, seconds_left } => {
            record::line::cut_short(step.as_str(), *seconds_left)
        }
        Entry::Noted { words, .. } => format!("note (heard, unchecked): {words}"),
        Entry::Helped { branch } => format!("extra steps: {branch}"),
        Entry::Resumed { away_seconds } => {
            format!("resumed after {}", record::time::length(*away_seconds))
        }
        Entry::WorkedBy { person } | Entry::TakenOver { person, .. } => {
            format!("worked by {person} from here on")
        }
        Entry::Signed { person, .. } => format!("signed off by {person}"),
        Entry::Abandoning => "being given up".to_owned(),
        Entry::PartMissing { .. }
        | Entry::Waiting { .. }
        | Entry::PartArrived
        | Entry::HeldOn { .. }
        | Entry::PausedFor { .. } => record::line::told(entry, language),
        Entry::Closed {
            outcome,
            outstanding,
            again,
        } => {
            let how = match outcome {
                steps::Outcome::Finished => "finished",
                steps::Outcome::Abandoned => "given up",
            };
            let again = again.iter().map(|it| it.words(language));
            let left: Vec<String> = outstanding
                .iter()
                .map(|it| it.words(language))
                .chain(again)
                .collect();
            let left = if left.is_empty() {
                String::new()
            } else {
                format!("; left: {}", left.join("; "))
            };
            format!("closed: {how}{left}")
        }
    }
}
