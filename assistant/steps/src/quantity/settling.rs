//! When a joint that has settled is tightened once more.

use crate::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use std::time::Duration;

/// After what a group of fasteners is tightened a second time: coats and gaskets settle, and clamp load is lost
/// (common practice, no source; when and whether is the maker's to say).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Settling {
    /// After so many minutes.
    Minutes(u32),
    /// After so much driving.
    Distance(Decimal, DistanceUnit),
}

/// What a drive is counted in.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum DistanceUnit {
    /// Kilometre.
    Kilometre,
    /// Mile.
    Mile,
}

/// A text that names no settling.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "“{0}” is no time or distance after which a joint has settled, such as “30 minutes”, “24 hours”, “50 km”"
)]
pub struct SettlingError(pub String);

/// The longest wait, in minutes: a week.
const LONGEST: u32 = 7 * 24 * 60;

impl Settling {
    /// The wait, where it is one.
    pub fn wait(self) -> Option<Duration> {
        match self {
            Self::Minutes(minutes) => Some(Duration::from_secs(u64::from(minutes) * 60)),
            Self::Distance(..) => None,
        }
    }
}

impl FromStr for Settling {
    type Err = SettlingError;

    fn from_str(text: &str) -> Result<Self, SettlingError> {
        let refused = || SettlingError(text.to_owned());
        let (number, unit) = text.trim().split_once(' ').ok_or_else(refused)?;
        let value: Decimal = number.parse().map_err(|_| refused())?;
        let minutes = |each: u32| {
            let whole: u32 = number.parse().ok()?;
            let minutes = whole.checked_mul(each)?;
            (1..=LONGEST)
                .contains(&minutes)
                .then_some(Self::Minutes(minutes))
        };
        let distance = |unit| {
            let fits = value.to_f64() > 0.0 && value.to_f64() <= 10_000.0;
            fits.then_some(Self::Distance(value, unit))
        };
        match unit.trim() {
            "minute" | "minutes" | "min" => minutes(1),
            "hour" | "hours" | "h" => minutes(60),
            "km" | "kilometre" | "kilometres" => distance(DistanceUnit::Kilometre),
            "mile" | "miles" => distance(DistanceUnit::Mile),
            _ => None,
        }
        .ok_or_else(refused)
    }
}

impl fmt::Display for Settling {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Minutes(1) => f.write_str("1 minute"),
            Self::Minutes(60) => f.write_str("1 hour"),
            Self::Minutes(minutes) if minutes.is_multiple_of(60) => {
                write!(f, "{} hours", minutes / 60)
            }
            Self::Minutes(minutes) => write!(f, "{minutes} minutes"),
            Self::Distance(value, DistanceUnit::Kilometre) => write!(f, "{value} km"),
            Self::Distance(value, DistanceUnit::Mile) => write!(f, "{value} miles"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_distances_are_read_and_no_others() {
        for (text, written) in [
            ("30 minutes", "30 minutes"),
            ("24 hours", "24 hours"),
            ("60 min", "1 hour"),
            ("50 km", "50 km"),
            ("100 miles", "100 miles"),
        ] {
            assert_eq!(text.parse::<Settling>().unwrap().to_string(), written);
        }
        for text in [
            "",
            "50",
            "0 km",
            "-5 km",
            "50 N·m",
            "8 days",
            "9999 hours",
            "1.5 minutes",
        ] {
            assert!(text.parse::<Settling>().is_err(), "{text}");
        }
    }
}
