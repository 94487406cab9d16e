//! Spoken numbers, both ways and exactly: English ones, and by the functions in `_in` those of any language.
//!
//! [`read`] takes what a person says for a value: "one seven three", "one seventy-three", "a hundred and
//! seventy-three", "seventeen point five", "nineteen oh five", "three eighths". [`spell`] and
//! [`spell_digits`] say a value. [`spoken_variants`] and [`written_variants`] list how a value may be said,
//! and how whoever writes down what was said may write it. Values are decimals, never binary fractions:
//! 0.1 is 0.1. A unit after the number is for the caller to take off.
//!
//! ```
//! use words::number;
//!
//! let value = number::read("one seven three point five")?;
//! assert_eq!(number::spell(value), "one hundred and seventy-three point five");
//! assert_eq!(number::spell_digits(value), "one seven three point five");
//! assert!(number::written_variants(value).contains(&"173.5".to_owned()));
//! # Ok::<(), number::NotANumber>(())
//! ```

mod names;
mod read;
pub(crate) mod spanish;
mod spell;
mod variants;

use steps::{Decimal, Language};

pub use read::{NotANumber, read};
pub use spell::{ordinal, spell, spell_digits};
pub use variants::{spoken_variants, written_variants};

pub(crate) use spell::{cardinal, digit_by_digit};

/// [`read()`] in a language.
///
/// ```
/// use steps::Language;
/// use words::number;
///
/// let value = number::read_in(Language::Spanish, "ciento setenta y tres coma cinco")?;
/// assert_eq!(value.to_string(), "173.5");
/// assert_eq!(number::spell_in(Language::Spanish, value), "ciento setenta y tres coma cinco");
/// # Ok::<(), number::NotANumber>(())
/// ```
///
/// # Errors
/// When the words aren't one number of that language.
pub fn read_in(language: Language, text: &str) -> Result<Decimal, NotANumber> {
    match language {
        Language::English => read(text),
        Language::Spanish => spanish::read(text),
    }
}

/// [`spell`] in a language.
pub fn spell_in(language: Language, value: Decimal) -> String {
    match language {
        Language::English => spell(value),
        Language::Spanish => spanish::spell(value),
    }
}

/// [`spell_digits`] in a language.
pub fn spell_digits_in(language: Language, value: Decimal) -> String {
    match language {
        Language::English => spell_digits(value),
        Language::Spanish => spanish::spell_digits(value),
    }
}

/// [`spoken_variants`] in a language.
pub fn spoken_variants_in(language: Language, value: Decimal) -> Vec<String> {
    match language {
        Language::English => spoken_variants(value),
        Language::Spanish => spanish::spoken_variants(value),
    }
}

/// [`written_variants`] in a language.
pub fn written_variants_in(language: Language, value: Decimal) -> Vec<String> {
    match language {
        Language::English => written_variants(value),
        Language::Spanish => spanish::written_variants(value),
    }
}

/// The digits of a figure one by one, in a language.
pub(crate) fn digits_in(language: Language, digits: &str) -> String {
    match language {
        Language::English => digit_by_digit(digits),
        Language::Spanish => spanish::digit_by_digit(digits),
    }
}
