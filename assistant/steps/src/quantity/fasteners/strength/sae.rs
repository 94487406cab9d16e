//! Grades of inch bolts, screws and studs (SAE J429).

use super::super::Thread;
use uom::si::f64::Pressure;
use uom::si::length::inch;
use uom::si::pressure::pound_force_per_square_inch;

/// A grade of SAE J429, for threads from 1/4 to 1 1/2 in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SaeGrade {
    /// 1
    G1,
    /// 2; longer than 6 in it is no stronger than grade 1.
    G2,
    /// 5
    G5,
    /// 8
    G8,
}

impl SaeGrade {
    /// All grades, weakest first.
    pub const ALL: [Self; 4] = [Self::G1, Self::G2, Self::G5, Self::G8];

    /// Its number; the head shows none for 1 and 2, three lines for 5, six for 8.
    pub fn number(self) -> &'static str {
        match self {
            Self::G1 => "1",
            Self::G2 => "2",
            Self::G5 => "5",
            Self::G8 => "8",
        }
    }

    /// The grade of a number.
    pub fn marked(number: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|grade| grade.number() == number)
    }

    /// Stress under proof load (SAE J429), ksi: grade 1 33; grade 2 55 up to 3/4 in, 33 above; grade 5 85 up to
    /// 1 in, 74 above; grade 8 120. `None` for a thread that the standard doesn't have.
    pub fn proof_stress(self, thread: Thread) -> Option<Pressure> {
        self.of(thread, (33.0, 33.0), (55.0, 33.0), (85.0, 74.0), 120.0)
    }

    /// Minimum tensile strength (SAE J429), ksi: grade 1 60; grade 2 74 up to 3/4 in, 60 above; grade 5 120 up to
    /// 1 in, 105 above; grade 8 150. `None` for a thread that the standard doesn't have.
    pub fn tensile_strength(self, thread: Thread) -> Option<Pressure> {
        self.of(thread, (60.0, 60.0), (74.0, 60.0), (120.0, 105.0), 150.0)
    }

    fn of(
        self,
        thread: Thread,
        one: (f64, f64),
        two: (f64, f64),
        five: (f64, f64),
        eight: f64,
    ) -> Option<Pressure> {
        let d = match thread {
            Thread::Metric(_) => return None,
            Thread::Unified(it) => it.diameter().get::<inch>(),
        };
        if !(0.2499..1.5001).contains(&d) {
            return None;
        }
        let by_size = |(small, large): (f64, f64), up_to: f64| {
            if d <= up_to + 1e-4 { small } else { large }
        };
        let ksi = match self {
            Self::G1 => by_size(one, 1.5),
            Self::G2 => by_size(two, 0.75),
            Self::G5 => by_size(five, 1.0),
            Self::G8 => eight,
        };
        Some(Pressure::new::<pound_force_per_square_inch>(ksi * 1000.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SAE J429 as bolt makers reprint it, psi: proof stress and tensile strength.
    #[test]
    fn the_stresses_are_the_standards() {
        for (grade, thread, proof, tensile) in [
            ("1", "1/4-20", 33_000.0, 60_000.0),
            ("2", "1/4-20", 55_000.0, 74_000.0),
            ("2", "3/4-16", 55_000.0, 74_000.0),
            ("2", "7/8-9", 33_000.0, 60_000.0),
            ("5", "1/4-28", 85_000.0, 120_000.0),
            ("5", "1-8", 85_000.0, 120_000.0),
            ("5", "1 1/8-7", 74_000.0, 105_000.0),
            ("5", "1 1/2-12", 74_000.0, 105_000.0),
            ("8", "1/4-20", 120_000.0, 150_000.0),
            ("8", "1 1/2-6", 120_000.0, 150_000.0),
        ] {
            let grade = SaeGrade::marked(grade).unwrap();
            let thread = thread.parse().unwrap();
            let psi = |stress: Option<Pressure>| {
                stress.unwrap().get::<pound_force_per_square_inch>().round()
            };
            assert_eq!(psi(grade.proof_stress(thread)), proof, "{thread}");
            assert_eq!(psi(grade.tensile_strength(thread)), tensile, "{thread}");
        }
        assert_eq!(SaeGrade::G5.proof_stress("#10-24".parse().unwrap()), None);
        assert_eq!(SaeGrade::G5.proof_stress("M10".parse().unwrap()), None);
    }
}
