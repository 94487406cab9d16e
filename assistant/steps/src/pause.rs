//! Why a job was put down for a while.

use crate::codes::InWords;
use crate::{Language, Moment};
use serde::{Deserialize, Serialize};
use std::time::Duration;

/// The reason of a pause, as it is told when the work goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PauseReason {
    /// A part was missing.
    Part,
    /// A tool was missing.
    Tool,
    /// It took somebody's help.
    Help,
    Break,
    AnotherJob,
}

impl PauseReason {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Part,
        Self::Tool,
        Self::Help,
        Self::Break,
        Self::AnotherJob,
    ];
}

impl InWords for PauseReason {
    fn words(&self, _language: Language) -> String {
        let words = match self {
            Self::Part => "a part",
            Self::Tool => "a tool",
            Self::Help => "help",
            Self::Break => "a break",
            Self::AnotherJob => "another job",
        };
        words.to_owned()
    }
}

/// Shorter pauses aren't asked about. Common practice, no source.
const ASKED_FROM: Duration = Duration::from_secs(5 * 60);

/// How long a pause was; `None` where the clock was set back meanwhile, so that nobody knows.
pub(crate) fn length(from: Moment, to: Moment) -> Option<Duration> {
    (to >= from).then(|| to.since(from))
}

/// Whether to ask why the job was put down.
pub(crate) fn is_worth_asking(length: Option<Duration>) -> bool {
    length.is_none_or(|length| length >= ASKED_FROM)
}
