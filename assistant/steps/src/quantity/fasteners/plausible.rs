//! Whether a torque is plausible for its fastener, and the likely slip where it isn't.

use super::{ClampError, NutFactor, Strength, StrengthError, Thread, clamp_load};
use crate::quantity::{Finish, TorqueUnit, TorqueValue};
use std::fmt;

/// Below this share of proof load a joint is hardly clamped, above the other one it is near yield (common
/// practice, no source; handbooks aim at about three quarters of proof).
const SHARES: (f64, f64) = (0.30, 0.95);

/// The middle of [`SHARES`] that handbooks aim at; of several likely slips the one nearest to it is named.
const USUAL: f64 = 0.75;

/// The same two where the torque only seats the fastener before it is turned by angle (bounds of our own).
const SEATS: f64 = 0.03;
const USUAL_SEATS: f64 = 0.30;

/// A unit written where another was meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Slip {
    /// The unit in the text.
    pub written: TorqueUnit,
    /// The unit that the number seems to be in.
    pub meant: TorqueUnit,
}

/// The slips that happen: inch-pounds and foot-pounds are 12 apart, newton metres and foot-pounds 1.356, newton
/// metres and inch-pounds 8.85, kilogram-force metres and newton metres 9.81, and a centimetre for a metre 100.
const SLIPS: [(TorqueUnit, TorqueUnit); 7] = [
    (TorqueUnit::PoundFoot, TorqueUnit::PoundInch),
    (TorqueUnit::NewtonMetre, TorqueUnit::PoundFoot),
    (TorqueUnit::NewtonMetre, TorqueUnit::PoundInch),
    (TorqueUnit::NewtonMetre, TorqueUnit::KilogramForceMetre),
    (TorqueUnit::NewtonMetre, TorqueUnit::NewtonCentimetre),
    (
        TorqueUnit::KilogramForceMetre,
        TorqueUnit::KilogramForceCentimetre,
    ),
    (TorqueUnit::KilogramForceMetre, TorqueUnit::PoundFoot),
];

impl Slip {
    fn all_from(written: TorqueUnit) -> impl Iterator<Item = Self> {
        SLIPS
            .into_iter()
            .filter_map(move |(a, b)| match (a == written, b == written) {
                (true, true | false) => Some(b),
                (false, true) => Some(a),
                (false, false) => None,
            })
            .map(move |meant| Self { written, meant })
    }

    /// How many times too large the slip makes the torque.
    pub fn factor(self) -> f64 {
        self.written.newton_metres() / self.meant.newton_metres()
    }
}

impl fmt::Display for Slip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (meant, written) = (self.meant.shop_name(), self.written.shop_name());
        write!(f, "the number may be {meant} taken for {written}")
    }
}

/// What a torque does to its fastener by T = K·d·F. Shares are of the proof load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Plausibility {
    /// Between 30 % and 95 % of proof load.
    Plausible {
        /// Share of the proof load.
        share: f64,
    },
    /// Under 30 %.
    Low(UnusualShare),
    /// Over 95 %.
    High(UnusualShare),
}

/// A share of proof load out of the usual, and what may be behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnusualShare {
    /// Share of the proof load.
    pub share: f64,
    /// The bound that it passes.
    pub bound: f64,
    /// The likely slip, where another unit would make the number plausible.
    pub slip: Option<Slip>,
}

/// Why a torque can't be judged.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlausibilityError {
    /// No clamp load follows from the torque.
    #[error(transparent)]
    Clamp(#[from] ClampError),
    /// No proof load follows from strength and thread.
    #[error(transparent)]
    Strength(#[from] StrengthError),
}

/// Judges a torque for a thread, strength and nut factor. Where the fastener is turned further by angle
/// afterwards, to yield or not, the torque only seats it and the angle does the clamping: then it is low only
/// under 3 % (a bound of our own), and high as ever.
///
/// # Errors
/// [`PlausibilityError`] for a torque that isn't above nought and below 10 000 N·m, or a strength that the
/// thread isn't made in.
pub fn plausibility(
    torque: TorqueValue,
    thread: Thread,
    strength: Strength,
    k: NutFactor,
    finish: Finish,
) -> Result<Plausibility, PlausibilityError> {
    let (least, most, usual) = match finish {
        Finish::AtTorque => (SHARES.0, SHARES.1, USUAL),
        Finish::ThenAngle(_) | Finish::ThenAngleToYield(_) => (SEATS, SHARES.1, USUAL_SEATS),
    };
    let proof = strength.proof_load(thread)?;
    let load = clamp_load(torque.quantity(), thread, k)?;
    let share = f64::from(load / proof);
    let unusual = || UnusualShare {
        share,
        bound: if share < least { least } else { most },
        slip: Slip::all_from(torque.unit)
            .map(|slip| (slip, share / slip.factor()))
            .filter(|(_, share)| (least..=most).contains(share))
            .min_by(|(_, a), (_, b)| {
                let away = |share: &f64| (share / usual).ln().abs();
                away(a).total_cmp(&away(b))
            })
            .map(|(slip, _)| slip),
    };
    Ok(if share < least {
        Plausibility::Low(unusual())
    } else if share > most {
        Plausibility::High(unusual())
    } else {
        Plausibility::Plausible { share }
    })
}

/// How two statements of what should be the same torque stand to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Agreement {
    /// They agree within the rounding asked for.
    Same,
    /// They differ by just what taking one unit for another makes.
    Slip(Slip),
    /// They differ otherwise: so many times the first is the second.
    Different(f64),
}

/// Compares a value with the same torque in another unit beside it, such as "140 N·m (103 lbf·ft)", or with an
/// earlier edition's. They may be 2 % apart, as sources round. A slip is looked for in the first one's unit.
pub fn agreement(first: TorqueValue, second: TorqueValue) -> Agreement {
    let near = |ratio: f64| (ratio - 1.0).abs() <= 0.02;
    let times = f64::from(second.quantity() / first.quantity());
    if near(times) {
        return Agreement::Same;
    }
    Slip::all_from(first.unit)
        .find(|slip| near(times * slip.factor()))
        .map_or(Agreement::Different(times), Agreement::Slip)
}

impl Plausibility {
    /// Share of the proof load.
    pub fn share(self) -> f64 {
        match self {
            Self::Plausible { share } => share,
            Self::Low(unusual) | Self::High(unusual) => unusual.share,
        }
    }
}

impl fmt::Display for Plausibility {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} % of proof load", percent(self.share()))?;
        let slip = match self {
            Self::Plausible { .. } => return Ok(()),
            Self::Low(unusual) => {
                write!(f, ", under {} %", percent(unusual.bound))?;
                unusual.slip
            }
            Self::High(unusual) => {
                write!(f, ", over {} %", percent(unusual.bound))?;
                unusual.slip
            }
        };
        match slip {
            Some(slip) => write!(f, ": {slip}"),
            None => Ok(()),
        }
    }
}

/// Whole per cent, and a digit more under ten.
fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent < 9.95 && (percent - percent.round()).abs() > 0.05 {
        format!("{percent:.1}")
    } else {
        format!("{percent:.0}")
    }
}

#[cfg(test)]
mod tests {
    use super::super::PropertyClass;
    use super::*;
    use crate::Decimal;
    use proptest::prelude::*;

    fn torque(text: &str) -> TorqueValue {
        text.parse().unwrap()
    }

    fn judged(text: &str, thread: &str, class: PropertyClass) -> Plausibility {
        let thread = thread.parse().unwrap();
        plausibility(
            torque(text),
            thread,
            Strength::Bolt(class),
            NutFactor::DRY,
            Finish::AtTorque,
        )
        .unwrap()
    }

    fn slip(written: TorqueUnit, meant: TorqueUnit) -> Option<Slip> {
        Some(Slip { written, meant })
    }

    /// By hand: M12 coarse, 8.8: 84.3 mm² × 580 MPa = 48.9 kN; 85 N·m / (0.20 × 12 mm) = 35.4 kN: 72 %.
    #[test]
    fn an_everyday_torque_is_plausible() {
        match judged("85 N·m", "M12", PropertyClass::C8_8) {
            Plausibility::Plausible { share } => assert!((share - 0.724).abs() < 0.002, "{share}"),
            other => panic!("{other}"),
        }
    }

    #[test]
    fn inch_pounds_taken_for_foot_pounds_are_named() {
        use TorqueUnit::{PoundFoot, PoundInch};
        // 89 lbf·in is right for a dry M6 8.8.
        assert!(matches!(
            judged("89 lbf·in", "M6", PropertyClass::C8_8),
            Plausibility::Plausible { .. }
        ));
        match judged("89 lbf·ft", "M6", PropertyClass::C8_8) {
            Plausibility::High(it) => assert_eq!(it.slip, slip(PoundFoot, PoundInch)),
            other => panic!("{other}"),
        }
        match judged("62 lbf·in", "M12", PropertyClass::C8_8) {
            Plausibility::Low(it) => assert_eq!(it.slip, slip(PoundInch, PoundFoot)),
            other => panic!("{other}"),
        }
    }

    #[test]
    fn newton_metres_and_foot_pounds_mixed_up_are_named() {
        use TorqueUnit::{NewtonMetre, PoundFoot};
        match judged("100 lbf·ft", "M12", PropertyClass::C8_8) {
            Plausibility::High(it) => assert_eq!(it.slip, slip(PoundFoot, NewtonMetre)),
            other => panic!("{other}"),
        }
        let low = judged("30 N·m", "M12", PropertyClass::C8_8);
        assert_eq!(
            low.to_string(),
            "26 % of proof load, under 30 %: the number may be foot-pounds taken for newton metres"
        );
        match low {
            Plausibility::Low(it) => assert_eq!(it.slip, slip(NewtonMetre, PoundFoot)),
            other => panic!("{other}"),
        }
    }

    #[test]
    fn a_torque_that_only_seats_may_be_low() {
        let seats = |text: &str| {
            let thread = "M12".parse().unwrap();
            let class = PropertyClass::C10_9;
            plausibility(
                torque(text),
                thread,
                Strength::Bolt(class),
                NutFactor::DRY,
                Finish::ThenAngle(90),
            )
        };
        assert!(matches!(
            seats("20 N·m"),
            Ok(Plausibility::Plausible { .. })
        ));
        assert!(matches!(seats("300 N·m"), Ok(Plausibility::High(_))));
        // Inch-pounds taken for foot-pounds show here too: 20 lbf·ft seat an M12, 20 lbf·in nothing.
        let slipped = seats("20 lbf·in").unwrap();
        assert_eq!(
            slipped.to_string(),
            "1.3 % of proof load, under 3 %: the number may be foot-pounds taken for inch-pounds"
        );
    }

    #[test]
    fn two_statements_of_one_torque_are_compared() {
        use TorqueUnit::{NewtonMetre, PoundFoot, PoundInch};
        let between = |a: &str, b: &str| agreement(torque(a), torque(b));
        assert_eq!(between("140 N·m", "103 lbf·ft"), Agreement::Same);
        assert_eq!(
            between("103 N·m", "140 N·m"),
            Agreement::Slip(Slip {
                written: NewtonMetre,
                meant: PoundFoot
            })
        );
        assert_eq!(
            between("60 lbf·ft", "60 lbf·in"),
            Agreement::Slip(Slip {
                written: PoundFoot,
                meant: PoundInch
            })
        );
        assert!(matches!(
            between("140 N·m", "70 N·m"),
            Agreement::Different(_)
        ));
    }
    proptest! {
        /// Whatever the fastener: a torque that suits it, its number in inch-pounds written as foot-pounds, or the
        /// other way round, never passes, and a slip is named.
        #[test]
        fn twelve_times_off_never_passes(
            share in 0.35f64..0.90, thread in 0usize..6, k in 0.12f64..0.25
        ) {
            let (thread, strength) = [
                ("M6", "8.8"), ("M10x1.25", "10.9"), ("M14x1.5", "10"),
                ("M20", "12.9"), ("1/4-28 UNF", "grade 8"), ("3/4-10 UNC", "grade 2"),
            ][thread];
            let (thread, strength): (Thread, Strength) = (thread.parse().unwrap(), strength.parse().unwrap());
            let k = NutFactor::new(k).unwrap();
            let load = strength.proof_load(thread).unwrap() * share;
            let right = super::super::torque_for_clamp_load(load, thread, k).unwrap();
            for (is, written) in [
                (TorqueUnit::PoundInch, TorqueUnit::PoundFoot),
                (TorqueUnit::PoundFoot, TorqueUnit::PoundInch),
            ] {
                let number = Decimal::nearest(is.of(right), 3).unwrap();
                let judge = |unit| {
                    let torque = TorqueValue { value: number, unit };
                    plausibility(torque, thread, strength, k, Finish::AtTorque)
                };
                let passes = matches!(judge(is), Ok(Plausibility::Plausible { .. }));
                prop_assert!(passes);
                let slip = match judge(written) {
                    Ok(Plausibility::Low(unusual) | Plausibility::High(unusual)) => unusual.slip,
                    Ok(Plausibility::Plausible { share }) => panic!("{share}"),
                    // Beyond any torque at all.
                    Err(_) => return Ok(()),
                };
                prop_assert!(slip.is_some());
                if written == TorqueUnit::PoundFoot {
                    prop_assert_eq!(slip.unwrap().meant, TorqueUnit::PoundInch);
                }
            }
        }

        /// The greater the torque, the greater the share; a fastener of the next class has a smaller one.
        #[test]
        fn shares_rise_with_torque_and_fall_with_strength(tenths in 10i64..3_000, more in 1i64..500) {
            let thread = "M12".parse().unwrap();
            let share = |tenths, class| {
                let torque = TorqueValue { value: Decimal::new(tenths, 1).unwrap(), unit: TorqueUnit::NewtonMetre };
                plausibility(torque, thread, Strength::Bolt(class), NutFactor::DRY, Finish::AtTorque).unwrap().share()
            };
            for pair in PropertyClass::ALL.windows(2) {
                prop_assert!(share(tenths + more, pair[0]) > share(tenths, pair[0]));
                // 4.8 has more proof stress than 5.6, by the standard's own table.
                if pair[1] != PropertyClass::C5_6 {
                    prop_assert!(share(tenths, pair[1]) < share(tenths, pair[0]));
                }
            }
        }
    }
}
