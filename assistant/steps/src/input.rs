//! What happens to a job.

use crate::Command;
use serde::{Deserialize, Serialize};

/// One thing that happened, as the journal keeps it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "input", rename_all = "kebab-case")]
pub enum Input {
    /// The job is opened.
    Begin,
    /// A command was told.
    Said {
        /// What it means.
        command: Command,
        /// How it was told.
        heard: Heard,
    },
    /// There was speech that is none of what may be said.
    NotUnderstood {
        /// What was heard.
        heard: Heard,
    },
    /// A time that was asked for has come.
    Woke,
    /// The program was started again on this job.
    Resumed,
}

/// How sure it is that something was said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Certainty {
    /// Heard, with all the evidence that its stake asks for.
    Sure,
    /// Heard, with less.
    Doubtful,
    /// Typed or pressed: nobody heard it.
    Typed,
}

/// How something was told, kept for the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heard {
    pub words: String,
    /// How sure it is.
    pub certainty: Certainty,
    /// What speaks for it, as JSON; opaque here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
    /// Where its sound is kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sound: Option<String>,
}

impl Heard {
    /// Something typed.
    pub fn typed(words: &str) -> Self {
        Self {
            words: words.to_owned(),
            certainty: Certainty::Typed,
            evidence: None,
            sound: None,
        }
    }
}
