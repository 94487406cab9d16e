//! Who answers for the version that a job is worked by.

use serde::{Deserialize, Serialize};

/// A procedure or vehicle sheet was released in the version that the job is worked by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Release {
    /// What: `front-brakes`, `vehicles/van-four`.
    pub of: String,
    /// By whom.
    pub by: String,
    /// When: `2026-12-01`.
    pub on: String,
}
