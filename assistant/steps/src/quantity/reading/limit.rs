//! A limit with its direction, and the verdict on a reading.

use super::{Dimension, Measured, MeasuredError};
use crate::quantity::exact::difference;
use crate::{Decimal, MAX_PLACES};
use std::fmt;

/// What a reading has to keep. The limit itself is kept: 3.0 mm is not less than 3 mm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Limit {
    /// Such as the thickness of a pad.
    AtLeast(Measured),
    /// Such as the run-out of a disc.
    AtMost(Measured),
    /// Such as the play of a bearing: lowest and highest.
    Between(Measured, Measured),
}

/// A limit that no reading could keep.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LimitError {
    /// The ends are the wrong way round.
    #[error("the limit “{0} to {1}” doesn't rise; write the lower one first")]
    Order(Measured, Measured),
    /// The ends, or limit and reading, measure different things.
    #[error(transparent)]
    Unit(#[from] MeasuredError),
}

/// How a reading stands to its limit, with the distance in the limit's unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Within, by so much; nought where it is the limit itself.
    Within(Measured),
    /// Below the lowest allowed, by so much; never nought.
    Below(Measured),
    /// Above the highest allowed, by so much; never nought.
    Above(Measured),
}

impl Verdict {
    /// Whether the limit is kept.
    pub fn holds(self) -> bool {
        match self {
            Self::Within(_) => true,
            Self::Below(_) | Self::Above(_) => false,
        }
    }
}

impl Limit {
    /// Lowest and highest, checked.
    ///
    /// # Errors
    /// [`LimitError`] where the ends don't rise or measure different things.
    pub fn between(low: Measured, high: Measured) -> Result<Self, LimitError> {
        let same = high.to(low.unit)?;
        if low.value >= same.value {
            return Err(LimitError::Order(low, high));
        }
        Ok(Self::Between(low, high))
    }

    /// What kind of thing is limited.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::AtLeast(end) | Self::AtMost(end) | Self::Between(end, _) => end.dimension(),
        }
    }

    /// The verdict on a reading in any unit of the same dimension. The comparison uses the reading itself, not
    /// its rounded conversion.
    ///
    /// # Errors
    /// [`LimitError::Unit`] where the reading measures something else.
    pub fn verdict(self, reading: Measured) -> Result<Verdict, LimitError> {
        Ok(match self {
            Self::AtLeast(low) => match above(reading, low)? {
                Side::On(by) | Side::Above(by) => Verdict::Within(by),
                Side::Below(by) => Verdict::Below(by),
            },
            Self::AtMost(high) => match above(reading, high)? {
                Side::On(by) | Side::Below(by) => Verdict::Within(by),
                Side::Above(by) => Verdict::Above(by),
            },
            Self::Between(low, high) => match (above(reading, low)?, above(reading, high)?) {
                (Side::Below(by), Side::On(_) | Side::Above(_) | Side::Below(_)) => {
                    Verdict::Below(by)
                }
                (Side::On(_) | Side::Above(_), Side::Above(by)) => Verdict::Above(by),
                (Side::On(by) | Side::Above(by), Side::On(other) | Side::Below(other)) => {
                    Verdict::Within(if other.base_step() < by.base_step() {
                        other
                    } else {
                        by
                    })
                }
            },
        })
    }
}

/// Where a reading lies, with its distance from the end in the end's unit.
enum Side {
    Below(Measured),
    On(Measured),
    Above(Measured),
}

fn above(reading: Measured, end: Measured) -> Result<Side, MeasuredError> {
    let near = reading.to(end.unit)?;
    let exact = if reading.unit == end.unit {
        difference(reading.value, end.value)
    } else {
        None
    };
    let apart = match exact {
        Some(apart) => apart.to_f64(),
        None => {
            let apart = end.unit.of_base(reading.base()) - end.value.to_f64();
            // A billionth: two units' binary fractions of the same length.
            let scale = end.value.to_f64().abs().max(near.value.to_f64().abs());
            if apart.abs() <= 1e-9 * scale {
                0.0
            } else {
                apart
            }
        }
    };
    let fewest = near.value.places().max(end.value.places());
    let by = exact.unwrap_or_else(|| {
        (fewest..=MAX_PLACES)
            .filter_map(|places| Decimal::nearest(apart, places))
            .find(|by| by.digits() != 0 || apart == 0.0)
            .or_else(|| Decimal::new(1, MAX_PLACES))
            .unwrap_or(near.value)
    });
    let by = Measured {
        value: Decimal::new(by.digits().abs(), by.places())
            .unwrap_or(by)
            .trimmed(),
        unit: end.unit,
    };
    Ok(if apart < 0.0 {
        Side::Below(by)
    } else if apart > 0.0 {
        Side::Above(by)
    } else {
        Side::On(by)
    })
}

impl Measured {
    /// A distance (not a point of a scale) in the dimension's first unit.
    fn base_step(self) -> f64 {
        self.value.to_f64() * self.unit.factor()
    }
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AtLeast(low) => write!(f, "at least {low}"),
            Self::AtMost(high) => write!(f, "at most {high}"),
            Self::Between(low, high) if low.unit == high.unit => {
                write!(f, "{} to {high}", low.value)
            }
            Self::Between(low, high) => write!(f, "{low} to {high}"),
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Within(by) if by.value.digits() == 0 => f.write_str("at the limit"),
            Self::Within(by) => write!(f, "within the limit by {by}"),
            Self::Below(by) => write!(f, "{by} below the limit"),
            Self::Above(by) => write!(f, "{by} above the limit"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Measured {
        text.parse().unwrap()
    }

    fn said(limit: Limit, reading: &str) -> String {
        limit.verdict(read(reading)).unwrap().to_string()
    }

    #[test]
    fn the_direction_decides() {
        let pad = Limit::AtLeast(read("3 mm"));
        assert_eq!(said(pad, "4.1 mm"), "within the limit by 1.1 mm");
        assert_eq!(said(pad, "2.9 mm"), "0.1 mm below the limit");
        assert_eq!(said(pad, "3.0 mm"), "at the limit");
        let run_out = Limit::AtMost(read("0.05 mm"));
        assert_eq!(said(run_out, "2 thou"), "0.001 mm above the limit");
        assert_eq!(said(run_out, "1 thou"), "within the limit by 0.02 mm");
        let play = Limit::between(read("0.02 mm"), read("0.10 mm")).unwrap();
        assert_eq!(said(play, "0.03 mm"), "within the limit by 0.01 mm");
        assert_eq!(said(play, "0.01 mm"), "0.01 mm below the limit");
        assert_eq!(said(play, "0.11 mm"), "0.01 mm above the limit");
        assert_eq!(play.to_string(), "0.02 to 0.10 mm");
    }

    /// 1 in = 25.4 mm exactly (NIST SP 811): a limit met exactly in the other unit is kept.
    #[test]
    fn a_limit_met_exactly_in_the_other_unit_is_kept() {
        for (limit, reading) in [
            ("2.54 mm", "0.1 in"),
            ("0.1 in", "100 thou"),
            ("5.08 mm", "200 thou"),
        ] {
            assert_eq!(said(Limit::AtLeast(read(limit)), reading), "at the limit");
            assert_eq!(said(Limit::AtMost(read(limit)), reading), "at the limit");
        }
    }

    #[test]
    fn rounding_never_hides_what_is_out_of_limit() {
        let thin = Limit::AtLeast(read("3 mm"))
            .verdict(read("0.1181 in"))
            .unwrap();
        assert!(
            matches!(thin, Verdict::Below(by) if by.value.digits() > 0),
            "{thin}"
        );
    }

    #[test]
    fn limits_and_readings_of_different_things_are_refused() {
        assert!(Limit::AtLeast(read("3 mm")).verdict(read("3 V")).is_err());
        assert!(Limit::between(read("3 mm"), read("3 V")).is_err());
        assert!(Limit::between(read("0.1 in"), read("2.5 mm")).is_err());
    }

    proptest! {
        #[test]
        fn within_one_limit_is_out_of_its_opposite_unless_on_it(a in 1i64..9999, b in 1i64..9999) {
            let (a, b) = (format!("{a} thou"), format!("{}.{:02} mm", b / 100, b % 100));
            let low = Limit::AtLeast(read(&b)).verdict(read(&a)).unwrap();
            let high = Limit::AtMost(read(&b)).verdict(read(&a)).unwrap();
            let on = matches!(low, Verdict::Within(by) if by.value.digits() == 0);
            prop_assert_eq!(low.holds() && high.holds(), on);
            prop_assert!(low.holds() || high.holds());
        }
    }
}
