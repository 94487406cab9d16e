//! The trade's quantities: what the technician acts on.
//!
//! Pure arithmetic: one module for each formula, which names its source; nothing here reads a file or a clock. Numbers
//! that come from a source keep their digits and unit; everything in between is a quantity of its own type. A value
//! outside a formula's bounds is refused, never guessed.
//!
//! ```
//! use steps::quantity::{Tools, TorqueSpec};
//!
//! let tools = Tools::read(
//!     r#"
//!     [[torque_wrench]]
//!     name = "half-inch click wrench"
//!     scale = "20–150 lbf·ft"
//!     step = "1 lbf·ft"
//!     length = "18 in"
//!     calibration_due = "2027-03-31"
//!     "#,
//! )?;
//! let wheel_nuts: TorqueSpec = "140 ± 10 N·m".parse()?;
//! let choice = tools.wrench_for(wheel_nuts, None, "2026-11-25".parse()?)?;
//! assert_eq!(choice.setting.to_string(), "103 lbf·ft (140 N·m)");
//! assert!(choice.warnings.is_empty());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod adapter;
mod date;
mod exact;
mod fasteners;
mod fit;
mod pattern;
mod reading;
mod settling;
mod size;
mod spiral;
mod stand_load;
mod tools;
mod torque;
mod waiting;

pub use adapter::{AdapterArm, AdapterError};
pub use date::{Date, DateError};
pub use fasteners::{
    Agreement, ClampError, HexSeries, MetricThread, NutClass, NutFactor, Plausibility,
    PlausibilityError, PropertyClass, SaeGrade, Series, Slip, Strength, StrengthError, Thread,
    ThreadError, UnifiedThread, UnusualShare, across_flats, agreement, clamp_load, plausibility,
    torque_for_clamp_load,
};
pub use fit::{Fit, fit};
pub use pattern::{Pattern, clock_position};
pub use reading::{
    Amount, Dimension, Limit, LimitError, MeasureUnit, Measured, MeasuredError, TemperatureUnit,
    Verdict,
};
pub use settling::{DistanceUnit, Settling, SettlingError};
pub use size::{DriveShape, Size, SizeError};
pub use spiral::{Place, RectangularArray};
pub use stand_load::{Figure, GivenBy, Rating, StandLoad, Support, SupportError, SupportVerdict};
pub use tools::{
    Accuracy, AccuracyError, Adapter, Choice, Depth, NoWrench, Owned, Scale, ScaleError,
    SettingError, SizedTool, ToolKind, Toolbox, Tools, ToolsProblem, ToolsProblems, TorqueWrench,
    Unsuitable, Warning,
};
pub use torque::{
    Finish, Limits, NEWTON_METRES_PER_KILOGRAM_FORCE_METRE, NEWTON_METRES_PER_POUND_FOOT, Pass,
    PassEnd, RunningTorqueError, SpokenTorque, Stage, StageError, Stretch, Tightening, TorqueError,
    TorqueSpec, TorqueSpecError, TorqueUnit, TorqueValue, with_running_torque,
};
pub use waiting::{WaitingError, WaitingTable};
