//! A torque with the limits its source gives: alone, as a range, or nominal with a tolerance.

use super::{TorqueError, TorqueUnit, TorqueValue};
use crate::Decimal;
use crate::quantity::exact::{difference, middle, percent_of, sum};
use std::fmt;
use std::str::FromStr;
use uom::si::f64::Torque;

/// The limits as the source words them; the numbers are in the unit of the torque.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Limits {
    /// The source gives none.
    Unstated,
    /// "90–110 N·m": lowest and highest.
    Range(Decimal, Decimal),
    /// "100 ± 10 N·m".
    PlusMinus(Decimal),
    /// "100 +10/−5 N·m": how much above, how much below.
    Uneven(Decimal, Decimal),
    /// "100 N·m ± 10 %".
    Percent(Decimal),
}

/// A torque and its limits. Both limits lie above nought and below 10 000 N·m.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct TorqueSpec {
    target: TorqueValue,
    low: Decimal,
    high: Decimal,
    limits: Limits,
}

/// A text that isn't a torque with limits, or limits that don't fit together.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TorqueSpecError {
    /// The torque itself.
    #[error(transparent)]
    Torque(#[from] TorqueError),
    /// A range whose ends are the wrong way round or the same.
    #[error("the range “{0}” doesn't rise; write the lower torque first")]
    Range(String),
    /// A tolerance that is nought, negative, or as large as the torque.
    #[error("the tolerance “{0}” must be above zero and below the torque itself")]
    Tolerance(String),
}

impl TorqueSpec {
    /// A torque with limits. In a range the target is its middle (common practice, no source), so the value
    /// given counts for its unit only.
    ///
    /// # Errors
    /// [`TorqueSpecError`] where a limit isn't a torque or the limits don't enclose the target.
    pub fn new(nominal: TorqueValue, limits: Limits) -> Result<Self, TorqueSpecError> {
        let unit = nominal.unit;
        let value = nominal.value;
        let both = |plus: Decimal, minus: Decimal| {
            let fits = plus.digits() >= 0
                && minus.digits() >= 0
                && plus.digits() + minus.digits() > 0
                && minus < value;
            let ends = (difference(value, minus), sum(value, plus));
            match ends {
                (Some(low), Some(high)) if fits => Ok((value, low, high)),
                (Some(_) | None, Some(_) | None) => {
                    Err(TorqueSpecError::Tolerance(format!("+{plus}/−{minus}")))
                }
            }
        };
        let (target, low, high) = match limits {
            Limits::Unstated => (value, value, value),
            Limits::Range(low, high) => {
                let refused = || TorqueSpecError::Range(format!("{low}–{high} {unit}"));
                let target = middle(low, high).ok_or_else(refused)?;
                if low >= high {
                    return Err(refused());
                }
                (target, low, high)
            }
            Limits::PlusMinus(by) => both(by, by)?,
            Limits::Uneven(plus, minus) => both(plus, minus)?,
            Limits::Percent(percent) => {
                let by = percent_of(value, percent)
                    .ok_or_else(|| TorqueSpecError::Tolerance(format!("{percent} %")))?;
                both(by, by)?
            }
        };
        for end in [low, high] {
            TorqueValue::new(end, unit)?;
        }
        let target = TorqueValue::new(target, unit)?;
        Ok(Self {
            target,
            low,
            high,
            limits,
        })
    }

    /// What to aim at: the nominal torque, or the middle of a range.
    pub fn target(self) -> TorqueValue {
        self.target
    }

    /// The limits as the source words them.
    pub fn limits(self) -> Limits {
        self.limits
    }

    /// The lowest torque allowed; the target itself where no limits are stated.
    pub fn low(self) -> TorqueValue {
        TorqueValue {
            value: self.low,
            unit: self.target.unit,
        }
    }

    /// The highest torque allowed; the target itself where no limits are stated.
    pub fn high(self) -> TorqueValue {
        TorqueValue {
            value: self.high,
            unit: self.target.unit,
        }
    }

    /// Whether a torque lies within the limits, ends included; `None` where the source states no limits.
    pub fn allows(self, torque: Torque) -> Option<bool> {
        match self.limits {
            Limits::Unstated => None,
            Limits::Range(..) | Limits::PlusMinus(_) | Limits::Uneven(..) | Limits::Percent(_) => {
                // A billionth, so that a limit met exactly isn't missed by a binary fraction.
                let of = |end: TorqueValue| f64::from(torque / end.quantity());
                Some(of(self.low()) >= 1.0 - 1e-9 && of(self.high()) <= 1.0 + 1e-9)
            }
        }
    }
}

impl From<TorqueValue> for TorqueSpec {
    fn from(target: TorqueValue) -> Self {
        Self {
            target,
            low: target.value,
            high: target.value,
            limits: Limits::Unstated,
        }
    }
}

impl FromStr for TorqueSpec {
    type Err = TorqueSpecError;

    /// Reads "140 N·m", "90–110 N·m", "90-110 N·m", "90 to 110 N·m", "100 ± 10 N·m", "100 +/- 10 N·m",
    /// "100 +10/−5 N·m" and "100 N·m ± 10 %".
    fn from_str(text: &str) -> Result<Self, TorqueSpecError> {
        let text = text.trim();
        if let Some((nominal, by)) = split_once_any(text, &["±", "+/-", "+/−", "+-"]) {
            let bad = || TorqueSpecError::Tolerance(by.trim().to_owned());
            if let Some(percent) = by.trim().strip_suffix('%') {
                let percent = percent.trim().parse().map_err(|_| bad())?;
                return Self::new(nominal.parse()?, Limits::Percent(percent));
            }
            let by: TorqueValue = by.parse()?;
            return Self::new(value(nominal, by.unit)?, Limits::PlusMinus(by.value));
        }
        if let Some((nominal, rest)) = text.split_once('+') {
            let bad = || TorqueSpecError::Tolerance(rest.trim().to_owned());
            let (plus, minus) = rest.split_once('/').ok_or_else(bad)?;
            let (minus, unit) = number_and_unit(minus.trim().trim_start_matches(['-', '−']))?;
            let plus = plus.trim().parse().map_err(|_| bad())?;
            return Self::new(value(nominal, unit)?, Limits::Uneven(plus, minus));
        }
        let mark = text
            .char_indices()
            .find(|(at, c)| *at > 0 && matches!(c, '–' | '-' | '−' | '‑'))
            .filter(|(at, c)| {
                let after = text[at + c.len_utf8()..].trim_start();
                after.starts_with(|c: char| c.is_ascii_digit() || c == '.')
            });
        let ends = match mark {
            Some((at, c)) => Some((&text[..at], &text[at + c.len_utf8()..])),
            None => text.split_once(" to "),
        };
        match ends {
            Some((low, high)) => {
                let high: TorqueValue = high.parse()?;
                let low = value(low, high.unit)?;
                Self::new(high, Limits::Range(low.value, high.value))
            }
            None => Ok(text.parse::<TorqueValue>()?.into()),
        }
    }
}

fn split_once_any<'t>(text: &'t str, marks: &[&str]) -> Option<(&'t str, &'t str)> {
    marks.iter().find_map(|mark| text.split_once(mark))
}

/// A torque that may leave its unit to the number after it: "90" of "90–110 N·m".
fn value(text: &str, unit: TorqueUnit) -> Result<TorqueValue, TorqueError> {
    match text.trim().parse::<Decimal>() {
        Ok(number) => TorqueValue::new(number, unit),
        Err(_) => {
            let value: TorqueValue = text.parse()?;
            if value.unit == unit {
                Ok(value)
            } else {
                Err(TorqueError::Unit(format!(
                    "{} together with {unit}",
                    value.unit
                )))
            }
        }
    }
}

/// A number that may be nought, and its unit.
fn number_and_unit(text: &str) -> Result<(Decimal, TorqueUnit), TorqueError> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .ok_or(TorqueError::NoUnit)?;
    let (number, unit) = text.split_at(end);
    let number = number
        .parse()
        .map_err(|_| TorqueError::Number(text.to_owned()))?;
    Ok((number, unit.trim().parse()?))
}

impl fmt::Display for TorqueSpec {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let TorqueValue { value, unit } = self.target;
        match self.limits {
            Limits::Unstated => write!(f, "{value} {unit}"),
            Limits::Range(low, high) => write!(f, "{low}–{high} {unit}"),
            Limits::PlusMinus(by) => write!(f, "{value} ± {by} {unit}"),
            Limits::Uneven(plus, minus) => write!(f, "{value} +{plus}/−{minus} {unit}"),
            Limits::Percent(percent) => write!(f, "{value} {unit} ± {percent} %"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn spec(text: &str) -> TorqueSpec {
        text.parse().unwrap()
    }

    #[test]
    fn a_spec_is_written_as_it_was_read() {
        for text in [
            "140 N·m",
            "90–110 N·m",
            "100 ± 10 N·m",
            "100 +10/−5 N·m",
            "100 +10/−0 lbf·ft",
            "100 N·m ± 10 %",
        ] {
            assert_eq!(spec(text).to_string(), text);
        }
        assert_eq!(spec("90-110 ft-lb").to_string(), "90–110 lbf·ft");
        assert_eq!(spec("90 to 110 Nm"), spec("90 N·m – 110 N·m"));
        assert_eq!(spec("100 +/- 10 Nm"), spec("100 ± 10 N·m"));
    }

    #[test]
    fn limits_are_exact() {
        let ends = |text: &str| {
            let it = spec(text);
            (
                it.low().to_string(),
                it.target().to_string(),
                it.high().to_string(),
            )
        };
        let are = |low: &str, target: &str, high: &str| (low.into(), target.into(), high.into());
        assert_eq!(ends("30–45 N·m"), are("30 N·m", "37.5 N·m", "45 N·m"));
        assert_eq!(ends("100 N·m ± 10 %"), are("90 N·m", "100 N·m", "110 N·m"));
        assert_eq!(
            ends("8.5 +0.3/−0 N·m"),
            are("8.5 N·m", "8.5 N·m", "8.8 N·m")
        );
    }

    #[test]
    fn the_ends_themselves_are_allowed() {
        let it = spec("100 ± 10 lbf·ft");
        assert_eq!(it.allows(it.low().quantity()), Some(true));
        assert_eq!(it.allows(it.high().quantity()), Some(true));
        assert_eq!(it.allows(TorqueUnit::PoundFoot.torque(110.1)), Some(false));
        assert_eq!(
            spec("100 N·m").allows(TorqueUnit::NewtonMetre.torque(100.0)),
            None
        );
    }

    #[test]
    fn limits_that_cannot_be_are_refused() {
        for text in [
            "110–90 N·m",
            "100–100 N·m",
            "100 ± 100 N·m",
            "100 ± 0 N·m",
            "100 N·m ± 100 %",
            "100 ± 10",
            "90 lbf·ft – 110 N·m",
            "100 +10 N·m",
            "100 ± -5 N·m",
            "-90–110 N·m",
            "",
        ] {
            assert!(text.parse::<TorqueSpec>().is_err(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn the_target_lies_within_its_limits(low in 1i64..50_000, more in 1i64..50_000) {
            let (low, high) = (Decimal::new(low, 1).unwrap(), Decimal::new(low + more, 1).unwrap());
            let unit = TorqueUnit::PoundInch;
            let it = TorqueSpec::new(TorqueValue { value: high, unit }, Limits::Range(low, high));
            let it = it.unwrap();
            prop_assert_eq!(it.allows(it.target().quantity()), Some(true));
            prop_assert_eq!(it.to_string().parse::<TorqueSpec>().unwrap(), it);
        }

        #[test]
        fn no_text_makes_it_panic(text in "[-−–+±/%0-9. toN·mlbf]{0,24}") {
            let _ = text.parse::<TorqueSpec>();
        }
    }
}
