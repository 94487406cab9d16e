//! A tools file that goes with a job.
//!
//! # Why is the file's text part of the job's settings?
//!
//! What the job says depends on the tools, so a replay needs the same ones. For the same reason, whether a
//! calibration is overdue is judged by the date of the input, not by the clock. Both are in the journal. A job
//! without a tools file is written as if tools files didn't exist.

use super::{Tools, ToolsProblems};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::sync::Arc;

/// What the technician owns, with the text that it was read from. The text goes onto the record, so that a job
/// that is taken up or replayed later has the tools it was begun with.
#[derive(Debug, Clone)]
pub struct Toolbox {
    text: Arc<str>,
    tools: Arc<Tools>,
}

impl Toolbox {
    /// Reads a tools file (TOML).
    ///
    /// # Errors
    /// All that is wrong with it, as [`Tools::read`].
    pub fn read(text: &str) -> Result<Self, ToolsProblems> {
        Ok(Self {
            tools: Arc::new(Tools::read(text)?),
            text: text.into(),
        })
    }

    /// The tools.
    pub fn tools(&self) -> &Tools {
        &self.tools
    }
}

impl PartialEq for Toolbox {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}

impl Eq for Toolbox {}

impl Serialize for Toolbox {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

impl<'de> Deserialize<'de> for Toolbox {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::read(&String::deserialize(deserializer)?).map_err(serde::de::Error::custom)
    }
}
