//! Figures as a table to read, as CSV, and as JSON for other programs.

use super::fit::Class;
use super::kept::Heard;
use super::measure::{Figure, TRIES_A_GATE, name_of};
use ears::verdict::{Features, Model};
use std::fmt::Write as _;
use std::io;
use std::path::Path;

/// Figures that are no share.
const COSTS: [&str; 4] = ["ms ", "real-time", "MiB", TRIES_A_GATE];

/// The figures, one a line, as people read them.
pub fn table(figures: &[Figure]) -> String {
    let mut text = format!(
        "{:<28} {:<20} {:<8} {:>5}  {:<22} {:>8} {:>8}  {}\n",
        "system", "set", "noise", "dB", "what", "value", "of", "95 % bounds",
    );
    for it in figures {
        let level = it
            .snr_db
            .map_or_else(String::new, |snr| format!("{snr:.0}"));
        let hourly = it.metric.ends_with("an hour");
        let value = |value: f64| {
            if hourly || COSTS.iter().any(|cost| it.metric.starts_with(cost)) {
                format!("{value:.2}")
            } else {
                format!("{:.2} %", value * 100.0)
            }
        };
        let of = if hourly {
            format!("{:.2} h", it.n)
        } else {
            format!("{:.0}", it.n)
        };
        // Writing to a string can't fail.
        let _ = writeln!(
            text,
            "{:<28} {:<20} {:<8} {:>5}  {:<22} {:>8} {:>8}  {} to {}",
            it.system,
            it.set,
            it.noise,
            level,
            it.metric,
            value(it.value),
            of,
            value(it.low95),
            value(it.high95),
        );
    }
    text
}

/// The same as comma-separated values.
pub fn csv(figures: &[Figure]) -> String {
    let mut text = "system,set,noise,snr_db,metric,value,n,low95,high95\n".to_owned();
    for it in figures {
        let level = it.snr_db.map_or_else(String::new, |snr| snr.to_string());
        let _ = writeln!(
            text,
            "{},{},{},{level},{},{},{},{},{}",
            it.system, it.set, it.noise, it.metric, it.value, it.n, it.low95, it.high95,
        );
    }
    text
}

/// Every piece of evidence with its features and probability, as comma-separated values: what bars are chosen from.
pub fn evidence(heard: &[Heard]) -> String {
    let mut text = "side,set,noise,snr_db,class,said,probability,score,runner-up,decoy,by-sound,ending,free,weakest,speech,agreement,\
                    overhang,turned,noise-level,pace,length,veto,milliseconds,words,heard,free-transcription\n"
        .to_owned();
    for one in heard {
        for answer in &one.answers {
            let Some(hypothesis) = answer.hypothesis.as_ref().filter(|it| !it.decoy) else {
                continue;
            };
            let Some(features) = Features::of(hypothesis) else {
                continue;
            };
            let all: Vec<String> = features.all().iter().map(f32::to_string).collect();
            let quoted = |text: &str| format!("\"{}\"", text.replace('"', "'"));
            let free = hypothesis
                .evidence
                .free_transcription
                .as_deref()
                .unwrap_or_default();
            let _ = writeln!(
                text,
                "{},{},{},{},{:?},{},{},{},{},{},{},{},{}",
                if one.take.development {
                    "development"
                } else {
                    "report"
                },
                name_of(one.take.set),
                one.take.noise.name(),
                one.take.snr_db,
                Class::of(hypothesis.stake),
                one.truth.is_some() && answer.meaning == one.truth,
                Model::built_in()
                    .probability(hypothesis)
                    .unwrap_or(f32::NAN),
                all.join(","),
                features.turned < 0.0,
                answer.milliseconds,
                quoted(&one.take.words),
                quoted(&hypothesis.words),
                quoted(free),
            );
        }
    }
    text
}

/// Writes `ears.json` into `folder`, and table and CSV into its `ears`.
///
/// # Errors
/// What the system says.
pub fn write(figures: &[Figure], folder: &Path) -> io::Result<()> {
    std::fs::create_dir_all(folder.join("ears"))?;
    let json = serde_json::to_string_pretty(figures).map_err(io::Error::other)?;
    std::fs::write(folder.join("ears.json"), json)?;
    std::fs::write(folder.join("ears/figures.csv"), csv(figures))?;
    std::fs::write(folder.join("ears/figures.txt"), table(figures))
}

/// A take that opened a gate, and what was heard in each of its turns.
pub fn opening(one: &Heard) -> String {
    let take = &one.take;
    let mut told = format!(
        "opened by “{}”, {}, {} at {} dB, pause {:.1} s",
        take.words,
        take.speaker,
        take.noise.name(),
        take.snr_db,
        take.pause_s,
    );
    for answer in &one.answers {
        let free = answer
            .hypothesis
            .as_ref()
            .and_then(|it| it.evidence.free_transcription.as_deref());
        let pieces = answer.pieces.iter().map(|piece| {
            let seconds = |sample: usize| sample as f64 / 16_000.0;
            format!("{:.2} to {:.2}", seconds(piece.start), seconds(piece.end))
        });
        let pieces: Vec<String> = pieces.collect();
        told += &format!(
            "\n    “{}” ({})",
            free.unwrap_or_default(),
            pieces.join(", ")
        );
    }
    told
}
