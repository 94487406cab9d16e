//! A torque as its source gives it, and a value that suits a scale.

use super::TorqueUnit;
use crate::{Decimal, decimal::MAX_PLACES};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uom::si::f64::Torque;
use uom::si::torque::newton_meter;

/// A torque as its source gives it: the number, its digits and the unit are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct TorqueValue {
    /// The number; above nought.
    pub value: Decimal,
    /// The source's unit.
    pub unit: TorqueUnit,
}

/// A text that isn't a torque.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TorqueError {
    /// The number stands without a unit.
    #[error("a torque needs its unit")]
    NoUnit,
    /// The unit isn't one of torque.
    #[error("“{0}” is not a unit of torque")]
    Unit(String),
    /// The number can't be read.
    #[error("“{0}” is not a number")]
    Number(String),
    /// The number isn't above nought or over 10 000 N·m.
    #[error("a torque must be above zero and below 10 000 N·m")]
    Range,
}

impl TorqueValue {
    /// A torque above nought and below 10 000 N·m.
    ///
    /// # Errors
    /// [`TorqueError::Range`] for any other.
    pub fn new(value: Decimal, unit: TorqueUnit) -> Result<Self, TorqueError> {
        let it = Self { value, unit };
        let newton_metres = it.quantity().get::<newton_meter>();
        if newton_metres > 0.0 && newton_metres < 10_000.0 {
            Ok(it)
        } else {
            Err(TorqueError::Range)
        }
    }

    /// The quantity.
    pub fn quantity(self) -> Torque {
        self.unit.torque(self.value.to_f64())
    }

    /// A share of it, for a pass that goes to so many per cent; rounded to a whole unit (a tenth below 20)
    /// where that changes it by no more than 1 %, else to as many places as it takes.
    pub fn percent(self, percent: u8) -> Self {
        let exact = self.value.to_f64() * f64::from(percent) / 100.0;
        let fewest = if exact < 20.0 { 1 } else { 0 };
        let value = (fewest..=MAX_PLACES)
            .filter_map(|places| Decimal::nearest(exact, places))
            .find(|rounded| (rounded.to_f64() - exact).abs() <= 0.01 * exact)
            .unwrap_or(self.value)
            .trimmed();
        Self {
            value,
            unit: self.unit,
        }
    }

    /// The value to set on a wrench marked in `unit`: the coarsest of the steps that wrench scales have
    /// (5, 1, 0.5, 0.1, 0.05, 0.01 of the unit) that stays within 1 % of the source's value.
    pub fn on_a_scale_of(self, unit: TorqueUnit) -> SpokenTorque {
        if unit == self.unit {
            return SpokenTorque {
                set: self,
                source: None,
            };
        }
        let exact = unit.of(self.quantity());
        let within = |rounded: f64| (rounded - exact).abs() <= 0.01 * exact;
        let set = [(5.0, 0), (1.0, 0), (0.5, 1), (0.1, 1), (0.05, 2), (0.01, 2)]
            .into_iter()
            .map(|(step, places)| ((exact / step).round() * step, places))
            .find(|(rounded, _)| within(*rounded))
            .and_then(|(rounded, places)| Decimal::nearest(rounded, places))
            .or_else(|| {
                (3..=MAX_PLACES)
                    .filter_map(|places| Decimal::nearest(exact, places))
                    .find(|rounded| within(rounded.to_f64()))
            });
        match set {
            Some(value) => SpokenTorque {
                set: Self { value, unit },
                source: Some(self),
            },
            // Too large or small for the other unit's scale: the source's value stands.
            None => SpokenTorque {
                set: self,
                source: None,
            },
        }
    }
}

impl FromStr for TorqueValue {
    type Err = TorqueError;

    fn from_str(text: &str) -> Result<Self, TorqueError> {
        let text = text.trim();
        let end = text
            .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c == '−'))
            .unwrap_or(text.len());
        let (number, unit) = text.split_at(end);
        let unit = unit.trim();
        let value: Decimal = number
            .parse()
            .map_err(|_| TorqueError::Number(text.to_owned()))?;
        if unit.is_empty() {
            return Err(TorqueError::NoUnit);
        }
        let unit: TorqueUnit = unit.parse()?;
        Self::new(value, unit)
    }
}

impl fmt::Display for TorqueValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}

/// A torque as it is told: the technician's unit first, the source's after it where they differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SpokenTorque {
    /// What to set on the wrench.
    pub set: TorqueValue,
    /// The source's own value, where its unit isn't the wrench's.
    pub source: Option<TorqueValue>,
}

impl fmt::Display for SpokenTorque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.source {
            Some(source) => write!(f, "{} ({source})", self.set),
            None => write!(f, "{}", self.set),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_torque_keeps_the_digits_and_unit_of_its_source() {
        for text in ["140 N·m", "8.50 N·m", "25 lbf·ft", "80 lbf·in", "14 kgf·m"] {
            assert_eq!(text.parse::<TorqueValue>().unwrap().to_string(), text);
        }
    }

    #[test]
    fn what_is_no_torque_says_why() {
        let why = |text: &str| text.parse::<TorqueValue>().unwrap_err();
        assert_eq!(why("140"), TorqueError::NoUnit);
        assert_eq!(why("140 mm"), TorqueError::Unit("mm".into()));
        assert_eq!(why("0 N·m"), TorqueError::Range);
        assert_eq!(why("-5 N·m"), TorqueError::Range);
        assert!(matches!(why("N·m"), TorqueError::Number(_)));
    }

    #[test]
    fn the_technicians_unit_comes_first() {
        let told = |text: &str, unit| {
            text.parse::<TorqueValue>()
                .unwrap()
                .on_a_scale_of(unit)
                .to_string()
        };
        assert_eq!(
            told("140 N·m", TorqueUnit::PoundFoot),
            "103 lbf·ft (140 N·m)"
        );
        assert_eq!(told("140 N·m", TorqueUnit::NewtonMetre), "140 N·m");
        assert_eq!(told("9 N·m", TorqueUnit::PoundInch), "80 lbf·in (9 N·m)");
        assert_eq!(
            told("25 lbf·ft", TorqueUnit::NewtonMetre),
            "34 N·m (25 lbf·ft)"
        );
    }

    proptest! {
        #[test]
        fn the_value_told_is_within_one_per_cent(
            tenths in 10i64..9_000, from in 0usize..6, to in 0usize..6
        ) {
            let (from, to) = (TorqueUnit::ALL[from], TorqueUnit::ALL[to]);
            let source = TorqueValue { value: Decimal::new(tenths, 1).unwrap(), unit: from };
            let told = source.on_a_scale_of(to);
            let share = told.set.quantity() / source.quantity();
            prop_assert!((f64::from(share) - 1.0).abs() <= 0.010_000_001, "{told}");
            prop_assert_eq!(told.set.unit, to);
        }

        #[test]
        fn a_share_is_within_one_per_cent(hundredths in 1i64..900_000, percent in 1u8..=100) {
            let whole = TorqueValue::new(Decimal::new(hundredths, 2).unwrap(), TorqueUnit::NewtonMetre);
            let share = f64::from(whole.clone().unwrap().percent(percent).quantity() / whole.unwrap().quantity());
            prop_assert!((share * 100.0 / f64::from(percent) - 1.0).abs() <= 0.010_000_001);
        }

        #[test]
        fn no_text_makes_it_panic(text in ".{0,20}") {
            let _ = text.parse::<TorqueValue>();
        }
    }
}
