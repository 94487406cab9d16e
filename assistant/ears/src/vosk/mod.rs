//! Vosk behind the recogniser trait.
//!
//! The library is loaded when a model is, through the small module `library`, the only one here
//! that speaks to C. There is a crate of bindings, but it links while building and brings no way to find
//! what it links: everything would stop building on a machine without the library, though this
//! recogniser is one of several and a machine without it loses nothing else. Loaded at run
//! time, what is missing is an error that says what to do.
//!
//! What can crash the library never reaches it: a grammar is made only of words that the model knows,
//! from at least one phrase; the model's files are looked at first; the rate is always 16 kHz.
//! What comes out of its grammar (in truth a bigram model, which recombines pieces of phrases) is
//! taken only where it is exactly a phrase. Its confidence can't reject what wasn't in the grammar;
//! that is for the bars in [`crate::verdict`] and the free transcription beside it.

mod library;
mod model;
mod speech;

pub use library::library_path;
pub use model::Model;

use crate::sound::Utterance;
use crate::{Description, Evidence, Hypothesis, Phrase, PhraseSet, Recogniser, RecogniserError};
use library::{Decoded, Decoder};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Hears phrases with a Vosk model of any language.
pub struct Vosk {
    model: Arc<Model>,
    /// Decodes without a grammar. Kept, because its first step takes half a second.
    free: Decoder,
    phrases: Option<Phrases>,
}

/// What is listened for, as the library takes it.
struct Phrases {
    set: PhraseSet,
    /// A JSON list of strings.
    grammar: String,
}

/// `<cache>/vosk-model-en`: where an English model is looked for when none is named. The cache
/// is `$SAYBACK_CACHE`, else `$XDG_CACHE_HOME/sayback`, else `~/.cache/sayback`.
pub fn default_model_dir() -> PathBuf {
    library::cache().join("vosk-model-en")
}

impl Vosk {
    /// Loads the library and the model in this folder.
    pub fn load(model: &Path) -> Result<Self, RecogniserError> {
        Self::on(Arc::new(Model::load(model)?))
    }

    /// Another recogniser on a model that is loaded already, for another thread.
    pub fn on(model: Arc<Model>) -> Result<Self, RecogniserError> {
        let mut free = Decoder::free(Arc::clone(&model))?;
        free.decode(&[0.0; crate::sound::SAMPLE_RATE as usize]);
        Ok(Self {
            model,
            free,
            phrases: None,
        })
    }

    /// The model, to make another recogniser [`Vosk::on`].
    pub fn model(&self) -> &Arc<Model> {
        &self.model
    }
}

impl Recogniser for Vosk {
    fn description(&self) -> Description {
        self.model.description().clone()
    }

    /// A phrase is listened for in each of its spoken forms of which the model knows every word.
    fn listen_for(&mut self, set: &PhraseSet) -> Result<Vec<String>, RecogniserError> {
        if set.phrases.is_empty() {
            return Err(RecogniserError::Phrases("there are none".to_owned()));
        }
        let mut unknown = Vec::new();
        let mut forms = Vec::new();
        for form in set.phrases.iter().flat_map(|phrase| &phrase.spoken) {
            let strange: Vec<_> = form
                .split_whitespace()
                .filter(|word| !self.model.knows(word))
                .collect();
            if strange.is_empty() && !form.trim().is_empty() {
                forms.push(joined(form));
            }
            for word in strange {
                if !unknown.iter().any(|known| known == word) {
                    unknown.push(word.to_owned());
                }
            }
        }
        if forms.is_empty() {
            return Err(RecogniserError::Phrases(format!(
                "the model knows too few of their words; unknown: {}",
                unknown.join(", ")
            )));
        }
        forms.extend(self.model.unknown_token().map(str::to_owned));
        let grammar = serde_json::Value::from(forms).to_string();
        self.phrases = Some(Phrases {
            set: set.clone(),
            grammar,
        });
        Ok(unknown)
    }

    fn hear(&mut self, utterance: &Utterance) -> Result<Option<Hypothesis>, RecogniserError> {
        let Some(phrases) = &self.phrases else {
            return Err(RecogniserError::Phrases("none were given yet".to_owned()));
        };
        if !speech::may_be_in(&utterance.samples) {
            return Ok(None);
        }
        // A new one for each utterance costs a third of a millisecond and carries nothing over.
        let mut closed = Decoder::with_grammar(Arc::clone(&self.model), &phrases.grammar)?;
        let free = &mut self.free;
        let (heard, free) = std::thread::scope(|scope| {
            let beside = scope.spawn(|| free.decode(&utterance.samples));
            (
                closed.decode(&utterance.samples),
                beside.join().unwrap_or_default(),
            )
        });
        let Some(phrase) = phrases.matching(&heard) else {
            return Ok(None);
        };
        Ok(Some(Hypothesis {
            words: phrase.words.clone(),
            stake: phrase.stake,
            decoy: phrase.decoy,
            evidence: Evidence {
                heard_by: self.model.description().clone(),
                score: None,
                margin_runner_up: None,
                margin_decoy: None,
                margin_free: None,
                free_transcription: Some(free.text()),
                free_score: None,
                probability: None,
                nearest_decoy: None,
                ending: None,
                margin_decoy_by_sound: None,
                runner_up: None,
                confidence: heard.least_confidence(),
                snr_db: utterance.snr_db,
                seconds: utterance.seconds(),
            },
        }))
    }
}

impl Phrases {
    /// The phrase that was said, if what was heard is exactly one. Where a decoy is said the same
    /// way as a phrase, it is taken for the decoy.
    fn matching(&self, heard: &Decoded) -> Option<&Phrase> {
        let text = heard.text();
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
