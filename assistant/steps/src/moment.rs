//! Time, as an argument.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::time::Duration;

/// A point in time: milliseconds since 1970-01-01T00:00:00Z. This crate never asks for the time; whoever
/// calls it says what time it is.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Default,
    Serialize,
    Deserialize,
    JsonSchema,
)]
#[serde(transparent)]
pub struct Moment(pub u64);

impl Moment {
    /// The moment a time later.
    pub fn after(self, time: Duration) -> Self {
        Self(
            self.0
                .saturating_add(u64::try_from(time.as_millis()).unwrap_or(u64::MAX)),
        )
    }

    /// How long after `earlier` this is; nothing when it isn't after it.
    pub fn since(self, earlier: Self) -> Duration {
        Duration::from_millis(self.0.saturating_sub(earlier.0))
    }
}
