//! What was heard in jobs whose sound was kept, laid out to be played, and judged by what was really said.
//!
//! Nothing leaves the machine. The list `said.tsv` has one line for each clip: its path, a tab, the words. The ear's bench
//! takes the same list as its manifest.
//!
//! # How does a workshop judge the ear on its own sound?
//!
//! With `--keep-heard`, an utterance that is taken, asked about or not understood keeps its sound. So does one that
//! counts for nothing but has half of what it would take to ask about it (`Bars::is_near`); the record holds that as
//! an event which the job never sees.

mod layout;

use ears::{Hypothesis, Stake};
use record::{Archive, HeardOnRecord, JobId, RecordError};
use std::collections::BTreeMap;
use std::path::Path;
use steps::{Certainty, Command, Listen, NumberWanted};
use words::now::StateGrammar;

pub use layout::{LayoutError, lay_out};

/// A sound that was kept, and what was made of it.
#[derive(Debug, Clone)]
pub struct Clip {
    pub job: JobId,
    /// What its record has.
    pub on_record: HeardOnRecord,
    /// Its sound's path from the records' folder.
    pub sound: String,
    /// What the first ear made of it, where that is on record.
    pub hypothesis: Option<Hypothesis>,
}

/// What was done about something heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Done {
    /// It was taken.
    Taken,
    /// It was asked about.
    Asked,
    /// It wasn't understood, and that was said.
    NotUnderstood,
    /// It counted for nothing.
    Ignored,
}

impl Done {
    /// In words.
    pub fn told(self) -> &'static str {
        match self {
            Self::Taken => "taken",
            Self::Asked => "asked about",
            Self::NotUnderstood => "not understood",
            Self::Ignored => "ignored",
        }
    }
}

impl Clip {
    /// The clip's name: the job and the number of the record's entry.
    pub fn name(&self) -> String {
        format!("{}-{:04}.wav", self.job, self.on_record.seq)
    }

    /// What was done about it.
    pub fn done(&self) -> Done {
        let sure = self.on_record.heard.certainty == Certainty::Sure;
        match (&self.on_record.taken_for, sure) {
            (Some(_), true) => Done::Taken,
            (Some(_), false) => Done::Asked,
            (None, _) if self.on_record.unheeded => Done::Ignored,
            (None, _) => Done::NotUnderstood,
        }
    }

    /// The words that came nearest.
    pub fn nearest(&self) -> &str {
        match &self.hypothesis {
            Some(hypothesis) => &hypothesis.words,
            None => &self.on_record.heard.words,
        }
    }

    /// Whether what came nearest is what was really said.
    fn is_right(&self, said: &str) -> bool {
        let plain = |text: &str| text.trim().to_lowercase();
        let (said, nearest) = (plain(said), plain(self.nearest()));
        let means = |command: &Command| {
            let grammar = StateGrammar::compile(&listen_for(command));
            grammar.is_ok_and(|grammar| grammar.parse(&said).is_ok_and(|it| it == *command))
        };
        said == nearest || self.on_record.taken_for.as_ref().is_some_and(means)
    }
}

/// What listens for this and nothing else.
fn listen_for(command: &Command) -> Listen {
    match command {
        Command::Reading { value } => Listen {
            number: Some(NumberWanted {
                least: *value,
                most: *value,
                places: value.places(),
                unit: String::new(),
            }),
            ..Listen::default()
        },
        command => Listen {
            commands: vec![command.clone()],
            ..Listen::default()
        },
    }
}

/// All clips of a job, or of all jobs, whose sound is still kept; the oldest job first.
///
/// # Errors
/// When the records can't be read.
pub fn clips(archive: &Archive, only: Option<&JobId>) -> Result<Vec<Clip>, RecordError> {
    let mut jobs = archive.jobs()?;
    jobs.sort_by_key(|job| job.started);
    let mut clips = Vec::new();
    for job in jobs {
        if only.is_some_and(|only| *only != job.id) {
            continue;
        }
        for on_record in archive.heard(&job.id)? {
            let sound = on_record.heard.sound.clone();
            let Some(sound) = sound.filter(|it| archive.folder().join(it).is_file()) else {
                continue;
            };
            let evidence = on_record.heard.evidence.as_deref().unwrap_or("[]");
            let heard: Vec<Option<Hypothesis>> = serde_json::from_str(evidence).unwrap_or_default();
            clips.push(Clip {
                job: job.id.clone(),
                on_record,
                sound,
                hypothesis: heard.into_iter().next().flatten(),
            });
        }
    }
    Ok(clips)
}

/// What somebody who listened says was said: the words by the clip's name; none where nothing was said to the assistant. A
/// line behind a `#` wasn't listened to yet.
pub fn said(list: &str) -> BTreeMap<String, String> {
    let lines = list.lines().map(str::trim_end);
    let listened = lines.filter(|line| !line.trim().is_empty() && !line.starts_with('#'));
    let fields = listened.map(|line| line.split_once('\t').unwrap_or((line, "")));
    fields
        .map(|(path, words)| {
            let name = Path::new(path.trim()).file_name().unwrap_or_default();
            (name.to_string_lossy().into_owned(), words.trim().to_owned())
        })
        .collect()
}

/// How what is of one stake was heard.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Taken, and said.
    pub rightly_taken: usize,
    /// Taken, and not said.
    pub wrongly_taken: usize,
    /// Asked about, and said.
    pub rightly_asked: usize,
    /// Asked about, and not said.
    pub wrongly_asked: usize,
    /// Said, and neither taken nor asked about.
    pub missed: usize,
    /// Not said, and neither taken nor asked about.
    pub rightly_left: usize,
}

/// The bars that are told of in [`Judged::bars`].
pub const BARS: [f32; 8] = [0.2, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.985];

/// What the ear's verdicts come to by what was really said.
#[derive(Debug, Clone, Default)]
pub struct Judged {
    /// Clips that somebody listened to.
    pub listened: usize,
    /// By the stake of what came nearest.
    pub stakes: Vec<(Stake, Tally)>,
    /// For each of [`BARS`]: how many that were said have that probability, and how many that were not.
    pub bars: Vec<(Stake, [(usize, usize); BARS.len()])>,
}

/// Judges what was heard by what was said.
pub fn judge(clips: &[Clip], said: &BTreeMap<String, String>) -> Judged {
    let mut judged = Judged::default();
    for stake in [
        Stake::Ask,
        Stake::Stop,
        Stake::Move,
        Stake::Number,
        Stake::Gate,
    ] {
        let mut tally = Tally::default();
        let mut bars = [(0, 0); BARS.len()];
        for clip in clips {
            let Some(hypothesis) = clip.hypothesis.as_ref().filter(|it| it.stake == stake) else {
                continue;
            };
            let Some(said) = said.get(&clip.name()) else {
                continue;
            };
            judged.listened += 1;
            let right = !hypothesis.decoy && clip.is_right(said);
            let count = match (clip.done(), right) {
                (Done::Taken, true) => &mut tally.rightly_taken,
                (Done::Taken, false) => &mut tally.wrongly_taken,
                (Done::Asked, true) => &mut tally.rightly_asked,
                (Done::Asked, false) => &mut tally.wrongly_asked,
                (Done::NotUnderstood | Done::Ignored, true) => &mut tally.missed,
                (Done::NotUnderstood | Done::Ignored, false) => &mut tally.rightly_left,
            };
            *count += 1;
            let probability = hypothesis.evidence.probability.unwrap_or_default();
            for (bar, (said, other)) in BARS.iter().zip(&mut bars) {
                let reached = probability >= *bar && !hypothesis.decoy;
                *said += usize::from(reached && right);
                *other += usize::from(reached && !right);
            }
        }
        if tally != Tally::default() {
            judged.stakes.push((stake, tally));
            judged.bars.push((stake, bars));
        }
    }
    judged
}

#[cfg(test)]
mod tests {
    use super::*;
    use steps::{Decimal, Heard, Moment};

    fn clip(seq: u64, words: &str, stake: Stake, probability: f32, sure: bool) -> Clip {
        let hypothesis = serde_json::json!({
            "words": words, "stake": stake, "decoy": false,
            "evidence": {
                "heard_by": {"recogniser": "none", "model": "none", "model_sha256": ""},
                "score": 0.0, "margin_runner_up": null, "margin_decoy": null, "margin_free": null,
                "free_transcription": null, "runner_up": null, "probability": probability,
                "confidence": null, "snr_db": null, "seconds": 1.0,
            },
        });
        let value = Decimal::new(140, 0).unwrap();
        let command = match stake {
            Stake::Number => Command::Reading { value },
            _ => Command::Next,
        };
        Clip {
            job: JobId::new("job"),
            sound: "sounds/job/heard.wav".to_owned(),
            hypothesis: Some(serde_json::from_value(hypothesis).unwrap()),
            on_record: HeardOnRecord {
                seq,
                at: Moment(0),
                taken_for: (probability > 0.2).then_some(command),
                unheeded: probability <= 0.2,
                heard: Heard {
                    words: words.to_owned(),
                    certainty: match sure {
                        true => Certainty::Sure,
                        false => Certainty::Doubtful,
                    },
                    evidence: None,
                    sound: None,
                },
            },
        }
    }

    #[test]
    fn a_list_is_read_as_far_as_it_was_listened_to() {
        let list = "# Words behind a tab.\nclips/job-0001.wav\tnext\n#clips/job-0002.wav\tnext\nclips/job-0003.wav\n";
        let said = said(list);
        assert_eq!(said.len(), 2);
        assert_eq!(said["job-0001.wav"], "next");
        assert_eq!(said["job-0003.wav"], "");
    }

    #[test]
    fn what_was_said_judges_what_was_heard() {
        let clips = [
            clip(1, "next", Stake::Move, 0.99, true),
            clip(2, "next", Stake::Move, 0.95, true),
            clip(3, "next", Stake::Move, 0.6, false),
            clip(4, "next", Stake::Move, 0.15, false),
            clip(5, "next", Stake::Move, 0.15, false),
            clip(6, "one forty", Stake::Number, 0.9, true),
            clip(7, "next", Stake::Move, 0.9, true),
        ];
        let words = [
            // Another word for the same command is as right.
            ("job-0001.wav", "Next step"),
            ("job-0002.wav", "no"),
            ("job-0003.wav", "next"),
            ("job-0004.wav", "next"),
            ("job-0005.wav", ""),
            // And so is another way to say a number.
            ("job-0006.wav", "one hundred and forty"),
        ];
        let said = words.map(|(name, words)| (name.to_owned(), words.to_owned()));
        let judged = judge(&clips, &said.into());
        assert_eq!(judged.listened, 6, "nobody listened to the seventh");
        let moving = Tally {
            rightly_taken: 1,
            wrongly_taken: 1,
            rightly_asked: 1,
            missed: 1,
            rightly_left: 1,
            ..Tally::default()
        };
        let number = Tally {
            rightly_taken: 1,
            ..Tally::default()
        };
        assert_eq!(
            judged.stakes,
            [(Stake::Move, moving), (Stake::Number, number)]
        );
        let (_, bars) = judged.bars[0];
        assert_eq!(bars[2], (2, 1), "at 0.5");
        assert_eq!(bars[7], (1, 0), "at 0.985");
    }
}
