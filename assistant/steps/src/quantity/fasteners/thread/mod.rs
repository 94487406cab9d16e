//! Threads by their designation, and the area that carries the load.

mod metric;
mod unified;

pub use metric::MetricThread;
pub use unified::{Series, UnifiedThread};

use crate::Decimal;
use std::fmt;
use std::str::FromStr;
use uom::si::f64::{Area, Length};

/// The thread of a fastener.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Thread {
    /// Metric (ISO 965-1): "M14x1.5".
    Metric(MetricThread),
    /// Of the inch (ASME B1.1): "1/2-20 UNF".
    Unified(UnifiedThread),
}

/// A text or size that isn't a thread known here.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ThreadError {
    /// It doesn't read as one.
    #[error("“{0}” is not a thread such as “M14x1.5”, “M14” for the coarse pitch, or “1/2-20 UNF”")]
    Designation(String),
    /// The diameter lies outside of M1.6–M64.
    #[error("M{0} lies outside of M1.6 to M64")]
    Diameter(Decimal),
    /// No coarse pitch belongs to the diameter.
    #[error("M{0} has no coarse pitch in ISO 261; write the pitch too, such as M{0}x1.5")]
    NoCoarsePitch(Decimal),
    /// The pitch is too large or small for the diameter.
    #[error("a pitch of {pitch} mm doesn't belong to M{diameter}: {bounds}")]
    Pitch {
        /// Nominal diameter in mm.
        diameter: Decimal,
        /// Pitch in mm.
        pitch: Decimal,
        /// What would do.
        bounds: &'static str,
    },
    /// An inch size that neither UNC nor UNF has.
    #[error("“{0}” is no size of UNC or UNF up to 1 1/2 in")]
    Size(String),
    /// Threads per inch that the size doesn't have.
    #[error("{size} has {known} threads per inch, not {given}")]
    ThreadsPerInch {
        size: String,
        /// What UNC and UNF have.
        known: String,
        /// What was written.
        given: String,
    },
}

impl Thread {
    /// Nominal diameter d.
    pub fn diameter(self) -> Length {
        match self {
            Self::Metric(thread) => thread.diameter(),
            Self::Unified(thread) => thread.diameter(),
        }
    }

    /// Pitch p.
    pub fn pitch(self) -> Length {
        match self {
            Self::Metric(thread) => thread.pitch(),
            Self::Unified(thread) => thread.pitch(),
        }
    }

    /// Tensile stress area, by the formula of the thread's own standard.
    pub fn stress_area(self) -> Area {
        match self {
            Self::Metric(thread) => thread.stress_area(),
            Self::Unified(thread) => thread.stress_area(),
        }
    }
}

impl FromStr for Thread {
    type Err = ThreadError;

    /// Reads "M14x1.5", "M14 × 1.5-6g", "M14", "1/2-20 UNF", "1/2-13", "#10-24 UNC-2A", "1 1/8-7".
    fn from_str(text: &str) -> Result<Self, ThreadError> {
        if text.trim().starts_with(['M', 'm']) {
            text.parse().map(Self::Metric)
        } else {
            text.parse().map(Self::Unified)
        }
    }
}

impl fmt::Display for Thread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Metric(thread) => thread.fmt(f),
            Self::Unified(thread) => thread.fmt(f),
        }
    }
}
