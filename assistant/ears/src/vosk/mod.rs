//! Vosk behind the recogniser trait.
//!
//! The library runs in a process of its own, the program `vosk-ear`, which set-up builds where it could get the library:
//! an abort or a hang in there ends that program and not the job. When it ends, or doesn't answer in time, what was
//! asked for is an error; it is started again, a few times at most.
//!
//! What comes out of Vosk's grammar (in truth a bigram model, which recombines pieces of phrases) is
//! taken only where it is exactly a phrase. Its confidence can't reject what wasn't in the grammar;
//! that is for the bars in [`crate::verdict`] and the free transcription beside it.

mod model;
mod program;
mod speech;

pub use program::program_path;

use crate::sound::{SAMPLE_RATE, Utterance, tame};
use crate::{Description, Evidence, Hypothesis, Phrase, PhraseSet, Recogniser, RecogniserError};
use program::protocol::{Answer, Request, Word};
use program::{Program, unexpected};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long an answer may take, beside twice the time that the sound takes. Hearing takes a tenth of that time; the rest is
/// for a machine that is busy: beside two busy loops and four tests on two cores, five seconds were too few (measured).
const ANSWER: Duration = Duration::from_secs(15);

/// Hears phrases with a Vosk model of any language.
pub struct Vosk {
    description: Description,
    program: Program,
    phrases: Option<Phrases>,
}

/// What is listened for.
struct Phrases {
    set: PhraseSet,
    /// All spoken forms.
    forms: Vec<String>,
    /// The start of the program that was told.
    told: u8,
}

fn cache() -> PathBuf {
    cache::folder().unwrap_or_else(|| PathBuf::from(".cache/sayback"))
}

/// `<cache>/vosk-model-en`: where an English model is looked for when none is named. The cache
/// is `$SAYBACK_CACHE`, else `$XDG_CACHE_HOME/sayback`, else `~/.cache/sayback`.
pub fn default_model_dir() -> PathBuf {
    cache().join("vosk-model-en")
}

impl Vosk {
    /// Starts the program, which loads the model in this folder.
    pub fn load(model: &Path) -> Result<Self, RecogniserError> {
        Ok(Self {
            description: model::describe(model)?,
            program: Program::start(model)?,
            phrases: None,
        })
    }

    /// Whether this one word can be heard. What the model uses for itself (`<eps>`, `[unk]`, `#0`, `!SIL`)
    /// can't be said.
    pub fn knows(&mut self, word: &str) -> Result<bool, RecogniserError> {
        let word = word.to_owned();
        match self.ask_until_answered(&Request::Knows { word })? {
            Answer::Knows { known } => Ok(known),
            other => Err(self.program.start_again(unexpected(&other))),
        }
    }

    /// The process in which the library runs, while one does.
    pub fn process_id(&self) -> Option<u32> {
        self.program.process_id()
    }

    /// Asks for something that isn't lost when the program ends: it is asked for again.
    fn ask_until_answered(&mut self, request: &Request) -> Result<Answer, RecogniserError> {
        loop {
            match self.program.ask(request, &[], ANSWER) {
                Err(RecogniserError::ProgramFailed {
                    for_good: false, ..
                }) => {}
                answered => return answered,
            }
        }
    }

    /// Tells the program what is listened for. Returns the words that the model doesn't know.
    fn tell(&mut self, forms: &[String]) -> Result<Vec<String>, RecogniserError> {
        let phrases = forms.to_vec();
        match self.ask_until_answered(&Request::ListenFor { phrases })? {
            Answer::Listening { unknown } => Ok(unknown),
            Answer::Refused { reason } => Err(RecogniserError::Phrases(reason)),
            other => Err(self.program.start_again(unexpected(&other))),
        }
    }
}

impl Recogniser for Vosk {
    fn description(&self) -> Description {
        self.description.clone()
    }

    /// A phrase is listened for in each of its spoken forms of which the model knows every word.
    fn listen_for(&mut self, set: &PhraseSet) -> Result<Vec<String>, RecogniserError> {
        if set.phrases.is_empty() {
            return Err(RecogniserError::Phrases("there are none".to_owned()));
        }
        let forms = set.phrases.iter().flat_map(|phrase| &phrase.spoken);
        let forms: Vec<String> = forms.map(|form| joined(form)).collect();
        let unknown = self.tell(&forms)?;
        self.phrases = Some(Phrases {
            set: set.clone(),
            forms,
            told: self.program.starts(),
        });
        Ok(unknown)
    }

    fn hear(&mut self, utterance: &Utterance) -> Result<Option<Hypothesis>, RecogniserError> {
        let Some(mut phrases) = self.phrases.take() else {
            return Err(RecogniserError::Phrases("none were given yet".to_owned()));
        };
        let heard = self.hear_among(&mut phrases, utterance);
        self.phrases = Some(phrases);
        heard
    }
}

impl Vosk {
    fn hear_among(
        &mut self,
        phrases: &mut Phrases,
        utterance: &Utterance,
    ) -> Result<Option<Hypothesis>, RecogniserError> {
        if !speech::may_be_in(&utterance.samples) {
            return Ok(None);
        }
        if phrases.told != self.program.starts() {
            self.tell(&phrases.forms)?;
            phrases.told = self.program.starts();
        }
        let sound: Vec<i16> = utterance.samples.iter().map(|it| in_16_bits(*it)).collect();
        // More than three days of sound are no utterance.
        let Ok(samples) = u32::try_from(sound.len()) else {
            return Ok(None);
        };
        let limit = ANSWER + 2 * Duration::from_secs(u64::from(samples / SAMPLE_RATE));
        let answer = self
            .program
            .ask(&Request::Hear { samples }, &sound, limit)?;
        let (heard, free) = match answer {
            Answer::Heard { in_grammar, freely } => (in_grammar, freely),
            Answer::Refused { reason } => return Err(RecogniserError::Phrases(reason)),
            other => return Err(self.program.start_again(unexpected(&other))),
        };
        let Some(phrase) = phrases.matching(&text(&heard)) else {
            return Ok(None);
        };
        Ok(Some(Hypothesis {
            words: phrase.words.clone(),
            stake: phrase.stake,
            decoy: phrase.decoy,
            evidence: Evidence {
                heard_by: self.description.clone(),
                score: None,
                margin_runner_up: None,
                margin_decoy: None,
                margin_free: None,
                free_transcription: Some(text(&free)),
                free_score: None,
                probability: None,
                nearest_decoy: None,
                ending: None,
                margin_decoy_by_sound: None,
                runner_up: None,
                confidence: least_confidence(&heard),
                snr_db: utterance.snr_db,
                seconds: utterance.seconds(),
            },
        }))
    }
}

impl Phrases {
    /// The phrase that was said, if what was heard is exactly one. Where a decoy is said the same
    /// way as a phrase, it is taken for the decoy.
    fn matching(&self, text: &str) -> Option<&Phrase> {
        self.set
            .phrases
            .iter()
            .filter(|phrase| phrase.spoken.iter().any(|form| joined(form) == text))
            .max_by_key(|phrase| phrase.decoy)
    }
}

/// The words with one blank between them.
fn joined(form: &str) -> String {
    form.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn text(heard: &[Word]) -> String {
    let words: Vec<&str> = heard.iter().map(|heard| heard.word.as_str()).collect();
    words.join(" ")
}

/// The confidence of the least certain word, 0 to 1.
fn least_confidence(heard: &[Word]) -> Option<f32> {
    heard
        .iter()
        .map(|heard| heard.confidence.clamp(0.0, 1.0))
        .reduce(f32::min)
}

fn in_16_bits(sample: f32) -> i16 {
    // A cast holds what is too large to the largest number.
    (tame(sample) * 32_768.0).round() as i16
}
