//! What makes sound of a sentence.

use std::sync::Arc;
use std::time::Duration;

use super::engine::{Sink, engine};
use super::neural::Neural;
use crate::{Settings, Timbre, VoiceError};

#[derive(Clone)]
pub enum Synthesiser {
    /// libespeak-ng with the voice of this name.
    Espeak(String),
    /// A neural voice.
    Neural(Arc<Neural>),
}

impl Synthesiser {
    /// What it is called.
    pub fn name(&self) -> String {
        match self {
            Self::Espeak(voice) => format!("espeak-ng ({voice})"),
            Self::Neural(neural) => format!("the neural voice ({})", neural.name()),
        }
    }

    /// Samples a second of what it makes.
    pub fn rate_hz(&self) -> Result<u32, VoiceError> {
        match self {
            Self::Espeak(_) => Ok(engine()?.rate_hz()),
            Self::Neural(neural) => Ok(neural.rate_hz()),
        }
    }

    /// By how much a word may begin earlier or later than is told. For the neural voice: 115 words of ten sentences, aligned
    /// by PocketSphinx, began within 140 ms, nine tenths of them within 50 ms.
    pub fn doubt(&self) -> Duration {
        match self {
            Self::Espeak(_) => Duration::ZERO,
            Self::Neural(_) => Duration::from_millis(200),
        }
    }

    /// These settings, as far as it has them: the neural voice has one timbre.
    pub fn within(&self, settings: Settings) -> Settings {
        match self {
            Self::Espeak(_) => settings,
            Self::Neural(_) => Settings {
                timbre: Timbre::default(),
                ..settings
            },
        }
    }

    /// Speaks a sentence into the sink.
    pub fn speak(
        &self,
        sentence: &str,
        settings: Settings,
        sink: &mut dyn Sink,
    ) -> Result<(), VoiceError> {
        match self {
            Self::Espeak(voice) => engine()?.speak(sentence, voice, settings, sink),
            Self::Neural(neural) => neural.speak(sentence, settings, sink),
        }
    }
}
