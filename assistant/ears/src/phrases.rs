//! What may be said now, as a recogniser needs to know it.

use serde::{Deserialize, Serialize};

/// What hangs on hearing a phrase rightly: decides how much evidence is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stake {
    /// Asking for something: a wrong answer costs a second.
    Ask,
    /// "Stop": doubt is taken for yes.
    Stop,
    /// Moving on, going back, answering a question.
    Move,
    /// A spoken number; it is said back before it counts.
    Number,
    /// The readback of a gate.
    Gate,
}

/// One thing that may be said.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Phrase {
    /// The words in lower case without punctuation; what a hypothesis returns.
    pub words: String,
    /// How the same is said word by word (numbers spoken out), for recognisers that hear words.
    /// Never empty; the first is usual.
    pub spoken: Vec<String>,
    /// How the same may be written ("173", "1, 7, 3", "One hundred and seventy-three."), for recognisers
    /// that score written text. Case and final punctuation variants are added by the recogniser.
    pub written: Vec<String>,
    /// What hangs on it.
    pub stake: Stake,
    /// True for what is in the set only to compete: it sounds like something that may be said, isn't it,
    /// and must be recognised as itself so that it isn't taken for the other.
    pub decoy: bool,
}

impl Phrase {
    /// A phrase that is spoken and written as its words stand.
    pub fn plain(words: &str, stake: Stake) -> Self {
        Self {
            words: words.to_owned(),
            spoken: vec![words.to_owned()],
            written: vec![words.to_owned()],
            stake,
            decoy: false,
        }
    }

    /// The same as a decoy.
    pub fn decoy(words: &str, stake: Stake) -> Self {
        Self {
            decoy: true,
            ..Self::plain(words, stake)
        }
    }
}

/// All that may be said now, decoys included.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhraseSet {
    /// The phrases, in no particular order; no two have the same `words`.
    pub phrases: Vec<Phrase>,
}
