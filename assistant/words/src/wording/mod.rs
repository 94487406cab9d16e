//! Written sentences to spoken words, so that a voice has nothing to guess.
//!
//! A sentence is written as in a handbook ("Tighten the 5 wheel nuts to 103 lbf·ft (140 N·m), 21 mm hex.").
//! [`spoken`] turns every number, unit and sign into words; [`spoken_slowly`] says numbers digit by digit.
//! Punctuation that makes a pause is kept. No digit, unit symbol or sign is left over: what has no words of
//! its own is left out.
//!
//! ```
//! use steps::Language::{English, Spanish};
//! use words::wording::{spoken, spoken_slowly};
//!
//! assert_eq!(spoken(English, "M14x1.5, 0.05 mm"), "M fourteen by one point five, zero point zero five millimetres");
//! assert_eq!(spoken_slowly(English, "103 lbf·ft (140 N·m)"), "one zero three, foot-pounds, one four zero, newton metres");
//! assert_eq!(
//!     spoken(Spanish, "Apriete las 21 tuercas a 140 N·m."),
//!     "Apriete las veintiuna tuercas a ciento cuarenta newton metro.",
//! );
//! ```
//!
//! # Why write a sentence down first?
//!
//! The job writes “103 lbf·ft (140 N·m)”, and that is what the screen shows. Here it becomes words, so that no voice
//! has to guess how a unit or a number is read.

mod as_it_sounds;
mod numerals;
mod scan;
mod signs;
mod spanish;
mod tidy;
mod units;

pub use as_it_sounds::as_it_sounds;
pub use units::unit_words;

use steps::Language;

/// How numbers are said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pace {
    Usual,
    DigitByDigit,
}

/// The sentence in words.
pub fn spoken(language: Language, written: &str) -> String {
    scan::in_words(written, Pace::Usual, language)
}

/// The sentence in words, each number digit by digit, and apart from its unit: "one zero three, foot-pounds".
pub fn spoken_slowly(language: Language, written: &str) -> String {
    scan::in_words(written, Pace::DigitByDigit, language)
}
