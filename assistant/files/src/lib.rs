//! The files that a user names: read without surprises, and written whole or not at all.
//!
//! A name may lead anywhere: to a pipe that nobody writes to, a device that never ends, a link to somebody else's file.
//! [`read`] opens first and then looks at what it has opened, so nothing can be swapped in between. [`Output`] writes
//! beside the place and renames, so a place never holds half a file, and nothing but a plain file is ever replaced.
//!
//! ```
//! # let folder = tempfile::tempdir()?;
//! # let path = folder.path().join("report.csv");
//! files::write(&path, b"step,torque\n", files::IfThere::Refuse)?;
//! assert_eq!(files::read_text(&path, 1_000)?, "step,torque\n");
//! assert!(files::write(&path, b"", files::IfThere::Refuse).is_err());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod error;
mod input;
mod output;

pub use error::FileError;
pub use input::{open, read, read_below, read_text};
pub use output::{IfThere, Output, check_place, write};
