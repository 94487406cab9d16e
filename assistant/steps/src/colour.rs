//! The colour that a hold point asks for after its words: its check word.
//!
//! # Why does the engine choose the colour?
//!
//! A hold point asks for a colour so that words said out of habit don't open it. The colour follows
//! from the gate and the time (by SHA-256), so nobody can know it beforehand, and a replay finds the same one.
//! `Job::colour_asked` returns it. The readback with any other colour is among the decoys, and `job/gates.rs`
//! compares the colour once more.
//!
//! The assistant says the colour before the readback, so its own voice never says the two in the order that opens the
//! gate. In a rehearsal's script, `{colour}` stands for the colour.

use crate::lines::Lines;
use crate::{Id, Language, Moment};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// A colour that changes each time a hold point begins to ask: words from a habit, a recording, or a radio
/// don't hold the right one.
///
/// Green and red are left out, since a light of theirs means something (IEC 60073). Of twelve other colours these
/// were heard best after the readbacks of the shipped procedures: each taken at once in 11 or 12 of 12 trials (four
/// readbacks, three voices), against 8 for turquoise.
///
/// ```
/// use steps::{Colour, Id, Moment};
///
/// let gate = Id::new("both-stands");
/// // Nobody can know it before the hold point asks, and a replay of the journal finds the same.
/// assert_eq!(Colour::asked(&gate, Moment(5)), Colour::asked(&gate, Moment(5)));
/// assert!((0..100).any(|at| Colour::asked(&gate, Moment(at)) == Colour::Brown));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Colour {
    /// "orange"
    Orange,
    /// "brown"
    Brown,
    /// "yellow"
    Yellow,
    /// "silver"
    Silver,
    /// "black"
    Black,
    /// "magenta"
    Magenta,
}

impl Colour {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Orange,
        Self::Brown,
        Self::Yellow,
        Self::Silver,
        Self::Black,
        Self::Magenta,
    ];

    /// The word for it.
    pub fn word(self, language: Language) -> String {
        Lines(language).colour(self)
    }

    /// What a gate asks for that begins to hold the job at this time: spread evenly by SHA-256, and the same
    /// whenever the journal is replayed.
    pub fn asked(gate: &Id, since: Moment) -> Self {
        let mut digest = Sha256::new();
        digest.update(since.0.to_le_bytes());
        digest.update(gate.as_str());
        // The remainder of 64 bits is even to 1 in 10^18.
        let bits = digest
            .finalize()
            .iter()
            .take(8)
            .fold(0, |bits, byte| bits << 8 | u64::from(*byte));
        let at = bits % Self::ALL.len() as u64;
        Self::ALL[at as usize]
    }
}
