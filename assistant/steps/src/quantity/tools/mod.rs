//! The technician's own tools, read from a tools file, and what they can do.

mod accuracy;
mod choose;
mod file;
mod problem;
mod setting;
mod sizes;
mod toolbox;
mod wrench;

pub use accuracy::{Accuracy, AccuracyError};
pub use choose::{Choice, NoWrench, Unsuitable, Warning};
pub use problem::{ToolsProblem, ToolsProblems};
pub use setting::SettingError;
pub use sizes::{Depth, Owned, SizedTool, ToolKind};
pub use toolbox::Toolbox;
pub use wrench::{Adapter, Scale, ScaleError, TorqueWrench};

/// What the technician owns, checked.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tools {
    /// Torque wrenches.
    pub wrenches: Vec<TorqueWrench>,
    /// Sockets, spanners, keys and bits.
    pub sized: Vec<SizedTool>,
    /// Adapters for torque wrenches.
    pub adapters: Vec<Adapter>,
}

impl Tools {
    /// Reads a tools file (TOML). Everything wrong with it is named at once.
    ///
    /// # Errors
    /// [`ToolsProblems`], each with its line, place, what is wrong and what to do.
    pub fn read(text: &str) -> Result<Self, ToolsProblems> {
        file::read(text)
    }
}
