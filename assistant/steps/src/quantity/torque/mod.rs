//! Torque: its units, values as sources give them, tolerances, stages, and what is set on a wrench.

mod running;
mod spec;
mod stages;
mod unit;
mod value;

pub use running::{RunningTorqueError, with_running_torque};
pub use spec::{Limits, TorqueSpec, TorqueSpecError};
pub use stages::{Finish, Pass, PassEnd, Stage, StageError, Stretch, Tightening};
pub use unit::{NEWTON_METRES_PER_KILOGRAM_FORCE_METRE, NEWTON_METRES_PER_POUND_FOOT, TorqueUnit};
pub use value::{SpokenTorque, TorqueError, TorqueValue};
