//! The language that a job is told and answered in.
//!
//! # Why does the language belong to the procedure?
//!
//! A procedure's texts, readbacks and warnings are in one language, so no other could be right for the job, and there
//! is no setting that could disagree with it. `Listen` carries the language where it isn't English, so `words` needs
//! no job. The records of English jobs don't mention a language at all. Including a part in another language is a
//! mistake (`language`).
//!
//! # What is missing for Spanish?
//!
//! An ear: the default one understands only English, and a confidence alone opens no hold point, so `sayback work`
//! refuses before it opens the job. A Spanish question may use exactly the words of the readback, which no decoy can
//! stand in for. The checker's sounds, its dictionary and its rate of speech are English; for Spanish they are left
//! out or approximate.

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
