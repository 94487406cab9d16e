//! How far a torque wrench may be off.

use crate::Decimal;
use crate::quantity::TorqueUnit;
use std::fmt;
use std::str::FromStr;
use uom::si::f64::Torque;

/// The error of a torque wrench, as a share of the setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Accuracy {
    /// A setting tool (click wrench) of ISO 6789: ±6 % where its highest torque is up to 10 N·m, ±4 % above (2003
    /// edition, type II, class A). Taken by the setting, the stricter reading for a large wrench set low.
    Iso6789,
    /// So many per cent of the setting, by its certificate; above 0 and up to 20.
    Percent(Decimal),
}

/// A text that names no accuracy.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("“{0}” is no accuracy: write “ISO 6789”, or per cent above 0 and up to 20 such as “3 %”")]
pub struct AccuracyError(pub String);

impl Accuracy {
    /// The largest error at a setting as a share of it: 0.04 for 4 %.
    pub fn share(self, setting: Torque) -> f64 {
        match self {
            Self::Iso6789 if TorqueUnit::NewtonMetre.of(setting) <= 10.0 => 0.06,
            Self::Iso6789 => 0.04,
            Self::Percent(percent) => percent.to_f64() / 100.0,
        }
    }
}

impl FromStr for Accuracy {
    type Err = AccuracyError;

    fn from_str(text: &str) -> Result<Self, AccuracyError> {
        let refused = || AccuracyError(text.to_owned());
        let trimmed = text.trim();
        if trimmed.eq_ignore_ascii_case("ISO 6789") {
            return Ok(Self::Iso6789);
        }
        let number = trimmed.strip_suffix('%').ok_or_else(refused)?;
        let number = number.trim().trim_start_matches('±').trim();
        let percent: Decimal = number.parse().map_err(|_| refused())?;
        let fits = percent.to_f64() > 0.0 && percent.to_f64() <= 20.0;
        fits.then_some(Self::Percent(percent)).ok_or_else(refused)
    }
}

impl fmt::Display for Accuracy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Iso6789 => f.write_str("ISO 6789"),
            Self::Percent(percent) => write!(f, "± {percent} %"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 6789:2003, type II, class A.
    #[test]
    fn click_wrenches_have_six_and_four_per_cent() {
        let share = |nm: f64| Accuracy::Iso6789.share(TorqueUnit::NewtonMetre.torque(nm));
        assert_eq!(
            [share(5.0), share(10.0), share(10.1), share(200.0)],
            [0.06, 0.06, 0.04, 0.04]
        );
        assert_eq!("± 3 %".parse(), Ok(Accuracy::Percent("3".parse().unwrap())));
        assert_eq!("iso 6789".parse(), Ok(Accuracy::Iso6789));
        for text in ["", "3", "0 %", "-3 %", "30 %", "good"] {
            assert!(text.parse::<Accuracy>().is_err(), "{text}");
        }
    }
}
