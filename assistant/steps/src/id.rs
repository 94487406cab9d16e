//! Names that authors give to things.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::sync::Arc;

/// The name of a fact, step, gate, item, fastener group, variant or branch: lower-case letters, digits
/// and hyphens, beginning with a letter. Cheap to clone.
#[derive(Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Id(#[schemars(regex(pattern = "^[a-z][a-z0-9-]*$"))] Arc<str>);

impl Id {
    /// Takes the name as it is, without checking it.
    pub fn new(name: &str) -> Self {
        Self(name.into())
    }

    /// Whether a text may serve as a name in a procedure.
    pub fn is_well_formed(text: &str) -> bool {
        text.starts_with(|c: char| c.is_ascii_lowercase())
            && text
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
    }

    /// The name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", &*self.0)
    }
}

impl From<&str> for Id {
    fn from(name: &str) -> Self {
        Self::new(name)
    }
}
