//! Fasteners: thread, strength, clamp load, and whether a torque is plausible for them.

mod across_flats;
mod clamp;
mod plausible;
mod strength;
mod thread;

pub use across_flats::{HexSeries, across_flats};
pub use clamp::{ClampError, NutFactor, clamp_load, torque_for_clamp_load};
pub use plausible::{
    Agreement, Plausibility, PlausibilityError, Slip, UnusualShare, agreement, plausibility,
};
pub use strength::{NutClass, PropertyClass, SaeGrade, Strength, StrengthError};
pub use thread::{MetricThread, Series, Thread, ThreadError, UnifiedThread};
