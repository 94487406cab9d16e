//! The trade's quantities: what the technician acts on.

mod adapter;
mod date;
mod exact;
mod pattern;
mod size;
mod torque;

pub use adapter::{AdapterArm, AdapterError};
pub use date::{Date, DateError};
pub use pattern::{Pattern, clock_position};
pub use size::{DriveShape, Size, SizeError};
pub use torque::{
    Finish, Limits, NEWTON_METRES_PER_KILOGRAM_FORCE_METRE, NEWTON_METRES_PER_POUND_FOOT, Pass,
    PassEnd, RunningTorqueError, SpokenTorque, Stage, StageError, Stretch, Tightening, TorqueError,
    TorqueSpec, TorqueSpecError, TorqueUnit, TorqueValue, with_running_torque,
};
