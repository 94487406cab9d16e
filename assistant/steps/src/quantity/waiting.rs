//! How long to wait at a temperature, from the source's own table: cure, soak, cool-down.
//!
//! Between two rows the time is interpolated linearly and rounded up to a whole minute. A reaction takes a time
//! t = A·exp(E/(R·T)) at the absolute temperature T (Arrhenius equation, IUPAC Gold Book: the rate is its inverse). Its
//! second derivative, t·E/(R·T³)·(E/(R·T) + 2), is positive, so the straight line between two rows lies above the curve:
//! a cure is given a little too long, never too short. Outside of the table there is no answer.

use uom::si::f64::{ThermodynamicTemperature, Time};
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::minute;

/// Waiting times by temperature, checked: at least two rows, temperatures rise.
#[derive(Debug, Clone, PartialEq)]
pub struct WaitingTable {
    rows: Vec<(ThermodynamicTemperature, Time)>,
}

/// A table or temperature that gives no waiting time.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum WaitingError {
    /// Too few rows.
    #[error("a table of waiting times needs two rows at least")]
    Rows,
    /// A row, from 1, whose temperature doesn't rise.
    #[error("row {0}: its temperature must be above the one before; write the coldest row first")]
    Order(usize),
    /// A row, from 1, whose time can't be.
    #[error("row {0}: its time must be above zero and at most 30 days")]
    Time(usize),
    /// A row, from 1, whose temperature can't be.
    #[error("row {0}: its temperature must lie between −60 and 400 °C")]
    Temperature(usize),
    /// The temperature lies outside of the table.
    #[error(
        "the source gives no time for {asked:.0} °C, only from {coldest:.0} to {hottest:.0} °C; \
         warm or cool the part, or ask the maker"
    )]
    Outside {
        /// Asked, °C.
        asked: f64,
        /// The table's lowest, °C.
        coldest: f64,
        /// The table's highest, °C.
        hottest: f64,
    },
}

impl WaitingTable {
    /// A table, coldest row first.
    ///
    /// # Errors
    /// [`WaitingError`] with the number of the first wrong row.
    pub fn new(rows: Vec<(ThermodynamicTemperature, Time)>) -> Result<Self, WaitingError> {
        if rows.len() < 2 {
            return Err(WaitingError::Rows);
        }
        let mut before = f64::NEG_INFINITY;
        for (number, (temperature, time)) in (1..).zip(&rows) {
            let celsius = temperature.get::<degree_celsius>();
            if !(-60.0..=400.0).contains(&celsius) {
                return Err(WaitingError::Temperature(number));
            }
            if celsius <= before {
                return Err(WaitingError::Order(number));
            }
            before = celsius;
            let minutes = time.get::<minute>();
            if !(minutes > 0.0 && minutes <= 30.0 * 24.0 * 60.0) {
                return Err(WaitingError::Time(number));
            }
        }
        Ok(Self { rows })
    }

    /// How long to wait at a temperature, rounded up to a whole minute.
    ///
    /// # Errors
    /// [`WaitingError::Outside`] for a temperature that the table doesn't reach.
    pub fn time_at(&self, temperature: ThermodynamicTemperature) -> Result<Time, WaitingError> {
        let asked = temperature.get::<degree_celsius>();
        let row = |(temperature, time): &(ThermodynamicTemperature, Time)| {
            (temperature.get::<degree_celsius>(), time.get::<minute>())
        };
        let between = self.rows.windows(2).find_map(|pair| {
            let ((cold, long), (hot, short)) = (row(&pair[0]), row(&pair[1]));
            // A billionth of a degree: 20 °C by way of kelvins.
            (asked >= cold - 1e-9 && asked <= hot + 1e-9).then(|| {
                let part = ((asked - cold) / (hot - cold)).clamp(0.0, 1.0);
                long + (short - long) * part
            })
        });
        match between {
            Some(minutes) => Ok(Time::new::<minute>((minutes - 1e-6).ceil())),
            None => Err(WaitingError::Outside {
                asked,
                // A table has two rows at least.
                coldest: self.rows.first().map_or(f64::NAN, |first| row(first).0),
                hottest: self.rows.last().map_or(f64::NAN, |last| row(last).0),
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn celsius(t: f64) -> ThermodynamicTemperature {
        ThermodynamicTemperature::new::<degree_celsius>(t)
    }

    fn table(rows: &[(f64, f64)]) -> Result<WaitingTable, WaitingError> {
        let row = |(t, m): &(f64, f64)| (celsius(*t), Time::new::<minute>(*m));
        WaitingTable::new(rows.iter().map(row).collect())
    }

    /// An invented table of a threadlocker.
    const CURE: [(f64, f64); 3] = [(5.0, 1440.0), (20.0, 360.0), (40.0, 60.0)];

    #[test]
    fn rows_are_met_and_between_them_is_a_line() {
        let table = table(&CURE).unwrap();
        let at = |t: f64| table.time_at(celsius(t)).unwrap().get::<minute>().round();
        assert_eq!([at(5.0), at(20.0), at(40.0)], [1440.0, 360.0, 60.0]);
        assert_eq!(at(30.0), 210.0);
        assert_eq!(at(20.1), 359.0);
    }

    #[test]
    fn outside_of_the_table_is_no_answer() {
        let table = table(&CURE).unwrap();
        for t in [4.9, 40.1, -300.0, f64::NAN, f64::INFINITY] {
            assert!(
                matches!(table.time_at(celsius(t)), Err(WaitingError::Outside { .. })),
                "{t}"
            );
        }
    }

    #[test]
    fn tables_that_cannot_be_are_refused() {
        assert_eq!(table(&CURE[..1]), Err(WaitingError::Rows));
        assert_eq!(
            table(&[(20.0, 60.0), (20.0, 50.0)]),
            Err(WaitingError::Order(2))
        );
        assert_eq!(
            table(&[(20.0, 0.0), (30.0, 50.0)]),
            Err(WaitingError::Time(1))
        );
        assert_eq!(
            table(&[(20.0, 9.0), (900.0, 5.0)]),
            Err(WaitingError::Temperature(2))
        );
    }

    proptest! {
        #[test]
        fn warmer_never_takes_longer(a in 5.0f64..40.0, b in 5.0f64..40.0) {
            let table = table(&CURE).unwrap();
            let (cold, hot) = (a.min(b), a.max(b));
            prop_assert!(table.time_at(celsius(cold)).unwrap() >= table.time_at(celsius(hot)).unwrap());
        }
    }
}
