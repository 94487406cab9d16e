//! A number with its unit, as it was read off or said: decimals, fractions of an inch, thousandths.

use super::{Amount, Dimension, MeasureUnit};
use crate::{Decimal, MAX_PLACES};
use std::fmt;
use std::str::FromStr;

/// Something measured. Its digits are those that were said: 21.40 mm isn't 21.4 mm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Measured {
    /// The number.
    pub value: Decimal,
    pub unit: MeasureUnit,
}

/// A text or a conversion that gives no measurement.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeasuredError {
    /// No unit stands with the number.
    #[error("“{0}” needs its unit")]
    NoUnit(String),
    /// The unit isn't known.
    #[error("“{0}” is not a unit that is measured in")]
    Unit(String),
    /// A pint without its system.
    #[error(
        "“{unit}” is not the same in the US and the imperial system: write “{us}” or “{imperial}”"
    )]
    System {
        /// What was written.
        unit: String,
        /// The one.
        us: MeasureUnit,
        /// The other.
        imperial: MeasureUnit,
    },
    /// The number can't be read.
    #[error("“{0}” is neither a decimal number nor a fraction such as 3/8 or 1 3/8")]
    Number(String),
    /// A length can't become a voltage.
    #[error("{from} can't be given in {to}: they measure different things")]
    Dimension {
        /// What was measured.
        from: Measured,
        /// The unit asked for.
        to: MeasureUnit,
    },
    /// The number would have more than 12 digits.
    #[error("{from} is too large or too small to give in {to}")]
    Digits {
        /// What was measured.
        from: Measured,
        /// The unit asked for.
        to: MeasureUnit,
    },
}

impl Measured {
    /// What kind of thing was measured.
    pub fn dimension(self) -> Dimension {
        self.unit.dimension()
    }

    /// The quantity.
    pub fn amount(self) -> Amount {
        self.unit.amount(self.value.to_f64())
    }

    /// How many of another unit it is, to the last binary digit: for arithmetic, not for telling.
    ///
    /// # Errors
    /// [`MeasuredError::Dimension`] where the unit measures something else.
    pub fn number_in(self, unit: MeasureUnit) -> Result<f64, MeasuredError> {
        if unit == self.unit {
            return Ok(self.value.to_f64());
        }
        if unit.dimension() != self.dimension() {
            return Err(MeasuredError::Dimension {
                from: self,
                to: unit,
            });
        }
        Ok(unit.of_base(self.base()))
    }

    /// In the dimension's first unit.
    pub(super) fn base(self) -> f64 {
        self.unit.base(self.value.to_f64())
    }

    /// The same in another unit, with as many places as it takes to keep every digit that was said (at most
    /// [`MAX_PLACES`]): 0.100 in is 2.54 mm, not 2.5 mm.
    ///
    /// # Errors
    /// [`MeasuredError::Dimension`] where the unit measures something else, [`MeasuredError::Digits`] beyond
    /// 12 digits.
    pub fn to(self, unit: MeasureUnit) -> Result<Self, MeasuredError> {
        if unit.dimension() != self.dimension() {
            return Err(MeasuredError::Dimension {
                from: self,
                to: unit,
            });
        }
        if unit == self.unit {
            return Ok(self);
        }
        let last_digit = 10f64.powi(-i32::from(self.value.places()));
        let step = last_digit * self.unit.factor() / unit.factor();
        let places = (0..MAX_PLACES)
            .find(|places| 10f64.powi(-i32::from(*places)) <= step * (1.0 + 1e-9))
            .unwrap_or(MAX_PLACES);
        let value =
            Decimal::nearest(unit.of_base(self.base()), places).ok_or(MeasuredError::Digits {
                from: self,
                to: unit,
            })?;
        Ok(Self { value, unit })
    }
}

impl FromStr for Measured {
    type Err = MeasuredError;

    /// Reads "21.4 mm", "3/8 in", "1 3/8 in", "1-3/8 in", "200 thou", "−5 °C".
    fn from_str(text: &str) -> Result<Self, MeasuredError> {
        let text = text.trim();
        let end = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '−' | '/' | ' ')))
            .ok_or_else(|| MeasuredError::NoUnit(text.to_owned()))?;
        let (number, unit) = text.split_at(end);
        let unit = unit.parse()?;
        let value = decimal_or_fraction(number.trim())
            .ok_or_else(|| MeasuredError::Number(number.trim().to_owned()))?;
        Ok(Self { value, unit })
    }
}

/// "0.375", "3/8", "1 3/8" or "1-3/8". Halves down to sixty-fourths have at most six places, so they are exact.
fn decimal_or_fraction(text: &str) -> Option<Decimal> {
    if !text.contains('/') {
        return text.parse().ok();
    }
    let (whole, fraction) = match text.rsplit_once([' ', '-']) {
        Some((whole, fraction)) => (whole.trim().parse::<u16>().ok()?, fraction),
        None => (0, text),
    };
    let (a, b) = fraction.split_once('/')?;
    let (a, b): (u16, u16) = (a.parse().ok()?, b.parse().ok()?);
    if ![2, 4, 8, 16, 32, 64].contains(&b) || a == 0 || (whole > 0 && a >= b) {
        return None;
    }
    let millionths = 1_000_000 / i64::from(b) * i64::from(a) + 1_000_000 * i64::from(whole);
    Decimal::new(millionths, MAX_PLACES).map(Decimal::trimmed)
}

impl fmt::Display for Measured {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Measured {
        text.parse().unwrap()
    }

    fn converted(text: &str, unit: MeasureUnit) -> String {
        read(text).to(unit).unwrap().to_string()
    }

    #[test]
    fn fractions_and_thousandths_are_exact() {
        assert_eq!(read("3/8 in").to_string(), "0.375 in");
        assert_eq!(read("1 3/8 in"), read("1-3/8 in"));
        assert_eq!(read("1 3/8 in").to_string(), "1.375 in");
        assert_eq!(read("1/64 in").to_string(), "0.015625 in");
        assert_eq!(converted("200 thou", MeasureUnit::Inch), "0.200 in");
        assert_eq!(converted("200 thou", MeasureUnit::Millimetre), "5.08 mm");
        assert_eq!(
            converted("4 tenths of a millimetre", MeasureUnit::Millimetre),
            "0.4 mm"
        );
        assert_eq!(converted("21.4 mm", MeasureUnit::Thou), "843 thou");
    }

    #[test]
    fn the_other_dimensions_convert_too() {
        assert_eq!(converted("100 °C", MeasureUnit::Fahrenheit), "212 °F");
        assert_eq!(converted("−40 °F", MeasureUnit::Celsius), "−40.0 °C");
        assert_eq!(converted("12.45 V", MeasureUnit::Millivolt), "12450 mV");
        assert_eq!(converted("2.4 bar", MeasureUnit::Psi), "35 psi");
        assert_eq!(converted("35 psi", MeasureUnit::Kilopascal), "241 kPa");
        assert_eq!(converted("1.8 t", MeasureUnit::Kilogram), "1800 kg");
    }

    #[test]
    fn what_is_no_measurement_says_why() {
        let why = |text: &str| text.parse::<Measured>().unwrap_err();
        assert_eq!(why("21.4"), MeasuredError::NoUnit("21.4".into()));
        assert_eq!(why("21.4 furlongs"), MeasuredError::Unit("furlongs".into()));
        for text in [
            "3/5 in", "1 9/8 in", "0/8 in", "in", "1/2/3 in", "- mm", "1 2 mm",
        ] {
            assert!(matches!(why(text), MeasuredError::Number(_)), "{text}");
        }
        let volts = read("12 V").to(MeasureUnit::Millimetre);
        assert!(matches!(volts, Err(MeasuredError::Dimension { .. })));
    }

    proptest! {
        #[test]
        fn there_and_back_keeps_what_was_said(
            digits in -900_000i64..900_000, places in 0u8..4, from in 0usize..17, to in 0usize..17
        ) {
            let (from, to) = (MeasureUnit::ALL[from], MeasureUnit::ALL[to]);
            let said = Measured { value: Decimal::new(digits, places).unwrap(), unit: from };
            if from.dimension() == to.dimension() {
                let there = said.to(to).unwrap();
                // Six places of a tonne or metre can't hold a tenth of a milligram.
                if there.value.places() < MAX_PLACES {
                    let back = there.to(from).unwrap().value.to_f64();
                    let last_digit = 10f64.powi(-i32::from(places));
                    prop_assert!((back - said.value.to_f64()).abs() <= 0.5001 * last_digit, "{said} {there}");
                }
            } else {
                prop_assert!(said.to(to).is_err());
            }
        }

        #[test]
        fn no_text_makes_it_panic(text in "[-−0-9./ a-z°CF\"]{0,20}") {
            let _ = text.parse::<Measured>();
        }
    }
}
