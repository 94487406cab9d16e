//! Sound in, hypotheses with evidence out.
//!
//! This crate has no notion of procedures. It is told what may be said now (a [`PhraseSet`]), is given a
//! stretch of speech (an [`Utterance`]), and answers with the phrase that was most likely said together
//! with the [`Evidence`] for it. What that evidence is worth is judged against bars per [`Stake`] in
//! [`verdict`]; whether a gate opens is decided by the room `steps`, never here.

mod hypothesis;
mod phrases;
pub mod sound;
pub mod turn;
pub mod verdict;
pub mod vosk;
pub mod whisper;

pub use hypothesis::{Evidence, Hypothesis};
pub use phrases::{Phrase, PhraseSet, Stake};

use sound::Utterance;

/// Which recogniser answered, and on which model: kept with every gate's record.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Description {
    /// The kind of recogniser, for example `closed-set whisper` or `vosk`.
    pub recogniser: String,
    /// The model's folder or file name.
    pub model: String,
    /// SHA-256 of the model's main weights file, in hexadecimal.
    pub model_sha256: String,
}

/// Why a recogniser could not be made ready or could not hear.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RecogniserError {
    /// A library, model or weights file isn't where it was looked for.
    #[error("{what} is missing at {path}: {remedy}")]
    Missing {
        /// What is missing.
        what: String,
        /// Where it was looked for.
        path: std::path::PathBuf,
        /// What to do now.
        remedy: String,
    },
    /// The model's files are there but can't be used.
    #[error("the model at {path} can't be used: {reason}")]
    Unusable {
        /// The model's folder or file.
        path: std::path::PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// The phrases can't be listened for (an empty set, a character that the recogniser can't take).
    #[error("these phrases can't be listened for: {0}")]
    Phrases(String),
    /// The recogniser runs in a program of its own, which can't be started, ended, or gave no answer in time.
    #[error("the recogniser's program {program} failed: {reason}")]
    ProgramFailed {
        /// The program.
        program: std::path::PathBuf,
        /// What happened.
        reason: String,
        /// Whether it isn't started again, so that this recogniser hears nothing any more.
        for_good: bool,
    },
}

/// One recogniser: hears which of the phrases that may be said now was said.
///
/// Every implementation passes the same conformance tests (`tests/it/conformance.rs` of this crate).
pub trait Recogniser: Send {
    /// Which recogniser and model this is.
    fn description(&self) -> Description;

    /// Sets what may be said from now on. Returns the words that the model doesn't know: they can't be
    /// heard, and whoever wrote the phrase should be told.
    fn listen_for(&mut self, phrases: &PhraseSet) -> Result<Vec<String>, RecogniserError>;

    /// Hears one utterance. `None`: nothing in it could be speech of the phrase set.
    fn hear(&mut self, utterance: &Utterance) -> Result<Option<Hypothesis>, RecogniserError>;
}
