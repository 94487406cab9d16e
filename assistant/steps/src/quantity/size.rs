//! Sizes of drives: what socket or spanner fits.

use crate::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uom::si::f64::Length;
use uom::si::length::{inch, millimeter};

/// The form of a fastener's drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DriveShape {
    /// Outside hexagon, width across flats.
    Hex,
    /// Hexagon socket, width across flats.
    HexSocket,
    /// Twelve points, width across flats.
    TwelvePoint,
    /// Six-lobe socket of ISO 10664; its size is a number.
    SixLobe,
    /// A slotted or castellated nut.
    Slotted,
}

impl DriveShape {
    /// Its name in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Self::Hex => "hex",
            Self::HexSocket => "hex key",
            Self::TwelvePoint => "twelve-point",
            Self::SixLobe => "six-lobe",
            Self::Slotted => "slotted",
        }
    }
}

/// A size as its source gives it: millimetres, a fraction of an inch, or a six-lobe number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Size {
    /// Millimetres.
    Millimetres(Decimal),
    /// A fraction of an inch: numerator, denominator.
    InchFraction(u16, u16),
    /// Size number of a six-lobe drive (ISO 10664), without a unit.
    Number(u16),
}

/// A text that isn't a size.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("“{0}” is not a size such as “21 mm”, “3/4 in” or, for a six-lobe drive, “30”")]
pub struct SizeError(pub String);

impl Size {
    /// The width, where the size is one.
    pub fn length(self) -> Option<Length> {
        match self {
            Self::Millimetres(width) => Some(Length::new::<millimeter>(width.to_f64())),
            Self::InchFraction(a, b) => Some(Length::new::<inch>(f64::from(a) / f64::from(b))),
            Self::Number(_) => None,
        }
    }
}

impl FromStr for Size {
    type Err = SizeError;

    fn from_str(text: &str) -> Result<Self, SizeError> {
        let refused = || SizeError(text.to_owned());
        let text = text.trim();
        if let Some(width) = text.strip_suffix("mm") {
            let width: Decimal = width.trim().parse().map_err(|_| refused())?;
            let fits = width.to_f64() > 0.0 && width.to_f64() <= 200.0;
            return fits.then_some(Self::Millimetres(width)).ok_or_else(refused);
        }
        if let Some(width) = text.strip_suffix("in") {
            let (a, b) = width.trim().split_once('/').ok_or_else(refused)?;
            let a: u16 = a.trim().parse().map_err(|_| refused())?;
            let b: u16 = b.trim().parse().map_err(|_| refused())?;
            let fits = a > 0 && [2, 4, 8, 16, 32, 64].contains(&b) && a < 8 * b;
            return fits.then_some(Self::InchFraction(a, b)).ok_or_else(refused);
        }
        let number: u16 = text.parse().map_err(|_| refused())?;
        (1..=100)
            .contains(&number)
            .then_some(Self::Number(number))
            .ok_or_else(refused)
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Millimetres(width) => write!(f, "{width} mm"),
            Self::InchFraction(a, b) => write!(f, "{a}/{b} in"),
            Self::Number(number) => write!(f, "size {number}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_as_they_are_written() {
        for text in ["21 mm", "3/4 in", "5.5 mm"] {
            assert_eq!(text.parse::<Size>().unwrap().to_string(), text);
        }
        assert_eq!("30".parse::<Size>().unwrap(), Size::Number(30));
        for text in [
            "", "mm", "0 mm", "3/5 in", "1/0 in", "21 cm", "9/1 in", "-4 mm",
        ] {
            assert!(text.parse::<Size>().is_err(), "{text}");
        }
    }

    #[test]
    fn three_quarters_of_an_inch_is_nearly_nineteen_millimetres() {
        let width = "3/4 in".parse::<Size>().unwrap().length().unwrap();
        assert!((width.get::<millimeter>() - 19.05).abs() < 1e-9);
    }
}
