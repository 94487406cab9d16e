//! A job's name.

use serde::{Deserialize, Serialize};
use std::fmt;
use steps::{Id, Moment};

/// The name of one job, as people write it: the day it was opened (UTC), its procedure, and a number where
/// the day saw several: `2026-03-02-front-brakes-2`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct JobId(String);

impl JobId {
    /// Takes a name as it stands, as someone typed it.
    pub fn new(name: &str) -> Self {
        Self(name.to_owned())
    }

    /// The name of a day's first, second, … job by a procedure.
    pub(crate) fn of(procedure: &Id, opened: Moment, number: u32) -> Self {
        let day = crate::time::day(opened);
        // It becomes a file's name too.
        let procedure: String = procedure
            .as_str()
            .chars()
            .map(|it| if it.is_ascii_alphanumeric() { it } else { '-' })
            .collect();
        match number {
            1 => Self(format!("{day}-{procedure}")),
            more => Self(format!("{day}-{procedure}-{more}")),
        }
    }

    /// The name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for JobId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
