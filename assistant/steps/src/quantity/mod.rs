//! The trade's quantities: what the technician acts on.

mod pattern;
mod size;
mod torque;

pub use pattern::{Pattern, clock_position};
pub use size::{DriveShape, Size, SizeError};
pub use torque::{
    NEWTON_METRES_PER_POUND_FOOT, SpokenTorque, TorqueError, TorqueUnit, TorqueValue,
};
