//! Closed-set scoring with the tiny English Whisper weights: the ear that works out of the box.
//!
//! The encoder runs once over the utterance. A beam walks the tree of all ways to write what may be said
//! now, so that nothing else can come out. A phrase's score is its log-likelihood summed over those ways,
//! less half of what it would have on noise alone. It comes with its margins: to the runner-up, to the
//! best decoy, and to a transcription that was free to be anything.
//!
//! ```no_run
//! use ears::whisper::{ClosedSet, default_model_dir};
//! use ears::{Phrase, PhraseSet, Recogniser, Stake, sound::Utterance};
//!
//! let mut ear = ClosedSet::load(&default_model_dir(), 2)?;
//! let phrases = vec![Phrase::plain("what torque", Stake::Ask), Phrase::plain("next", Stake::Move)];
//! ear.listen_for(&PhraseSet { phrases })?;
//! let utterance = Utterance::whole(vec![0.0; 16_000]);
//! assert_eq!(ear.hear(&utterance)?, None);
//! # Ok::<(), ears::RecogniserError>(())
//! ```

mod decoder;
mod encoder;
mod kept;
mod layers;
mod matrix;
mod mel;
mod model;
mod prior;
mod projection;
mod quantized;
mod ranking;
mod search;
mod tokens;
mod trie;
mod variants;
mod weights;

pub use weights::Precision;

use crate::sound::Utterance;
use crate::verdict;
use crate::{Description, Hypothesis, PhraseSet, Recogniser, RecogniserError};
use model::Model;
use prior::Priors;
use ranking::{Candidate, evidence};
use search::{Width, search};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use trie::{Sequences, Trie};
use variants::variants;

/// Carried on from token to token; phrases are lost below 8.
const WIDTH: Width = Width {
    beam: 16,
    below_best: 12.0,
};

/// Sets up to this size have all their priors computed at once; of larger ones (numbers) only the
/// finalists' are, when they are heard.
const PRIORS_AHEAD: usize = 200;

/// Finalists of a larger set, by their score before the correction.
const FINALISTS: usize = 24;

/// The model was made for 30 s and hears well in this much.
const LEAST_CONTEXT_SECONDS: f32 = 3.0;

/// Silence that the context holds after the utterance.
const CONTEXT_AFTER_SECONDS: f32 = 0.5;

/// No phrase that may be said takes longer.
const LONGEST_SECONDS: f32 = 29.0;

/// Shorter than any word.
const SHORTEST_SECONDS: f32 = 0.1;

/// Root mean square below which there is nothing but the converter's own noise (−80 dB).
const SILENCE: f32 = 1e-4;

/// Tokens of a single written phrase; the model's own bound is 448.
const LONGEST_PHRASE: usize = 200;

/// Where the default ear's files are looked for: `ear-en` in the cache.
pub fn default_model_dir() -> PathBuf {
    let cache = cache::folder().unwrap_or_else(|| PathBuf::from(".cache/sayback"));
    cache.join("ear-en")
}

/// The default ear.
pub struct ClosedSet {
    model: Model,
    description: Description,
    priors: Priors,
    sequences: HashMap<Vec<String>, Sequences>,
    phrases: PhraseSet,
    /// Of each phrase in the set, the token sequences of its variants.
    listening: Vec<Sequences>,
    trie: Trie,
}

impl ClosedSet {
    /// Reads `model.bin` and `vocabulary.txt` from a folder, to compute on so many threads.
    ///
    /// # Errors
    /// [`RecogniserError::Missing`] when a file isn't there, [`RecogniserError::Unusable`] when it isn't
    /// the English tiny model as CTranslate2 keeps it.
    pub fn load(folder: &Path, threads: usize) -> Result<Self, RecogniserError> {
        Self::load_with(folder, threads, Precision::Quantized)
    }

    /// The same, computing this exactly: single precision takes twice the time and hears the same.
    ///
    /// # Errors
    /// As [`ClosedSet::load`].
    pub fn load_with(
        folder: &Path,
        threads: usize,
        precision: Precision,
    ) -> Result<Self, RecogniserError> {
        let model = Model::read(folder, threads, precision)?;
        let description = Description {
            recogniser: "closed-set whisper".to_owned(),
            model: folder
                .file_name()
                .unwrap_or(folder.as_os_str())
                .to_string_lossy()
                .into_owned(),
            model_sha256: model.sha256.clone(),
        };
        Ok(Self {
            priors: model.on_threads(|| Priors::new(&model)),
            model,
            description,
            sequences: HashMap::new(),
            phrases: PhraseSet::default(),
            listening: Vec::new(),
            trie: Trie::new([]),
        })
    }

    /// Keeps in this folder, from one start of the program to the next, what has to be computed once for
    /// every phrase: without it a gate that is met for the first time costs a second or more.
    ///
    /// # Errors
    /// What the system says when the folder can't be used; the ear then works without it.
    pub fn keep_priors_in(&mut self, folder: &Path) -> std::io::Result<()> {
        self.priors.keep_in(folder, &self.model.sha256)
    }

    /// Natural log-probability of each token of `text` after those before it, and last of the
    /// transcript's end, given 16 kHz sound over a context of so many seconds: for checks against other
    /// implementations.
    pub fn log_probabilities(&self, samples: &[f32], context_seconds: f32, text: &str) -> Vec<f32> {
        self.model.on_threads(|| {
            let heard = self
                .model
                .listen(&self.model.encode(samples, context_seconds));
            self.model
                .forced(&heard, &self.model.vocabulary.encode(text))
        })
    }

    /// The model's tokens for `text`, which has a space before it where a word begins.
    pub fn tokens(&self, text: &str) -> Vec<u32> {
        self.model.vocabulary.encode(text)
    }

    /// The encoder and the decoder's keys and values alone, for timing: how many positions they cover.
    pub fn encode_only(&self, samples: &[f32], context_seconds: f32) -> usize {
        self.model.on_threads(|| {
            let encoded = self.model.encode(samples, context_seconds);
            self.model.listen(&encoded).positions()
        })
    }

    fn candidates(&mut self, samples: &[f32]) -> (Vec<Candidate>, search::Free) {
        let seconds = samples.len() as f32 / 16_000.0;
        let context = (seconds + CONTEXT_AFTER_SECONDS).max(LEAST_CONTEXT_SECONDS);
        let Self {
            model,
            priors,
            listening,
            trie,
            ..
        } = self;
        model.on_threads(|| {
            let heard = model.listen(&model.encode(samples, context));
            let free_tokens = 8 + (6.0 * seconds) as usize;
            let (scores, free) = search(model, &heard, trie, WIDTH, free_tokens);
            let mut order: Vec<usize> = (0..scores.len()).collect();
            order.sort_by(|a, b| scores[*b].scored.total_cmp(&scores[*a].scored));
            if order.len() > PRIORS_AHEAD {
                order.truncate(FINALISTS);
            }
            priors.learn(
                model,
                order.iter().map(|phrase| listening[*phrase].as_slice()),
            );
            let candidates = order
                .into_iter()
                .filter_map(|phrase| {
                    let prior = priors.known(&listening[phrase])?;
                    Some(Candidate {
                        phrase,
                        score: scores[phrase].clone(),
                        prior,
                    })
                })
                .collect();
            (candidates, free)
        })
    }
}

impl Recogniser for ClosedSet {
    fn description(&self) -> Description {
        self.description.clone()
    }

    fn listen_for(&mut self, phrases: &PhraseSet) -> Result<Vec<String>, RecogniserError> {
        if phrases.phrases.is_empty() {
            return Err(RecogniserError::Phrases("there are none".to_owned()));
        }
        let mut listening = Vec::with_capacity(phrases.phrases.len());
        for phrase in &phrases.phrases {
            let variants = variants(phrase);
            if variants.is_empty() {
                let words = &phrase.words;
                return Err(RecogniserError::Phrases(format!(
                    "`{words}` is never written in any way"
                )));
            }
            let sequences = match self.sequences.get(&variants) {
                Some(known) => Arc::clone(known),
                None => {
                    let vocabulary = &self.model.vocabulary;
                    let new: Sequences = Arc::new(
                        variants
                            .iter()
                            .map(|variant| vocabulary.encode(variant))
                            .collect(),
                    );
                    self.sequences.insert(variants, Arc::clone(&new));
                    new
                }
            };
            if sequences
                .iter()
                .any(|sequence| sequence.len() > LONGEST_PHRASE)
            {
                let words = &phrase.words;
                return Err(RecogniserError::Phrases(format!(
                    "`{words}` is too long to be said at once"
                )));
            }
            listening.push(sequences);
        }
        self.trie = Trie::new((0..).zip(listening.iter().map(|sequences| sequences.as_slice())));
        self.phrases = phrases.clone();
        self.listening = listening;
        if self.listening.len() <= PRIORS_AHEAD {
            let Self {
                model,
                priors,
                listening,
                ..
            } = self;
            model.on_threads(|| {
                priors.learn(model, listening.iter().map(|phrase| phrase.as_slice()))
            });
        }
        Ok(Vec::new())
    }

    fn hear(&mut self, utterance: &Utterance) -> Result<Option<Hypothesis>, RecogniserError> {
        if self.phrases.phrases.is_empty() {
            return Err(RecogniserError::Phrases(
                "none were set before hearing".to_owned(),
            ));
        }
        let samples = &utterance.samples;
        let seconds = samples.len() as f32 / 16_000.0;
        if !(SHORTEST_SECONDS..=LONGEST_SECONDS).contains(&seconds) {
            return Ok(None);
        }
        let power =
            samples.iter().map(|sample| sample * sample).sum::<f32>() / samples.len() as f32;
        if !power.is_finite() || power.sqrt() < SILENCE {
            return Ok(None);
        }
        let (candidates, free) = self.candidates(samples);
        let text = self.model.vocabulary.decode(&free.tokens);
        Ok(
            evidence(&self.phrases, &candidates, free.log_likelihood, text.trim()).map(
                |mut found| {
                    found.evidence.heard_by = self.description.clone();
                    // The end of the text is a token too.
                    let tokens = free.tokens.len() + 1;
                    found.evidence.free_score = Some(free.log_likelihood / tokens as f32);
                    found.evidence.snr_db = utterance.snr_db;
                    found.evidence.seconds = seconds;
                    found.evidence.probability = verdict::Model::built_in().probability(&found);
                    found
                },
            ),
        )
    }
}
