//! Numbers as they are said and written: exact decimals, no binary fractions.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

/// An exact decimal number: `digits` × 10^−`places`. 21.40 keeps its last nought, since a technician who
/// says it means it; comparison ignores it.
#[derive(Debug, Clone, Copy)]
pub struct Decimal {
    digits: i64,
    places: u8,
}

/// The most decimal places a number may have.
pub const MAX_PLACES: u8 = 6;

/// A text that isn't a decimal number that can be held exactly.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("“{0}” is not a decimal number with at most 12 digits, 6 of them after the point")]
pub struct NotADecimal(pub String);

impl Decimal {
    /// `digits` × 10^−`places`; `None` beyond 12 digits or [`MAX_PLACES`] places.
    pub fn new(digits: i64, places: u8) -> Option<Self> {
        (places <= MAX_PLACES && digits.unsigned_abs() < 1_000_000_000_000)
            .then_some(Self { digits, places })
    }

    /// All digits as one whole number.
    pub fn digits(self) -> i64 {
        self.digits
    }

    /// How many of the digits stand after the point.
    pub fn places(self) -> u8 {
        self.places
    }

    /// The nearest binary number, for arithmetic whose result is rounded again.
    pub fn to_f64(self) -> f64 {
        self.digits as f64 / 10f64.powi(i32::from(self.places))
    }

    /// The decimal nearest to a number at so many places; `None` when it can't be held.
    pub fn nearest(value: f64, places: u8) -> Option<Self> {
        let scaled = (value * 10f64.powi(i32::from(places))).round();
        (scaled.is_finite() && scaled.abs() < 1e12).then(|| Self::new(scaled as i64, places))?
    }

    /// The same number without noughts at its end.
    pub fn trimmed(self) -> Self {
        let mut it = self;
        while it.places > 0 && it.digits % 10 == 0 {
            it = Self {
                digits: it.digits / 10,
                places: it.places - 1,
            };
        }
        it
    }

    fn scaled(self) -> i128 {
        i128::from(self.digits) * 10i128.pow(u32::from(MAX_PLACES - self.places))
    }
}

impl PartialEq for Decimal {
    fn eq(&self, other: &Self) -> bool {
        self.scaled() == other.scaled()
    }
}
impl Eq for Decimal {}
impl std::hash::Hash for Decimal {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.scaled().hash(state);
    }
}
impl PartialOrd for Decimal {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Decimal {
    fn cmp(&self, other: &Self) -> Ordering {
        self.scaled().cmp(&other.scaled())
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.digits < 0 { "−" } else { "" };
        let all = self.digits.unsigned_abs().to_string();
        let places = usize::from(self.places);
        if places == 0 {
            return write!(f, "{sign}{all}");
        }
        let all = format!("{all:0>width$}", width = places + 1);
        let (whole, fraction) = all.split_at(all.len() - places);
        write!(f, "{sign}{whole}.{fraction}")
    }
}

impl FromStr for Decimal {
    type Err = NotADecimal;

    fn from_str(text: &str) -> Result<Self, NotADecimal> {
        let refused = || NotADecimal(text.to_owned());
        let (sign, unsigned) = match text.strip_prefix(['-', '−']) {
            Some(rest) => (-1, rest),
            None => (1, text),
        };
        let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, ""));
        let digits = format!("{whole}{fraction}");
        let ends_in_point = unsigned.ends_with('.');
        if digits.is_empty() || ends_in_point || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return Err(refused());
        }
        let places = u8::try_from(fraction.len()).map_err(|_| refused())?;
        let digits: i64 = digits.parse().map_err(|_| refused())?;
        Self::new(sign * digits, places).ok_or_else(refused)
    }
}

impl Serialize for Decimal {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.to_string().replace('−', "-"))
    }
}

impl<'de> Deserialize<'de> for Decimal {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_the_last_nought_but_compares_without() {
        let a: Decimal = "21.40".parse().unwrap();
        assert_eq!(a.to_string(), "21.40");
        assert_eq!(a, "21.4".parse().unwrap());
        assert_eq!(a.trimmed().to_string(), "21.4");
    }

    #[test]
    fn refuses_what_is_no_number() {
        for text in [
            "",
            ".",
            "1.",
            "1.2.3",
            "1e3",
            "ten",
            "0.1234567",
            "9999999999999",
            "--1",
        ] {
            assert!(text.parse::<Decimal>().is_err(), "{text}");
        }
    }

    #[test]
    fn small_and_negative_numbers_are_written_whole() {
        assert_eq!(Decimal::new(5, 2).unwrap().to_string(), "0.05");
        assert_eq!("-0.5".parse::<Decimal>().unwrap().to_string(), "−0.5");
        assert_eq!(".5".parse::<Decimal>().unwrap().to_string(), "0.5");
    }
}
