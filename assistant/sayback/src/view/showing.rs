//! Shows a job to viewers while it is worked. It is told what the screen is told, and never delays the job.

use crate::view::glance::{Last, glance};
use crate::work::conversation::{Line, now};
use crate::work::hearing::{Meaning, Understood};
use page::glance::{HeardShown, SaidShown, ToneShown, VerdictShown};
use page::{Board, Glance, Level};
use steps::{Certainty, Sentence, Tone};

/// Keeps a board up to date.
#[derive(Debug)]
pub struct Showing {
    board: Board,
    name: String,
    last: Last,
    glance: Glance,
    microphone: Option<String>,
}

impl Showing {
    /// Shows the job of this name on a board.
    pub fn new(board: Board, name: &str) -> Self {
        Self {
            board,
            name: name.to_owned(),
            last: Last::default(),
            glance: Glance::default(),
            microphone: None,
        }
    }

    /// Takes in what happened, and shows it.
    pub fn line(&mut self, line: &Line<'_>) {
        match line {
            Line::Heard(understood) => match heard(understood) {
                Some(heard) => self.last.heard = Some(heard),
                None => return,
            },
            Line::Said(sentence) => self.last.said = Some(said(sentence)),
            Line::Stands(job) => self.glance = glance(job, &self.name, &self.last, now()),
            Line::Muted(muted) => self.last.muted = *muted,
            Line::Trouble(told) => {
                self.last.said = Some(SaidShown {
                    tone: ToneShown::Refusal,
                    text: (*told).to_owned(),
                });
            }
            Line::Recorded(_) | Line::Manner(..) => return,
        }
        self.glance.at_ms = now().0;
        self.glance.heard = self.last.heard.clone();
        self.glance.said = self.last.said.clone();
        self.glance.muted = self.last.muted;
        self.board.publish(self.glance.clone());
    }

    /// The microphone came, or went.
    pub fn microphone(&mut self, name: Option<&str>) {
        self.microphone = name.map(str::to_owned);
        if name.is_none() {
            self.level(-120.0, false, None);
        }
    }

    /// How loud it is and, where that is known, how loud when nobody speaks, in decibels relative to full scale;
    /// and whether somebody speaks.
    pub fn level(&mut self, rms_db: f32, speech: bool, noise_db: Option<f32>) {
        self.board.level(&Level {
            rms_db: f64::from(rms_db),
            noise_db: noise_db.map(f64::from),
            speech,
            microphone: self.microphone.clone(),
        });
    }
}

/// What was heard; noise isn't, and of talk that is no concern of ours only that there was some.
fn heard(understood: &Understood) -> Option<HeardShown> {
    let words = understood.heard.words.clone();
    let (words, verdict) = match (&understood.meaning, understood.heard.certainty) {
        (Meaning::Told(_), Certainty::Sure | Certainty::Typed) => (words, VerdictShown::Understood),
        (Meaning::Told(_), Certainty::Doubtful) => (words, VerdictShown::Asked),
        (Meaning::NotUnderstood, _) => (words, VerdictShown::NotUnderstood),
        (Meaning::Called, _) => (words, VerdictShown::Understood),
        (Meaning::Ignored, _) if words.is_empty() => return None,
        (Meaning::Ignored, _) => (String::new(), VerdictShown::Ignored),
    };
    Some(HeardShown {
        words,
        verdict,
        at_ms: now().0,
    })
}

fn said(sentence: &Sentence) -> SaidShown {
    SaidShown {
        tone: match sentence.tone {
            Tone::Step => ToneShown::Step,
            Tone::Answer => ToneShown::Answer,
            Tone::Warning => ToneShown::Warning,
            Tone::Hold => ToneShown::Hold,
            Tone::Refusal => ToneShown::Refusal,
            Tone::Question => ToneShown::Question,
        },
        text: sentence.text.clone(),
    }
}
