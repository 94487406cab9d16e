//! Spoken English numbers, both ways and exactly.
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
mod spell;
mod variants;

pub use read::{NotANumber, read};
pub use spell::{ordinal, spell, spell_digits};
pub use variants::{spoken_variants, written_variants};

pub(crate) use spell::{cardinal, digit_by_digit};
