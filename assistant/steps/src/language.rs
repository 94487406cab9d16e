//! The language that a job is told and answered in.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A language that the program speaks and is spoken to in. What it says stands in `grammars/CODE/sentences.ftl`.
#[derive(
    Debug,
    Clone,
    Copy,
    Default,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    JsonSchema,
)]
pub enum Language {
    /// English.
    #[default]
    #[serde(rename = "en")]
    English,
    /// Spanish.
    #[serde(rename = "es")]
    Spanish,
}

impl Language {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::English, Self::Spanish];

    /// Its code by BCP 47, which is also the name of a voice of espeak-ng.
    pub fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::Spanish => "es",
        }
    }

    /// Its English name.
    pub fn name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::Spanish => "Spanish",
        }
    }

    /// Whether it is the language that is meant where none is given.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }
}
