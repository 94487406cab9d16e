//! Written sentences to spoken words, so that a voice has nothing to guess.
//!
//! A sentence is written as in a handbook ("Tighten the 5 wheel nuts to 103 lbf·ft (140 N·m), 21 mm hex.").
//! [`spoken`] turns every number, unit and sign into words; [`spoken_slowly`] says numbers digit by digit.
//! Punctuation that makes a pause is kept. No digit, unit symbol or sign is left over: what has no words of
//! its own is left out.
//!
//! ```
//! use words::wording::{spoken, spoken_slowly};
//!
//! assert_eq!(spoken("M14x1.5, 0.05 mm"), "M fourteen by one point five, zero point zero five millimetres");
//! assert_eq!(spoken_slowly("103 lbf·ft (140 N·m)"), "one zero three, foot-pounds, one four zero, newton metres");
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
pub use units::{unit_words, unit_words_in};

use steps::Language;

/// How numbers are said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pace {
    Usual,
    DigitByDigit,
}

/// The sentence in words.
pub fn spoken(written: &str) -> String {
    spoken_in(Language::English, written)
}

/// [`spoken`] of a sentence in a language.
///
/// ```
/// use steps::Language;
/// use words::wording::spoken_in;
///
/// assert_eq!(
///     spoken_in(Language::Spanish, "Apriete las 21 tuercas a 140 N·m."),
///     "Apriete las veintiuna tuercas a ciento cuarenta newton metro.",
/// );
/// ```
pub fn spoken_in(language: Language, written: &str) -> String {
    scan::in_words(written, Pace::Usual, language)
}

/// The sentence in words, each number digit by digit, and apart from its unit: "one zero three, foot-pounds".
pub fn spoken_slowly(written: &str) -> String {
    spoken_slowly_in(Language::English, written)
}

/// [`spoken_slowly`] of a sentence in a language.
pub fn spoken_slowly_in(language: Language, written: &str) -> String {
    scan::in_words(written, Pace::DigitByDigit, language)
}
