//! What may be said, and how values are said.
//!
//! This crate turns words into meaning and values into words. It reads the grammars of what a technician
//! can say ([`jsgf`]), knows spoken numbers both ways ([`number`]), writes out sentences so that a voice has
//! nothing to guess ([`wording`]), lists what sounds like a readback without being one ([`decoys`]), and
//! puts all of it together for the state that a job is in ([`now`]).
//!
//! It refuses to guess: what isn't in the grammar is not understood, a number that could be read in two
//! ways is not a number, and nothing here opens a gate. It does no input or output.
//!
//! ```
//! use steps::Language::English;
//! use words::{number, wording};
//!
//! let heard = number::read(English, "one seventy three point five")?;
//! assert_eq!(heard.to_string(), "173.5");
//! assert_eq!(
//!     wording::spoken(English, "Tighten to 103 lbf·ft, 21 mm hex."),
//!     "Tighten to one hundred and three foot-pounds, twenty-one millimetre hex.",
//! );
//! # Ok::<(), number::NotANumber>(())
//! ```

pub mod decoys;
pub mod jsgf;
pub mod note;
pub mod now;
pub mod number;
mod said;
pub mod sound;
pub mod wording;
