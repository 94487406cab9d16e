//! What was heard, and what speaks for it.

use crate::{Description, Stake};
use serde::{Deserialize, Serialize};

/// The phrase that was most likely said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hypothesis {
    /// The phrase's words, exactly as in the phrase set.
    pub words: String,
    /// The phrase's stake.
    pub stake: Stake,
    /// Whether a decoy won: then nothing that may be said was said.
    pub decoy: bool,
    /// What speaks for it.
    pub evidence: Evidence,
}

/// What speaks for a hypothesis. All log-likelihoods are natural logarithms. A recogniser leaves `None`
/// what it can't measure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// Who heard it, with which model.
    pub heard_by: Description,
    /// Log-likelihood of the phrase given the sound, corrected by its prior, per token.
    pub score: Option<f32>,
    /// Log-likelihood above the best other thing that may be said (not a decoy).
    pub margin_runner_up: Option<f32>,
    /// Log-likelihood above the best decoy.
    pub margin_decoy: Option<f32>,
    /// Log-likelihood above the capped free transcription; negative when free text fits better.
    pub margin_free: Option<f32>,
    /// What was heard without any grammar.
    pub free_transcription: Option<String>,
    /// Log-likelihood of that per token, where the recogniser tells.
    #[serde(default)]
    pub free_score: Option<f32>,
    /// The runner-up's words.
    pub runner_up: Option<String>,
    /// How probable it is that this phrase was said, by all that is told here; the model behind it is
    /// [`crate::verdict::Model`].
    #[serde(default)]
    pub probability: Option<f32>,
    /// The best decoy's words.
    #[serde(default)]
    pub nearest_decoy: Option<String>,
    /// Natural logarithm of how likely it is that the speech ends where the phrase does: what was said behind it shows here.
    #[serde(default)]
    pub ending: Option<f32>,
    /// Log-likelihood above the best decoy, each corrected by the whole of what it has on noise alone: by the sound only,
    /// however unusual the decoy's words are.
    #[serde(default)]
    pub margin_decoy_by_sound: Option<f32>,
    /// The recogniser's own confidence, 0 to 1, where it has one.
    pub confidence: Option<f32>,
    /// Speech-to-noise ratio of the utterance in decibel, as the end-pointer measured it.
    pub snr_db: Option<f32>,
    /// Length of the utterance in seconds.
    pub seconds: f32,
}
