//! How fast, how loud, and with which voice.

use serde::{Deserialize, Serialize};

/// Words per minute, 80 to 449: the range that speech-dispatcher's espeak-ng module covers
/// (`EspeakMinRate` and `EspeakMaxRate` of its configuration).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(from = "u16", into = "u16")]
pub struct WordsPerMinute(u16);

impl WordsPerMinute {
    pub const SLOWEST: WordsPerMinute = WordsPerMinute(80);
    /// What most people find easy to follow while working.
    pub const USUAL: WordsPerMinute = WordsPerMinute(160);
    pub const FASTEST: WordsPerMinute = WordsPerMinute(449);

    /// The nearest rate within the range.
    pub fn new(words_per_minute: u16) -> Self {
        WordsPerMinute(words_per_minute).clamp(Self::SLOWEST, Self::FASTEST)
    }

    /// The number of words per minute.
    pub fn words(self) -> u16 {
        self.0
    }

    /// One notch slower, as answer to "slower": four fifths of the rate.
    pub fn slower(self) -> Self {
        Self::new(self.0 / 5 * 4)
    }

    /// One notch faster: five quarters of the rate.
    pub fn faster(self) -> Self {
        Self::new(self.0 / 4 * 5)
    }
}

impl From<u16> for WordsPerMinute {
    fn from(words_per_minute: u16) -> Self {
        Self::new(words_per_minute)
    }
}

impl From<WordsPerMinute> for u16 {
    fn from(rate: WordsPerMinute) -> u16 {
        rate.0
    }
}

/// Loudness in percent of the engine's full volume, 0 to 100.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(from = "u8", into = "u8")]
pub struct Volume(u8);

impl Volume {
    /// Full volume.
    pub const FULL: Volume = Volume(100);
    /// What leaves room for "louder".
    pub const USUAL: Volume = Volume(85);

    /// The nearest volume within the range.
    pub fn new(percent: u8) -> Self {
        Volume(percent.min(100))
    }

    /// The volume in percent.
    pub fn percent(self) -> u8 {
        self.0
    }
}

impl From<u8> for Volume {
    fn from(percent: u8) -> Self {
        Self::new(percent)
    }
}

impl From<Volume> for u8 {
    fn from(volume: Volume) -> u8 {
        volume.0
    }
}

/// Which of an engine's voices speaks. The neural one has only its own.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Timbre {
    /// The usual one.
    #[default]
    Deep,
    /// A higher one, which some machines' noise covers less.
    Bright,
}

impl Timbre {
    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Self::Deep => Self::Bright,
            Self::Bright => Self::Deep,
        }
    }

    /// A voice of espeak-ng, by its name, in this timbre: a variant of its own data.
    pub(crate) fn of_espeak(self, voice: &str) -> String {
        match self {
            Self::Deep => voice.to_owned(),
            Self::Bright => format!("{voice}+f3"),
        }
    }
}

/// How a voice speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// How fast.
    pub rate: WordsPerMinute,
    /// How loud.
    pub volume: Volume,
    /// With which voice.
    #[serde(default)]
    pub timbre: Timbre,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            rate: WordsPerMinute::USUAL,
            volume: Volume::USUAL,
            timbre: Timbre::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn asking_for_slower_again_and_again_ends_at_the_slowest() {
        let mut rate = WordsPerMinute::USUAL;
        for _ in 0..20 {
            let slower = rate.slower();
            assert!(slower < rate || rate == WordsPerMinute::SLOWEST);
            rate = slower;
        }
        assert_eq!(rate, WordsPerMinute::SLOWEST);
        assert_eq!(
            WordsPerMinute::new(u16::MAX).faster(),
            WordsPerMinute::FASTEST
        );
    }
}
