//! Readings: what was measured, in which unit, and whether it is within its limit.

mod limit;
mod measured;
mod unit;

pub use limit::{Limit, LimitError, Verdict};
pub use measured::{Measured, MeasuredError};
pub use unit::{Amount, Dimension, MeasureUnit, TemperatureUnit};
