//! A record's lines in words for people, without identifiers and hashes.

use record::ReportLine;
use steps::codes::InWords;
use steps::{Entry, Id, Language};

/// One of the lines of a record. What a gate confirms is told by what it means, where the record says that anywhere.
pub(crate) fn words(line: &ReportLine, lines: &[ReportLine], language: Language) -> String {
    let entries = || lines.iter().map(|line| &line.entry);
    match &line.entry {
        Entry::Opened {
            title,
            rehearsal,
            recordings,
            ..
        } => match (rehearsal, recordings) {
            (true, _) => format!("rehearsal opened: {title}"),
            (false, true) => format!("job from recordings opened: {title}"),
            (false, false) => format!("job opened: {title}"),
        },
        Entry::Chosen { variant, option } => format!("chosen: {}, {}", name(variant), name(option)),
        Entry::Done { text, .. } => format!("done: {}", text.words(language)),
        Entry::GateOpened { means, words, .. } => format!("confirmed: {means}; heard “{words}”"),
        Entry::GateRefused { gate, tried, why } => {
            let means = entries().find_map(|entry| match entry {
                Entry::GateOpened {
                    gate: it, means, ..
                } if it == gate => Some(means.clone()),
                _other => None,
            });
            format!(
                "not confirmed: {}: {}; heard “{}”",
                means.unwrap_or_else(|| name(gate)),
                why.words(language),
                why.tried(tried)
            )
        }
        Entry::Voided { fact, why } => {
            let means = entries().find_map(|entry| match entry {
                Entry::GateOpened {
                    fact: it, means, ..
                } if it == fact => Some(means.clone()),
                _other => None,
            });
            format!(
                "no longer taken for true: {}: {}",
                means.unwrap_or_else(|| name(fact)),
                why.words(language)
            )
        }
        Entry::CutShort { step, seconds_left } => {
            record::line::cut_short(&name(step), *seconds_left)
        }
        Entry::Helped { branch } => format!("help: {}", name(branch)),
        Entry::Tightened { .. }
        | Entry::Read { .. }
        | Entry::Answered { .. }
        | Entry::TakenBack { .. }
        | Entry::Deferred { .. }
        | Entry::Noted { .. }
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
        | Entry::Closed { .. } => line.words(language),
    }
}

/// An identifier as words, where the record has no better.
fn name(id: &Id) -> String {
    id.as_str().replace('-', " ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use steps::Moment;
    use steps::codes::{Refusal, VoidReason};

    fn id(text: &str) -> Id {
        Id::new(text)
    }

    fn told(entries: Vec<Entry>) -> Vec<String> {
        let lines: Vec<ReportLine> = entries
            .into_iter()
            .map(|entry| ReportLine {
                seq: 0,
                at: Moment(0),
                entry,
            })
            .collect();
        let words = lines
            .iter()
            .map(|line| words(line, &lines, Language::default()));
        words.collect()
    }

    #[test]
    fn a_gate_is_told_by_what_it_confirms() {
        let told = told(vec![
            Entry::GateRefused {
                gate: id("gate-stands"),
                tried: "stands".to_owned(),
                why: Refusal::NotTheWords,
            },
            Entry::GateOpened {
                gate: id("gate-stands"),
                fact: id("secured"),
                means: "the van stands on both stands".to_owned(),
                words: "both stands hold".to_owned(),
                evidence: None,
                sound: None,
            },
            Entry::Voided {
                fact: id("secured"),
                why: VoidReason::TakenUpAgain,
            },
        ]);
        assert_eq!(
            told[1],
            "confirmed: the van stands on both stands; heard “both stands hold”"
        );
        for (line, beginning) in [
            (&told[0], "not confirmed: the van stands on both stands: "),
            (
                &told[2],
                "no longer taken for true: the van stands on both stands: ",
            ),
        ] {
            assert!(line.starts_with(beginning), "{line}");
            assert!(
                !line.contains("gate-stands") && !line.contains("secured"),
                "{line}"
            );
        }
    }

    #[test]
    fn a_gate_that_never_opened_is_told_by_its_name_in_words() {
        let told = told(vec![Entry::GateRefused {
            gate: id("gate-stands"),
            tried: "stands".to_owned(),
            why: Refusal::NotTheWords,
        }]);
        assert!(
            told[0].starts_with("not confirmed: gate stands: "),
            "{}",
            told[0]
        );
    }
}
