//! How strong a fastener is, by the mark on it, and the loads that follow.

mod iso;
mod sae;

pub use iso::PropertyClass;
pub use sae::SaeGrade;

use super::{MetricThread, Thread};
use std::fmt;
use std::str::FromStr;
use uom::si::f64::{Force, Pressure};

/// The strength of a fastener as it is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Strength {
    /// A metric bolt, screw or stud: property class of ISO 898-1.
    Bolt(PropertyClass),
    /// A metric nut, judged by the bolt that belongs to it.
    Nut(NutClass),
    /// An inch bolt, screw or stud: grade of SAE J429.
    Grade(SaeGrade),
}

/// Property class of a metric nut. Its number is that of the strongest bolts it may be paired with: the first number of
/// their property class (ISO 898-2:1992, designation of nuts). By that standard's table the nut's own proof load is above
/// the bolt's, so the bolt's counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NutClass {
    /// 5
    N5,
    /// 6
    N6,
    /// 8
    N8,
    /// 9
    N9,
    /// 10
    N10,
    /// 12
    N12,
}

impl NutClass {
    /// All classes, weakest first.
    pub const ALL: [Self; 6] = [Self::N5, Self::N6, Self::N8, Self::N9, Self::N10, Self::N12];

    /// As it is marked on the nut.
    pub fn mark(self) -> &'static str {
        match self {
            Self::N5 => "5",
            Self::N6 => "6",
            Self::N8 => "8",
            Self::N9 => "9",
            Self::N10 => "10",
            Self::N12 => "12",
        }
    }

    /// The strongest bolt that it goes with.
    pub fn bolt(self) -> PropertyClass {
        match self {
            Self::N5 => PropertyClass::C5_8,
            Self::N6 => PropertyClass::C6_8,
            Self::N8 => PropertyClass::C8_8,
            Self::N9 => PropertyClass::C9_8,
            Self::N10 => PropertyClass::C10_9,
            Self::N12 => PropertyClass::C12_9,
        }
    }
}

/// A mark that is none, or on a thread that isn't made with it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StrengthError {
    /// It doesn't read as one.
    #[error(
        "“{0}” is no mark of strength: write a bolt's property class such as “8.8”, a nut's such as “10”, \
         or “grade 5” for an inch bolt"
    )]
    Mark(String),
    /// A metric class on an inch thread, or a grade on a metric one.
    #[error("{strength} doesn't belong to the thread {thread}: {remedy}")]
    Thread {
        /// The mark.
        strength: Strength,
        thread: Thread,
        /// What would do.
        remedy: &'static str,
    },
}

impl Strength {
    /// Stress under proof load.
    ///
    /// # Errors
    /// [`StrengthError::Thread`] where the thread isn't made with this mark.
    pub fn proof_stress(self, thread: Thread) -> Result<Pressure, StrengthError> {
        match self {
            Self::Bolt(class) => Ok(class.proof_stress(self.metric(thread)?)),
            Self::Nut(class) => Ok(class.bolt().proof_stress(self.metric(thread)?)),
            Self::Grade(grade) => self.graded(grade.proof_stress(thread), thread),
        }
    }

    /// Minimum tensile strength.
    ///
    /// # Errors
    /// [`StrengthError::Thread`] where the thread isn't made with this mark.
    pub fn tensile_strength(self, thread: Thread) -> Result<Pressure, StrengthError> {
        match self {
            Self::Bolt(class) => Ok(class.tensile_strength(self.metric(thread)?)),
            Self::Nut(class) => Ok(class.bolt().tensile_strength(self.metric(thread)?)),
            Self::Grade(grade) => self.graded(grade.tensile_strength(thread), thread),
        }
    }

    /// Proof load: stress area × proof stress.
    ///
    /// # Errors
    /// [`StrengthError::Thread`] where the thread isn't made with this mark.
    pub fn proof_load(self, thread: Thread) -> Result<Force, StrengthError> {
        Ok(thread.stress_area() * self.proof_stress(thread)?)
    }

    /// Minimum ultimate tensile load: stress area × minimum tensile strength.
    ///
    /// # Errors
    /// [`StrengthError::Thread`] where the thread isn't made with this mark.
    pub fn minimum_ultimate_load(self, thread: Thread) -> Result<Force, StrengthError> {
        Ok(thread.stress_area() * self.tensile_strength(thread)?)
    }

    fn metric(self, thread: Thread) -> Result<MetricThread, StrengthError> {
        match thread {
            Thread::Metric(metric) => Ok(metric),
            Thread::Unified(_) => Err(self.off(thread)),
        }
    }

    fn graded(self, stress: Option<Pressure>, thread: Thread) -> Result<Pressure, StrengthError> {
        stress.ok_or_else(|| self.off(thread))
    }

    fn off(self, thread: Thread) -> StrengthError {
        StrengthError::Thread {
            strength: self,
            thread,
            remedy: match self {
                Self::Bolt(_) | Self::Nut(_) => {
                    "an inch thread has a grade of SAE J429, such as “grade 5”"
                }
                Self::Grade(_) => {
                    "grades belong to inch threads from 1/4 to 1 1/2, metric ones have a class such as “8.8”"
                }
            },
        }
    }
}

impl FromStr for Strength {
    type Err = StrengthError;

    fn from_str(text: &str) -> Result<Self, StrengthError> {
        let mark = text.trim();
        let lower = mark.to_ascii_lowercase();
        let grade = ["sae grade", "grade", "sae"]
            .iter()
            .find_map(|word| lower.strip_prefix(word));
        let found = match grade {
            Some(grade) => SaeGrade::marked(grade.trim()).map(Self::Grade),
            None => PropertyClass::marked(mark).map(Self::Bolt).or_else(|| {
                let nut = NutClass::ALL.into_iter().find(|nut| nut.mark() == mark);
                nut.map(Self::Nut)
            }),
        };
        found.ok_or_else(|| StrengthError::Mark(text.to_owned()))
    }
}

impl fmt::Display for Strength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bolt(class) => write!(f, "class {class}"),
            Self::Nut(class) => write!(f, "class {} of a nut", class.mark()),
            Self::Grade(grade) => write!(f, "grade {}", grade.number()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::force::pound_force;
    use uom::si::pressure::megapascal;

    fn strength(text: &str) -> Strength {
        text.parse().unwrap()
    }

    #[test]
    fn marks_are_read() {
        assert_eq!(strength("10.9"), Strength::Bolt(PropertyClass::C10_9));
        assert_eq!(strength("10"), Strength::Nut(NutClass::N10));
        for text in ["grade 8", "Grade 8", "SAE 8", "SAE grade 8"] {
            assert_eq!(strength(text), Strength::Grade(SaeGrade::G8));
        }
        for text in ["", "7", "grade", "grade 9", "8,8", "10.9 10"] {
            assert!(
                matches!(text.parse::<Strength>(), Err(StrengthError::Mark(_))),
                "{text}"
            );
        }
    }

    #[test]
    fn a_nut_is_judged_by_its_bolt() {
        let thread = "M14x1.5".parse().unwrap();
        for (nut, bolt) in [("8", "8.8"), ("10", "10.9"), ("12", "12.9")] {
            assert_eq!(
                strength(nut).proof_load(thread),
                strength(bolt).proof_load(thread)
            );
        }
    }

    #[test]
    fn a_mark_on_the_wrong_kind_of_thread_is_refused() {
        let metric = "M12".parse().unwrap();
        let inch = "1/2-13".parse().unwrap();
        assert_eq!(
            strength("grade 5")
                .proof_load(metric)
                .unwrap_err()
                .to_string(),
            "grade 5 doesn't belong to the thread M12: grades belong to inch threads from 1/4 to 1 1/2, \
             metric ones have a class such as “8.8”"
        );
        assert!(strength("8.8").proof_load(inch).is_err());
        assert!(strength("10").minimum_ultimate_load(inch).is_err());
        assert!(
            strength("grade 5")
                .proof_stress("#10-24".parse().unwrap())
                .is_err()
        );
        assert!(
            strength("8.8")
                .proof_stress(metric)
                .unwrap()
                .get::<megapascal>()
                > 579.0
        );
    }

    /// Bolt makers' tables reprint, for three quarters of proof, SAE J429 grade 2: 1/4-20 1312 lbf, 1/2-13 5853,
    /// 1/2-20 6600, 3/4-10 13 778, 1-8 14 999 lbf (within a fifth of a per cent: they round the areas).
    #[test]
    fn proof_loads_of_grade_2_are_those_of_bolt_tables() {
        for (thread, three_quarters) in [
            ("1/4-20", 1_312.0),
            ("1/2-13", 5_853.0),
            ("1/2-20", 6_600.0),
            ("3/4-10", 13_778.0),
            ("1-8", 14_999.0),
        ] {
            let load = strength("grade 2")
                .proof_load(thread.parse().unwrap())
                .unwrap();
            let off = load.get::<pound_force>() * 0.75 / three_quarters - 1.0;
            assert!(off.abs() < 0.002, "{thread} {off}");
        }
    }
}
