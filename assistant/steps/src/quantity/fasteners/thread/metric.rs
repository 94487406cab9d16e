//! Metric thread designations (ISO 965-1) and the tensile stress area (ISO 898-1).

use super::ThreadError;
use crate::Decimal;
use std::f64::consts::PI;
use std::fmt;
use std::str::FromStr;
use uom::si::area::square_millimeter;
use uom::si::f64::{Area, Length};
use uom::si::length::millimeter;

/// Coarse pitches in mm of ISO 261, by nominal diameter in mm. The open-source library `threadlib` lists all of these
/// pairs in its table of the ISO metric profile (`design/metric_thread.csv`).
const COARSE: [(&str, &str); 32] = [
    ("1.6", "0.35"),
    ("1.8", "0.35"),
    ("2", "0.4"),
    ("2.2", "0.45"),
    ("2.5", "0.45"),
    ("3", "0.5"),
    ("3.5", "0.6"),
    ("4", "0.7"),
    ("5", "0.8"),
    ("6", "1"),
    ("7", "1"),
    ("8", "1.25"),
    ("10", "1.5"),
    ("12", "1.75"),
    ("14", "2"),
    ("16", "2"),
    ("18", "2.5"),
    ("20", "2.5"),
    ("22", "2.5"),
    ("24", "3"),
    ("27", "3"),
    ("30", "3.5"),
    ("33", "3.5"),
    ("36", "4"),
    ("39", "4"),
    ("42", "4.5"),
    ("45", "4.5"),
    ("48", "5"),
    ("52", "5"),
    ("56", "5.5"),
    ("60", "5.5"),
    ("64", "6"),
];

/// A metric ISO thread, M1.6 to M64.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct MetricThread {
    diameter: Decimal,
    pitch: Decimal,
}

impl MetricThread {
    /// A thread of nominal diameter and pitch in millimetres.
    ///
    /// # Errors
    /// [`ThreadError::Diameter`] outside of M1.6–M64; [`ThreadError::Pitch`] for a pitch below 0.2 mm or above
    /// that of the coarse thread (where ISO 261 has none: above a quarter of the diameter).
    pub fn new(diameter: Decimal, pitch: Decimal) -> Result<Self, ThreadError> {
        let d = diameter.to_f64();
        if !(1.6..=64.0).contains(&d) {
            return Err(ThreadError::Diameter(diameter));
        }
        let (most, bounds) = match coarse_pitch(diameter) {
            Some(coarse) => (coarse.to_f64(), "from 0.2 mm to the coarse pitch"),
            None => (d / 4.0, "from 0.2 mm to a quarter of the diameter"),
        };
        if !(0.2..=most).contains(&pitch.to_f64()) {
            return Err(ThreadError::Pitch {
                diameter,
                pitch,
                bounds,
            });
        }
        Ok(Self { diameter, pitch })
    }

    /// The thread of a diameter's coarse pitch.
    ///
    /// # Errors
    /// [`ThreadError::NoCoarsePitch`] where ISO 261 has none.
    pub fn coarse(diameter: Decimal) -> Result<Self, ThreadError> {
        let pitch = coarse_pitch(diameter).ok_or(ThreadError::NoCoarsePitch(diameter))?;
        Self::new(diameter, pitch)
    }

    /// Whether its pitch is the coarse one.
    pub fn is_coarse(self) -> bool {
        coarse_pitch(self.diameter) == Some(self.pitch)
    }

    /// Nominal diameter d.
    pub fn diameter(self) -> Length {
        Length::new::<millimeter>(self.diameter.to_f64())
    }

    /// Nominal diameter in mm as written.
    pub(in crate::quantity::fasteners) fn diameter_mm(self) -> Decimal {
        self.diameter
    }

    /// Pitch p.
    pub fn pitch(self) -> Length {
        Length::new::<millimeter>(self.pitch.to_f64())
    }

    /// Tensile stress area A = π/4 · (d − 0.938194·p)² (ISO 898-1): 1.27 mm² for M1.6 up to about 3 000 mm².
    /// The standard's own table rounds it to three digits.
    pub fn stress_area(self) -> Area {
        let d = self.diameter.to_f64() - 0.938_194 * self.pitch.to_f64();
        Area::new::<square_millimeter>(PI / 4.0 * d * d)
    }
}

fn coarse_pitch(diameter: Decimal) -> Option<Decimal> {
    COARSE
        .iter()
        .find(|(d, _)| d.parse() == Ok(diameter))
        .and_then(|(_, pitch)| pitch.parse().ok())
}

impl FromStr for MetricThread {
    type Err = ThreadError;

    /// Reads "M14x1.5", "M14 × 1.5", "M14" and a tolerance class or hand after it: "M14x1.5-6g", "M8-LH".
    fn from_str(text: &str) -> Result<Self, ThreadError> {
        let refused = || ThreadError::Designation(text.to_owned());
        let rest = text.trim().strip_prefix(['M', 'm']).ok_or_else(refused)?;
        let (size, after) = match rest.split_once('-') {
            Some((size, after)) => (size, Some(after.trim())),
            None => (rest, None),
        };
        if after.is_some_and(|after| after.is_empty() || !after.is_ascii()) {
            return Err(refused());
        }
        match size.split_once(['x', '×', 'X', '*']) {
            Some((diameter, pitch)) => Self::new(
                diameter.trim().parse().map_err(|_| refused())?,
                pitch.trim().parse().map_err(|_| refused())?,
            ),
            None => Self::coarse(size.trim().parse().map_err(|_| refused())?),
        }
    }
}

impl fmt::Display for MetricThread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "M{}", self.diameter)?;
        if self.is_coarse() {
            return Ok(());
        }
        write!(f, "x{}", self.pitch)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn thread(text: &str) -> MetricThread {
        text.parse().unwrap()
    }

    /// ISO 898-1, coarse thread, mm²: every value of the table, to its three digits.
    #[test]
    fn the_stress_area_is_the_standards() {
        for (size, area) in [
            ("M5", 14.2),
            ("M6", 20.1),
            ("M7", 28.9),
            ("M8", 36.6),
            ("M10", 58.0),
            ("M12", 84.3),
            ("M14", 115.0),
            ("M16", 157.0),
            ("M18", 192.0),
            ("M20", 245.0),
            ("M22", 303.0),
            ("M24", 353.0),
        ] {
            let computed = thread(size).stress_area().get::<square_millimeter>();
            let half_a_digit = if area < 100.0 { 0.05 } else { 0.5 };
            assert!((computed - area).abs() <= half_a_digit, "{size} {computed}");
        }
    }

    #[test]
    fn designations_are_read_as_iso_965_1_writes_them() {
        assert_eq!(thread("M14x1.5").to_string(), "M14x1.5");
        assert_eq!(thread("M14 × 1.5-6g"), thread("m14X1.5"));
        assert_eq!(thread("M14x2").to_string(), "M14");
        assert_eq!(thread("M14").pitch(), Length::new::<millimeter>(2.0));
        assert!(thread("M56").is_coarse());
        for text in [
            "",
            "M",
            "14x1.5",
            "M14x",
            "M-14",
            "1/2-20 UNF",
            "M14x1.5-",
            "Mx1",
        ] {
            assert!(
                matches!(
                    text.parse::<MetricThread>(),
                    Err(ThreadError::Designation(_))
                ),
                "{text}"
            );
        }
        for text in ["M1", "M100", "M14x15", "M14x2.5", "M14x0.1", "M15"] {
            assert!(text.parse::<MetricThread>().is_err(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn a_finer_thread_carries_more(d in 3i64..64, p in 20i64..299, finer in 1i64..50) {
            let made = |pitch: i64| {
                MetricThread::new(Decimal::new(d, 0).unwrap(), Decimal::new(pitch, 2).unwrap())
            };
            if let (Ok(a), Ok(b)) = (made(p), made(p + finer)) {
                prop_assert!(a.stress_area() > b.stress_area());
                prop_assert!(b.stress_area().get::<square_millimeter>() > 0.0);
                prop_assert_eq!(a.to_string().parse::<MetricThread>().unwrap(), a);
            }
        }

        #[test]
        fn no_text_makes_it_panic(text in "M?[0-9.x×-]{0,12}") {
            let _ = text.parse::<MetricThread>();
        }
    }
}
