//! Torque: units as the trade writes them, exact conversion, and a value that suits a wrench's scale.

use crate::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uom::si::f64::Torque;
use uom::si::torque::newton_meter;

/// Newton metres in one pound-force foot: 0.45359237 kg × 9.80665 m/s² × 0.3048 m, exactly (international
/// pound and foot, standard gravity; NIST SP 811, Appendix B). `uom` rounds its own factor to seven
/// digits, so conversion goes through this one.
pub const NEWTON_METRES_PER_POUND_FOOT: f64 = 1.355_817_948_331_400_4;

/// The units in which a torque is given or a wrench is marked.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
pub enum TorqueUnit {
    /// Newton metre.
    #[serde(rename = "N·m")]
    NewtonMetre,
    /// Pound-force foot, "foot-pound" in the shop.
    #[serde(rename = "lbf·ft")]
    PoundFoot,
    /// Pound-force inch, "inch-pound" in the shop: a twelfth of a pound-force foot.
    #[serde(rename = "lbf·in")]
    PoundInch,
    /// Kilogram-force metre: 9.80665 N·m exactly.
    #[serde(rename = "kgf·m")]
    KilogramForceMetre,
}

impl TorqueUnit {
    /// All units, for tables.
    pub const ALL: [Self; 4] = [
        Self::NewtonMetre,
        Self::PoundFoot,
        Self::PoundInch,
        Self::KilogramForceMetre,
    ];

    /// The unit's symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::NewtonMetre => "N·m",
            Self::PoundFoot => "lbf·ft",
            Self::PoundInch => "lbf·in",
            Self::KilogramForceMetre => "kgf·m",
        }
    }

    /// How many newton metres one of it is.
    pub fn newton_metres(self) -> f64 {
        match self {
            Self::NewtonMetre => 1.0,
            Self::PoundFoot => NEWTON_METRES_PER_POUND_FOOT,
            Self::PoundInch => NEWTON_METRES_PER_POUND_FOOT / 12.0,
            Self::KilogramForceMetre => 9.806_65,
        }
    }

    /// A quantity of so many of this unit.
    pub fn torque(self, value: f64) -> Torque {
        Torque::new::<newton_meter>(value * self.newton_metres())
    }

    /// How many of this unit a quantity is.
    pub fn of(self, torque: Torque) -> f64 {
        torque.get::<newton_meter>() / self.newton_metres()
    }
}

impl fmt::Display for TorqueUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

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
    #[error("a torque lies above nought and below 10 000 N·m")]
    Range,
}

impl TorqueValue {
    /// The quantity.
    pub fn quantity(self) -> Torque {
        self.unit.torque(self.value.to_f64())
    }

    /// A share of it, for a pass that goes to so many per cent; rounded to a whole unit, or to a tenth
    /// below 20.
    pub fn percent(self, percent: u8) -> Self {
        let value = self.value.to_f64() * f64::from(percent) / 100.0;
        let places = if value < 20.0 { 1 } else { 0 };
        let value = Decimal::nearest(value, places)
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
        let set = [(5.0, 0), (1.0, 0), (0.5, 1), (0.1, 1), (0.05, 2), (0.01, 2)]
            .into_iter()
            .map(|(step, places)| ((exact / step).round() * step, places))
            .find(|(rounded, _)| (rounded - exact).abs() <= 0.01 * exact)
            .and_then(|(rounded, places)| Decimal::nearest(rounded, places))
            .or_else(|| Decimal::nearest(exact, 3));
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
        let unit = match unit {
            "" => return Err(TorqueError::NoUnit),
            "N·m" | "Nm" | "N m" | "N.m" => TorqueUnit::NewtonMetre,
            "lbf·ft" | "lbf ft" | "ft·lbf" | "lb·ft" | "ft-lb" => TorqueUnit::PoundFoot,
            "lbf·in" | "lbf in" | "in·lbf" | "lb·in" | "in-lb" => TorqueUnit::PoundInch,
            "kgf·m" | "kgf m" | "kg·m" => TorqueUnit::KilogramForceMetre,
            other => return Err(TorqueError::Unit(other.to_owned())),
        };
        let it = Self { value, unit };
        let newton_metres = it.quantity().get::<newton_meter>();
        if newton_metres > 0.0 && newton_metres < 10_000.0 {
            Ok(it)
        } else {
            Err(TorqueError::Range)
        }
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

    /// NIST SP 811, Appendix B: the factor is a product of three exact definitions.
    #[test]
    fn the_pound_foot_is_exact() {
        let product = 0.453_592_37_f64 * 9.806_65 * 0.3048;
        assert!((product - NEWTON_METRES_PER_POUND_FOOT).abs() < 1e-15);
    }

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
            tenths in 10i64..9_000, from in 0usize..4, to in 0usize..4
        ) {
            let (from, to) = (TorqueUnit::ALL[from], TorqueUnit::ALL[to]);
            let source = TorqueValue { value: Decimal::new(tenths, 1).unwrap(), unit: from };
            let told = source.on_a_scale_of(to);
            let share = told.set.quantity() / source.quantity();
            prop_assert!((f64::from(share) - 1.0).abs() <= 0.010_000_001, "{told}");
            prop_assert_eq!(told.set.unit, to);
        }

        #[test]
        fn no_text_makes_it_panic(text in ".{0,20}") {
            let _ = text.parse::<TorqueValue>();
        }
    }
}
