//! A neural voice: libespeak-ng says what a text sounds like, and a model speaks it.
//!
//! A sentence is made piece by piece, so it begins to sound when the first piece is made, and a stop ends the making with
//! the piece that is being made.

mod model;
mod pieces;
mod symbols;

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use super::engine::{Sink, Word};
use crate::{Settings, VoiceError, fixtures, speakable};
use model::Model;
use pieces::{ends_sentence, pieces};
use symbols::Symbols;

/// The folder of the voice below the cache.
const VOICE: &str = "voices/joe";

/// What names the runtime's library where it isn't the one that set-up brings.
const LIBRARY_VARIABLE: &str = "SAYBACK_ONNXRUNTIME_LIB";

/// Left alone the model speaks as fast as espeak-ng at this setting, in words per minute: ten sentences of the trade took as
/// long in all.
const OWN_RATE: f32 = 190.0;

/// Silence behind a sentence at its own speed; the model's own there is short. Common practice, no source.
const PAUSE_SECONDS: f32 = 0.2;

/// A voice that is ready to speak.
pub struct Neural {
    name: String,
    rate_hz: u32,
    model: Mutex<Model>,
}

impl Neural {
    /// Loads the voice that set-up brings.
    ///
    /// # Errors
    /// When its files or the library of ONNX Runtime are missing or unusable.
    pub fn load() -> Result<Self, VoiceError> {
        let cache = fixtures::cache_folder()
            .ok_or_else(|| failed("no home folder is set; name the cache in SAYBACK_CACHE"))?;
        let weights = fixtures::weights(&cache.join(VOICE))?;
        let model = Model::load(&weights, &library(&cache)?)?;
        let name = weights.file_stem().unwrap_or_default();
        Ok(Self {
            name: name.to_string_lossy().into_owned(),
            rate_hz: model.rate_hz(),
            model: Mutex::new(model),
        })
    }

    /// What it is called.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// Samples a second of what it makes.
    pub(super) fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    /// Speaks a sentence into the sink, a piece at a time.
    pub(super) fn speak(
        &self,
        sentence: &str,
        settings: Settings,
        sink: &mut dyn Sink,
    ) -> Result<(), VoiceError> {
        // Between two runs the model keeps nothing, so a panic elsewhere leaves it usable.
        let mut model = self.model.lock().unwrap_or_else(PoisonError::into_inner);
        let length = OWN_RATE / f32::from(settings.rate.words());
        let pause = vec![0; (PAUSE_SECONDS * length * self.rate_hz as f32) as usize];
        let mut made = 0;
        for piece in pieces(&speakable(sentence)) {
            let symbols = Symbols::of(&piece, model.sounds_of())?;
            if symbols.all.is_empty() {
                continue;
            }
            let mut spoken = model.speak(&symbols.all, length)?;
            if symbols.end.is_none() {
                // The silence behind a piece would tear the clause.
                let end = spoken.begins.last().copied().unwrap_or_default();
                spoken.samples.truncate(end);
            }
            let words = symbols.words.iter().map(|(symbol, word)| {
                let at = made + spoken.begins.get(*symbol).copied().unwrap_or(0);
                let at_ms = at as u64 * 1_000 / u64::from(self.rate_hz.max(1));
                Word::new(word, u32::try_from(at_ms).unwrap_or(u32::MAX))
            });
            let words = words.collect();
            let mut samples = levelled(&spoken.samples, settings);
            if symbols.end.is_some_and(ends_sentence) {
                samples.extend(&pause);
            }
            made += samples.len();
            if !sink.piece(&samples, words) {
                break;
            }
        }
        Ok(())
    }
}

/// At the volume that is set. What would be beyond full scale makes the whole piece softer, so nothing is cut off.
fn levelled(samples: &[f32], settings: Settings) -> Vec<i16> {
    let peak = samples.iter().fold(1.0_f32, |peak, it| peak.max(it.abs()));
    let gain = f32::from(settings.volume.percent()) / 100.0 / peak;
    let full = f32::from(i16::MAX);
    samples.iter().map(|it| (it * gain * full) as i16).collect()
}

/// The library of ONNX Runtime: the one that is named, else the one in the Python environment of set-up.
fn library(cache: &Path) -> Result<PathBuf, VoiceError> {
    if let Some(named) = std::env::var_os(LIBRARY_VARIABLE).filter(|path| !path.is_empty()) {
        return Ok(named.into());
    }
    let environment = cache.join("venv/lib");
    let within = |folder: &Path| {
        let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
        entries.map(|entry| entry.path())
    };
    within(&environment)
        .flat_map(|python| within(&python.join("site-packages/onnxruntime/capi")))
        .find(|file| {
            let name = file.file_name().unwrap_or_default().to_string_lossy();
            name.starts_with("libonnxruntime.")
        })
        .ok_or_else(|| {
            failed(&format!(
                "the library of ONNX Runtime isn't below {}: run `cargo xtask setup`, or name it in {LIBRARY_VARIABLE}",
                environment.display()
            ))
        })
}

fn failed(reason: &str) -> VoiceError {
    VoiceError::Failed {
        program: "the neural voice".to_owned(),
        reason: reason.to_owned(),
    }
}
