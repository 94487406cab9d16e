//! Closed-set scoring with the tiny English Whisper weights.

mod decoder;
mod encoder;
mod layers;
mod matrix;
mod mel;
mod model;
mod projection;
mod tokens;
mod weights;

use crate::RecogniserError;
use model::Model;
use std::path::{Path, PathBuf};

/// Where the default ear's files are looked for: `ear-en` in `$SAYBACK_CACHE`, else in
/// `$XDG_CACHE_HOME/sayback`, else in `~/.cache/sayback`.
pub fn default_model_dir() -> PathBuf {
    let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    let cache = set("SAYBACK_CACHE")
        .or_else(|| set("XDG_CACHE_HOME").map(|cache| cache.join("sayback")))
        .or_else(|| set("HOME").map(|home| home.join(".cache").join("sayback")))
        .unwrap_or_else(|| PathBuf::from(".cache/sayback"));
    cache.join("ear-en")
}

/// The default ear.
pub struct ClosedSet {
    model: Model,
}

impl ClosedSet {
    /// Reads the model from a folder.
    pub fn load(folder: &Path, threads: usize) -> Result<Self, RecogniserError> {
        Ok(Self { model: Model::read(folder, threads)? })
    }

    /// Natural log-probability of each token of `text` after those before it, and last of the
    /// transcript's end, given 16 kHz sound over a context of so many seconds: for checks against other
    /// implementations.
    pub fn log_probabilities(&self, samples: &[f32], context_seconds: f32, text: &str) -> Vec<f32> {
        self.model.on_threads(|| {
            let heard = self.model.listen(&self.model.encode(samples, context_seconds));
            self.model.forced(&heard, &self.model.vocabulary.encode(text))
        })
    }

    /// The model's tokens for `text`, which has a space before it where a word begins.
    pub fn tokens(&self, text: &str) -> Vec<u32> {
        self.model.vocabulary.encode(text)
    }
}
