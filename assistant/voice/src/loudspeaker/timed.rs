//! A sentence into memory, with where its words begin.

use super::engine::{Sink, Word, engine};
use super::neural::Neural;
use crate::{Settings, Sound, VoiceError};

/// Speaks a sentence with a voice of espeak-ng into memory, and tells where its words begin.
///
/// # Errors
/// When the library or its voice is missing.
pub fn timed(
    sentence: &str,
    voice: &str,
    settings: Settings,
) -> Result<(Sound, Vec<Word>), VoiceError> {
    let rate_hz = engine()?.rate_hz();
    let speak = |sink: &mut Kept| engine()?.speak(sentence, voice, settings, sink);
    kept(rate_hz, speak)
}

impl Neural {
    /// Speaks a sentence into memory, and tells where its words begin, to within a few sounds.
    ///
    /// # Errors
    /// When libespeak-ng or its voice is missing, or the model fails.
    pub fn timed(
        &self,
        sentence: &str,
        settings: Settings,
    ) -> Result<(Sound, Vec<Word>), VoiceError> {
        kept(self.rate_hz(), |sink| self.speak(sentence, settings, sink))
    }
}

fn kept(
    rate_hz: u32,
    speak: impl FnOnce(&mut Kept) -> Result<(), VoiceError>,
) -> Result<(Sound, Vec<Word>), VoiceError> {
    let mut kept = Kept(Vec::new(), Vec::new());
    speak(&mut kept)?;
    let Kept(samples, words) = kept;
    Ok((Sound { samples, rate_hz }, words))
}

/// A sink that keeps everything.
struct Kept(Vec<i16>, Vec<Word>);

impl Sink for Kept {
    fn piece(&mut self, samples: &[i16], words: Vec<Word>) -> bool {
        self.0.extend_from_slice(samples);
        self.1.extend(words);
        true
    }
}
