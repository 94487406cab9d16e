//! How the technician wants the assistant to speak and listen.

use crate::quantity::TorqueUnit;
use serde::{Deserialize, Serialize};

/// A change in how the assistant speaks or listens, from now on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Manner {
    /// A notch slower.
    Slower,
    /// A notch faster.
    Faster,
    /// A notch louder.
    Louder,
    /// A notch softer.
    Softer,
    AnotherVoice,
    /// The short wording where there is one.
    Shorter,
    /// The long wording.
    Fuller,
    /// Torques in the unit that the wrench is marked in.
    Unit(TorqueUnit),
    /// Listen to all that is said.
    ToEverything,
    /// Listen after one's name was called.
    ByName,
    /// Listen after a key was pressed.
    OnPress,
}

impl Manner {
    /// Those that have words of their own: "slower" is said of an answer, too.
    pub const SAID: [Self; 15] = [
        Self::Faster,
        Self::Louder,
        Self::Softer,
        Self::AnotherVoice,
        Self::Shorter,
        Self::Fuller,
        Self::Unit(TorqueUnit::NewtonMetre),
        Self::Unit(TorqueUnit::NewtonCentimetre),
        Self::Unit(TorqueUnit::PoundFoot),
        Self::Unit(TorqueUnit::PoundInch),
        Self::Unit(TorqueUnit::KilogramForceMetre),
        Self::Unit(TorqueUnit::KilogramForceCentimetre),
        Self::ToEverything,
        Self::ByName,
        Self::OnPress,
    ];
}
