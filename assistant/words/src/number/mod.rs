//! Spoken numbers, both ways and exactly.
//!
//! [`read()`] takes what a person says for a value: "one seven three", "one seventy-three", "a hundred and
//! seventy-three", "seventeen point five", "nineteen oh five", "three eighths". [`spell()`] and
//! [`spell_digits`] say a value. [`spoken_variants`] and [`written_variants`] list how a value may be said,
//! and how whoever writes down what was said may write it. Values are decimals, never binary fractions:
//! 0.1 is 0.1. A unit after the number is for the caller to take off.
//!
//! ```
//! use steps::Language::{English, Spanish};
//! use words::number;
//!
//! let value = number::read(English, "one seven three point five")?;
//! assert_eq!(number::spell(English, value), "one hundred and seventy-three point five");
//! assert_eq!(number::spell_digits(English, value), "one seven three point five");
//! assert!(number::written_variants(English, value).contains(&"173.5".to_owned()));
//! assert_eq!(number::read(Spanish, "ciento setenta y tres coma cinco")?, value);
//! assert_eq!(number::spell(Spanish, value), "ciento setenta y tres coma cinco");
//! # Ok::<(), number::NotANumber>(())
//! ```

mod names;
mod read;
pub(crate) mod spanish;
mod spell;
mod variants;

use steps::{Decimal, Language};

pub use read::NotANumber;
pub use spell::ordinal;

pub(crate) use spell::{cardinal, digit_by_digit};

/// The value of a spoken number. Hyphens, commas and case don't matter; the text may hold nothing else.
/// Noughts after the last decimal place are kept as said.
///
/// # Errors
/// When the words aren't one number of that language, or one beyond twelve digits or six decimal places.
pub fn read(language: Language, text: &str) -> Result<Decimal, NotANumber> {
    match language {
        Language::English => read::read(text),
        Language::Spanish => spanish::read(text),
    }
}

/// The value in words as it is usually said; in English with hyphens, as in Britain: "one hundred and
/// seventy-three point five". Noughts after the last decimal place are said too.
pub fn spell(language: Language, value: Decimal) -> String {
    match language {
        Language::English => spell::spell(value),
        Language::Spanish => spanish::spell(value),
    }
}

/// The value digit by digit: "one seven three point five".
pub fn spell_digits(language: Language, value: Decimal) -> String {
    match language {
        Language::English => spell::spell_digits(value),
        Language::Spanish => spanish::spell_digits(value),
    }
}

/// How the value may be said, in lower case without punctuation, the usual way first; each reads back as
/// this value. At most 64.
pub fn spoken_variants(language: Language, value: Decimal) -> Vec<String> {
    match language {
        Language::English => variants::spoken_variants(value),
        Language::Spanish => spanish::spoken_variants(value),
    }
}

/// How the value may be written by whoever writes down what was said, the usual way first: "173",
/// "1, 7, 3", "one hundred and seventy-three". Case and a final full stop are left to the reader.
/// At most 40.
pub fn written_variants(language: Language, value: Decimal) -> Vec<String> {
    match language {
        Language::English => variants::written_variants(value),
        Language::Spanish => spanish::written_variants(value),
    }
}

/// The digits of a figure, one by one.
pub(crate) fn digits(language: Language, digits: &str) -> String {
    match language {
        Language::English => digit_by_digit(digits),
        Language::Spanish => spanish::digit_by_digit(digits),
    }
}
