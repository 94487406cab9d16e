//! The trade's quantities: what the technician acts on.

mod adapter;
mod date;
mod drawing;
mod exact;
mod fasteners;
mod fit;
mod pattern;
mod reading;
mod size;
mod spiral;
mod support;
mod tools;
mod torque;
mod waiting;

pub use adapter::{AdapterArm, AdapterError};
pub use date::{Date, DateError};
pub use drawing::{array_drawing, circle_drawing};
pub use fasteners::{
    Agreement, ClampError, ClassError, HexSeries, NutFactor, Plausibility, PropertyClass, Slip,
    Thread, ThreadError, UnusualShare, across_flats, agreement, clamp_load, plausibility,
    torque_for_clamp_load,
};
pub use fit::{Fit, fit};
pub use pattern::{Pattern, clock_position};
pub use reading::{
    Amount, Dimension, Limit, LimitError, MeasureUnit, Measured, MeasuredError, Verdict,
};
pub use size::{DriveShape, Size, SizeError};
pub use spiral::{Place, RectangularArray};
pub use support::{Figure, GivenBy, Rating, StandLoad, Support, SupportError, SupportVerdict};
pub use tools::{
    Accuracy, AccuracyError, Adapter, Choice, Depth, NoWrench, Owned, Scale, ScaleError,
    SettingError, SizedTool, ToolKind, Tools, ToolsProblem, ToolsProblems, TorqueWrench,
    Unsuitable, Warning,
};
pub use torque::{
    Finish, Limits, NEWTON_METRES_PER_KILOGRAM_FORCE_METRE, NEWTON_METRES_PER_POUND_FOOT, Pass,
    PassEnd, RunningTorqueError, SpokenTorque, Stage, StageError, Stretch, Tightening, TorqueError,
    TorqueSpec, TorqueSpecError, TorqueUnit, TorqueValue, with_running_torque,
};
pub use waiting::{WaitingError, WaitingTable};
