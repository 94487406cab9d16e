//! Sentences in, sound out, interruptible, behind one trait.
//!
//! The technician listens with both hands busy, so a voice must do three things well: begin soon, fall
//! silent at once when told to, and never leave the assistant believing that it still speaks (a gate
//! listens for its readback only in silence). Each implementation of [`Voice`] passes the same
//! conformance tests (`tests/it/conformance.rs`).
//!
//! This crate refuses to know what is said: numbers, units and abbreviations arrive already spelt out in
//! words, and nothing here decides when something is said.
//!
//! ```
//! use voice::{PrintOnly, Settings, Voice};
//!
//! let mut voice = PrintOnly::new(Vec::new(), Settings::default());
//! voice.say("Loosen the axle nut.")?;
//! voice.wait();
//! assert!(!voice.is_speaking());
//! assert_eq!(voice.into_inner(), b"Loosen the axle nut.\n");
//! # Ok::<(), voice::VoiceError>(())
//! ```

mod best;
mod daemon;
mod espeak;
pub mod fixtures;
mod loudspeaker;
mod print_only;
mod settings;
mod speaking;
mod speech_dispatcher;

pub use best::{Chosen, ENGLISH, best_available};
pub use daemon::{Address, Daemon};
pub use espeak::{EspeakWav, Sound, synthesise};
pub use loudspeaker::{Earcon, Loudspeaker, Neural, Played, Word, timed};
pub use print_only::PrintOnly;
pub use settings::{Settings, Timbre, Volume, WordsPerMinute};
pub use speech_dispatcher::SpeechDispatcher;

use crossbeam_channel::Receiver;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// Something that speaks sentences one after the other.
pub trait Voice: Send {
    /// What speaks, for the announcement at the start, for example `speech-dispatcher`.
    fn name(&self) -> String;

    /// Speaks a sentence after those that are still being spoken. Returns without waiting for its end.
    ///
    /// Any text is taken; control characters are spoken as spaces, and an empty sentence is silence.
    fn say(&mut self, sentence: &str) -> Result<(), VoiceError>;

    /// Falls silent now and forgets the sentences that wait. [`is_speaking`](Voice::is_speaking) is
    /// false when this returns.
    fn stop(&mut self);

    /// Whether a sentence is being spoken or waits to be. Never true for ever: a voice whose engine died
    /// says false soon after the sentence should have ended.
    fn is_speaking(&self) -> bool;

    /// Waits until nothing is being spoken.
    fn wait(&mut self) {
        while self.is_speaking() {
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// How it speaks from the next sentence on.
    fn set(&mut self, settings: Settings) -> Result<(), VoiceError>;

    /// How it speaks now.
    fn settings(&self) -> Settings;

    /// Tells once when sentences that were taken can't be heard after all; they are forgotten.
    fn lost(&mut self) -> Option<VoiceError> {
        None
    }

    /// Plays a short sound after what is being said. A voice that can't stays silent.
    fn sound(&mut self, _earcon: Earcon) {}

    /// Whether whoever listens misses the short sounds, because this voice is heard and can't play them.
    fn lacks_sounds(&self) -> bool {
        false
    }

    /// What the loudspeaker plays, as it plays it, for an echo canceller. `None`: it isn't known.
    fn played(&self) -> Option<Receiver<Played>> {
        None
    }

    /// The words that began to sound within this time before now, as they stood in the sentences; where that is only
    /// estimated, those that may have. `None`: it isn't known.
    fn words_within(&self, _time: Duration) -> Option<Vec<String>> {
        None
    }

    /// When what is being said began to sound, where that is known.
    fn began(&self) -> Option<Instant> {
        None
    }
}

/// Why something could not be said.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum VoiceError {
    /// No speech-dispatcher listens where it should.
    #[error(
        "no speech-dispatcher listens at {address}: start it, or run `cargo xtask setup` if it isn't installed, or choose another voice"
    )]
    NoDaemon {
        /// Where it was looked for.
        address: String,
    },
    /// A program isn't installed or could not be started.
    #[error("{program} could not be started (run `cargo xtask setup`, or install it)")]
    NotStarted {
        program: &'static str,
        /// What the system says.
        source: std::io::Error,
    },
    /// A program ran and did not do its work.
    #[error("{program} failed: {reason}")]
    Failed {
        program: String,
        /// What it said.
        reason: String,
    },
    /// The connection to speech-dispatcher was lost and a new one could not be had.
    #[error(
        "speech-dispatcher no longer answers ({reason}): the sentence was not spoken; start it again"
    )]
    Lost {
        /// What was seen.
        reason: String,
    },
    /// The file for the spoken answers can't be begun.
    #[error(transparent)]
    Place(#[from] files::FileError),
    /// A sound file could not be read or written.
    #[error("the sound file {path} can't be used")]
    Sound {
        /// The file.
        path: PathBuf,
        /// What went wrong.
        source: hound::Error,
    },
    /// A file or stream could not be read or written.
    #[error("{what} can't be used")]
    Io {
        /// The file or stream.
        what: String,
        /// What the system says.
        source: std::io::Error,
    },
    /// A list of voices or phrases can't be used.
    #[error("{path}: {reason}")]
    Script {
        /// The file.
        path: PathBuf,
        /// What is wrong in it, and what would be right.
        reason: String,
    },
}

impl VoiceError {
    fn io(what: impl std::fmt::Display, source: std::io::Error) -> Self {
        VoiceError::Io {
            what: what.to_string(),
            source,
        }
    }
}

/// The sentence with everything that an engine could stumble over replaced by spaces.
fn speakable(sentence: &str) -> String {
    let spaced = sentence
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c });
    spaced.collect::<String>().trim().to_owned()
}
