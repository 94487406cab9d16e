//! For machines without sound and for rehearsals: each sentence is a line.

use std::io::Write;

use crate::{Settings, Voice, VoiceError, speakable};

/// Writes what would be spoken, one line a sentence.
pub struct PrintOnly<W> {
    out: W,
    settings: Settings,
}

impl<W: Write + Send> PrintOnly<W> {
    /// Writes to `out`.
    pub fn new(out: W, settings: Settings) -> Self {
        PrintOnly { out, settings }
    }

    /// What it wrote to.
    pub fn into_inner(self) -> W {
        self.out
    }
}

impl<W: Write + Send> Voice for PrintOnly<W> {
    fn name(&self) -> String {
        "print only, no sound".to_owned()
    }

    fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
        let sentence = speakable(sentence);
        if sentence.is_empty() {
            return Ok(());
        }
        writeln!(self.out, "{sentence}")
            .and_then(|()| self.out.flush())
            .map_err(|source| VoiceError::io("the output", source))
    }

    fn stop(&mut self) {}

    fn is_speaking(&self) -> bool {
        false
    }

    fn set(&mut self, settings: Settings) -> Result<(), VoiceError> {
        self.settings = settings;
        Ok(())
    }

    fn settings(&self) -> Settings {
        self.settings
    }
}
