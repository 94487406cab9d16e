//! The load on each stand under a lifted end of a vehicle, and whether its rating holds.
//!
//! load on each = mass × share on the lifted axle ÷ 2. The load is taken as even left and right and rounded up, never
//! down. A third and fourth stand under the same axle don't count: a stiff axle may rest on any two of them. For a
//! whole vehicle on stands, compute each axle by itself. It is only a check: where the stands go is for the vehicle's maker
//! to say, and a vehicle is never supported by a jack alone (common practice, no source).

use std::fmt;
use uom::si::f64::{Mass, Ratio};
use uom::si::mass::kilogram;
use uom::si::ratio::ratio;

/// Who gave a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GivenBy {
    Procedure,
    /// The technician, aloud.
    Technician,
    /// The plate of the vehicle or the stand.
    Plate,
}

impl GivenBy {
    /// In a sentence, after the figure.
    pub fn name(self) -> &'static str {
        match self {
            Self::Procedure => "the procedure's figure",
            Self::Technician => "your figure",
            Self::Plate => "the plate's figure",
        }
    }
}

/// A mass and who gave it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    pub mass: Mass,
    /// Who gave it.
    pub by: GivenBy,
}

/// What a rating is for. Stands are often rated as a pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rating {
    /// For one stand.
    Each(Figure),
    /// For two stands together; one of them holds half.
    Pair(Figure),
}

impl Rating {
    fn figure(self) -> Figure {
        match self {
            Self::Each(figure) | Self::Pair(figure) => figure,
        }
    }

    /// What one stand is rated for.
    pub fn each(self) -> Mass {
        match self {
            Self::Each(figure) => figure.mass,
            Self::Pair(figure) => figure.mass / 2.0,
        }
    }
}

/// Stands under one axle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Support {
    /// The vehicle's mass, above nought and up to 100 t.
    pub vehicle: Figure,
    /// The share of it on the lifted axle, above 0 and up to 1.
    pub axle_share: Ratio,
    /// Stands under the axle, 2 to 4.
    pub stands: u8,
    /// What the stands are rated for.
    pub rating: Rating,
    /// The most of its rating that a stand may carry by its maker, above 0 and up to 1; 1 where the maker asks for
    /// no margin.
    pub usable: Ratio,
}

/// A figure from which no load follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SupportError {
    #[error("the vehicle's mass must be above zero and below 100 t")]
    Mass,
    #[error("the axle's share must be above zero and at most the whole")]
    AxleShare,
    #[error("an axle stands on 2 to 4 stands, one on each side at least")]
    Stands,
    #[error("a stand's rating must be above zero and below 100 t")]
    Rating,
    /// Margin.
    #[error("the usable share of a rating must be above zero and at most the whole")]
    Usable,
}

/// Whether the stands hold, with the figures behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SupportVerdict {
    /// The load on each is within what it may carry.
    Holds(StandLoad),
    /// The load on each is over what it may carry: don't go under.
    TooWeak(StandLoad),
}

/// The figures of a verdict.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandLoad {
    /// Load on each stand, rounded up to 10 kg.
    pub load: Mass,
    /// What each may carry, its maker's margin taken off, rounded down to 10 kg.
    pub allowed: Mass,
    support: Support,
}

impl Support {
    /// The load on each stand against what it may carry.
    ///
    /// # Errors
    /// [`SupportError`] for a figure outside of its range; a range is part of each field's docs.
    pub fn verdict(self) -> Result<SupportVerdict, SupportError> {
        let possible = |mass: Mass| {
            let kg = mass.get::<kilogram>();
            kg > 0.0 && kg < 100_000.0
        };
        let share = |of: Ratio| of.get::<ratio>() > 0.0 && of.get::<ratio>() <= 1.0;
        if !possible(self.vehicle.mass) {
            return Err(SupportError::Mass);
        }
        if !share(self.axle_share) {
            return Err(SupportError::AxleShare);
        }
        if !(2..=4).contains(&self.stands) {
            return Err(SupportError::Stands);
        }
        if !possible(self.rating.figure().mass) {
            return Err(SupportError::Rating);
        }
        if !share(self.usable) {
            return Err(SupportError::Usable);
        }
        let load = self.vehicle.mass * self.axle_share / 2.0;
        let allowed = self.rating.each() * self.usable;
        // A millionth of a step, so that 450 kg isn't 460 by a binary fraction.
        let tens = |mass: Mass| mass.get::<kilogram>() / 10.0;
        let figures = StandLoad {
            load: Mass::new::<kilogram>((tens(load) - 1e-6).ceil() * 10.0),
            allowed: Mass::new::<kilogram>((tens(allowed) + 1e-6).floor() * 10.0),
            support: self,
        };
        Ok(if figures.load <= figures.allowed {
            SupportVerdict::Holds(figures)
        } else {
            SupportVerdict::TooWeak(figures)
        })
    }
}

impl StandLoad {
    /// What it was computed from.
    pub fn support(&self) -> Support {
        self.support
    }
}

impl SupportVerdict {
    /// The verdict in sentences: load, rating, verdict, and what it defers to.
    pub fn sentences(self) -> Vec<String> {
        let (figures, verdict) = match self {
            Self::Holds(figures) => (figures, "By these figures the stands will hold."),
            Self::TooWeak(figures) => (figures, "The stands are too weak. Don't go under."),
        };
        let StandLoad {
            load,
            allowed,
            support,
        } = figures;
        let rating = support.rating.figure();
        let of = match support.rating {
            Rating::Each(_) => "each",
            Rating::Pair(_) => "a pair",
        };
        let mut sentences = vec![
            format!(
                "Load on each stand: {} of {} for the vehicle, {}.",
                Kilograms(load),
                Kilograms(support.vehicle.mass),
                support.vehicle.by.name()
            ),
            format!(
                "Rated {} {of}, {}: {} for each.",
                Kilograms(rating.mass),
                rating.by.name(),
                Kilograms(allowed)
            ),
            verdict.to_owned(),
        ];
        sentences.push("The stands go under the maker's lifting points.".to_owned());
        sentences
    }
}

struct Kilograms(Mass);

impl fmt::Display for Kilograms {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} kg", self.0.get::<kilogram>())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn support(kg: f64, share: f64, stands: u8, rated: f64, usable: f64) -> Support {
        let figure = |kg: f64, by| Figure {
            mass: Mass::new::<kilogram>(kg),
            by,
        };
        Support {
            vehicle: figure(kg, GivenBy::Procedure),
            axle_share: Ratio::new::<ratio>(share),
            stands,
            rating: Rating::Each(figure(rated, GivenBy::Plate)),
            usable: Ratio::new::<ratio>(usable),
        }
    }

    /// By hand: 1 800 kg × 0.55 ÷ 2 = 495 kg, said as 500; 600 kg × 0.8 = 480 kg.
    #[test]
    fn the_makers_margin_decides() {
        let verdict = |rated, usable| support(1_800.0, 0.55, 2, rated, usable).verdict().unwrap();
        assert!(matches!(verdict(600.0, 1.0), SupportVerdict::Holds(_)));
        let weak = verdict(600.0, 0.8);
        assert_eq!(
            weak.sentences(),
            [
                "Load on each stand: 500 kg of 1800 kg for the vehicle, the procedure's figure.",
                "Rated 600 kg each, the plate's figure: 480 kg for each.",
                "The stands are too weak. Don't go under.",
                "The stands go under the maker's lifting points.",
            ]
        );
    }

    #[test]
    fn a_rating_for_a_pair_is_halved() {
        let mut it = support(1_800.0, 0.55, 2, 900.0, 1.0);
        assert!(matches!(it.verdict(), Ok(SupportVerdict::Holds(_))));
        it.rating = Rating::Pair(it.rating.figure());
        assert!(matches!(it.verdict(), Ok(SupportVerdict::TooWeak(_))));
    }

    #[test]
    fn figures_that_cannot_be_are_refused() {
        let error = |it: Support| it.verdict().unwrap_err();
        assert_eq!(error(support(0.0, 0.5, 2, 900.0, 1.0)), SupportError::Mass);
        assert_eq!(
            error(support(f64::NAN, 0.5, 2, 900.0, 1.0)),
            SupportError::Mass
        );
        assert_eq!(
            error(support(1_800.0, 1.1, 2, 900.0, 1.0)),
            SupportError::AxleShare
        );
        assert_eq!(
            error(support(1_800.0, 0.5, 0, 900.0, 1.0)),
            SupportError::Stands
        );
        assert_eq!(
            error(support(1_800.0, 0.5, 2, -1.0, 1.0)),
            SupportError::Rating
        );
        assert_eq!(
            error(support(1_800.0, 0.5, 2, 900.0, 0.0)),
            SupportError::Usable
        );
    }

    proptest! {
        #[test]
        fn never_rounded_to_the_weak_side(
            kg in 1.0f64..90_000.0, share in 0.01f64..1.0, stands in 2u8..5, rated in 10.0f64..50_000.0,
            usable in 0.1f64..1.0
        ) {
            let exact = kg * share / 2.0;
            match support(kg, share, stands, rated, usable).verdict().unwrap() {
                SupportVerdict::Holds(it) => {
                    prop_assert!(exact <= rated * usable + 1e-3);
                    prop_assert!(it.load.get::<kilogram>() >= exact - 1e-3);
                }
                SupportVerdict::TooWeak(it) => {
                    prop_assert!(it.allowed.get::<kilogram>() <= rated * usable + 1e-3);
                    prop_assert!(exact + 20.0 > rated * usable);
                }
            }
        }
    }
}
