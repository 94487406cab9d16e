//! A torque wrench with an adapter (crow's-foot, extension) in the wrench's plane.
//!
//! The hand at the grip pulls on a longer arm than the wrench knows of:
//!
//! torque at the fastener = setting × (L + E·cos θ) / L
//!
//! with L from the middle of the grip to the drive square, E from the drive square to the fastener, and θ the
//! angle between adapter and wrench: 0° straight out, 90° square to it (no correction), above 90° back towards
//! the grip. Source: US Army TM 9-254, torque wrench adapter length compensation (fig. 45), which gives the
//! form with the cosine too.
//!
//! A straight socket extension along the drive's axis changes nothing (common practice, no source).

use std::f64::consts::PI;
use uom::si::angle::radian;
use uom::si::f64::{Angle, Length, Torque};
use uom::si::length::millimeter;
use uom::si::torque::newton_meter;

/// The arm of a wrench and the adapter on it, checked. The factor (L + E·cos θ) / L lies between 0.5 and 4.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdapterArm {
    factor: f64,
}

/// A wrench and adapter to which the formula doesn't apply.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum AdapterError {
    /// The wrench is shorter than 50 mm, longer than 3 m, or no number.
    #[error("the wrench's length from grip to drive square must be between 50 mm and 3 m")]
    WrenchLength,
    /// The adapter is negative, longer than 1 m, or no number.
    #[error("the adapter's length from drive square to fastener must be between 0 and 1 m")]
    AdapterLength,
    /// The angle lies outside of ±180°.
    #[error("the angle between adapter and wrench must be between −180° and 180°")]
    Angle,
    /// The adapter changes the torque more than the formula should be trusted with.
    #[error(
        "with this adapter the fastener gets {0:.2} times the setting; \
         use an adapter that keeps it between 0.5 and 4 times"
    )]
    Factor(f64),
    /// The torque isn't a number above zero.
    #[error("the torque must be above zero and below 10 000 N·m")]
    Torque,
}

impl AdapterArm {
    /// A wrench of `wrench` from the middle of its grip to its drive square, with an adapter of `adapter` from
    /// there to the fastener, at `angle` to the wrench.
    ///
    /// # Errors
    /// [`AdapterError`] outside of the ranges given there.
    pub fn new(wrench: Length, adapter: Length, angle: Angle) -> Result<Self, AdapterError> {
        let l = wrench.get::<millimeter>();
        let e = adapter.get::<millimeter>();
        let theta = angle.get::<radian>();
        if !(50.0..=3_000.0).contains(&l) {
            return Err(AdapterError::WrenchLength);
        }
        if !(0.0..=1_000.0).contains(&e) {
            return Err(AdapterError::AdapterLength);
        }
        // A billionth more, so that 180° in degrees isn't lost to its conversion.
        if theta.is_nan() || theta.abs() > PI * (1.0 + 1e-9) {
            return Err(AdapterError::Angle);
        }
        let factor = (l + e * theta.cos()) / l;
        if !(0.5..=4.0).contains(&factor) {
            return Err(AdapterError::Factor(factor));
        }
        Ok(Self { factor })
    }

    /// How many times the setting the fastener gets.
    pub fn factor(self) -> f64 {
        self.factor
    }

    /// What to set for a torque wanted at the fastener: wanted × L / (L + E·cos θ).
    ///
    /// # Errors
    /// [`AdapterError::Torque`] for a torque that isn't above nought and below 10 000 N·m.
    pub fn setting(self, wanted: Torque) -> Result<Torque, AdapterError> {
        possible(wanted)?;
        Ok(wanted / self.factor)
    }

    /// What the fastener gets at a setting: setting × (L + E·cos θ) / L.
    ///
    /// # Errors
    /// [`AdapterError::Torque`] for a setting that isn't above nought and below 10 000 N·m.
    pub fn at_fastener(self, setting: Torque) -> Result<Torque, AdapterError> {
        possible(setting)?;
        Ok(setting * self.factor)
    }
}

fn possible(torque: Torque) -> Result<(), AdapterError> {
    let newton_metres = torque.get::<newton_meter>();
    if newton_metres > 0.0 && newton_metres < 10_000.0 {
        Ok(())
    } else {
        Err(AdapterError::Torque)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::TorqueUnit;
    use proptest::prelude::*;
    use uom::si::angle::degree;
    use uom::si::length::inch;

    fn arm(l: f64, e: f64, degrees: f64) -> Result<AdapterArm, AdapterError> {
        AdapterArm::new(
            Length::new::<inch>(l),
            Length::new::<inch>(e),
            Angle::new::<degree>(degrees),
        )
    }

    /// US Army TM 9-254, adapter length compensation (fig. 45): 12 in wrench, 2 in adapter, 60 lbf·in set gives
    /// 70 lbf·in at the fastener.
    #[test]
    fn the_army_handbooks_two_inch_adapter() {
        let arm = arm(12.0, 2.0, 0.0).unwrap();
        let unit = TorqueUnit::PoundInch;
        let reached = arm.at_fastener(unit.torque(60.0)).unwrap();
        assert!((unit.of(reached) - 70.0).abs() < 1e-9);
        assert!((unit.of(arm.setting(unit.torque(70.0)).unwrap()) - 60.0).abs() < 1e-9);
    }

    /// US Army TM 9-2350-261-20-1, use of torque wrench adapters: 40 lbf·ft wanted, wrench 12 in, adapter 4 in:
    /// set 30 lbf·ft.
    #[test]
    fn the_army_handbooks_four_inch_adapter() {
        let unit = TorqueUnit::PoundFoot;
        let setting = arm(12.0, 4.0, 0.0)
            .unwrap()
            .setting(unit.torque(40.0))
            .unwrap();
        assert!((unit.of(setting) - 30.0).abs() < 1e-9);
    }

    /// The angled form of US Army TM 9-254: only E·cos θ counts. At 60° a 4 in adapter acts like one of 2 in;
    /// at 90° no correction (common practice, no source); beyond it the fastener gets less than is set.
    #[test]
    fn only_the_part_along_the_wrench_counts() {
        let factor = |degrees| arm(12.0, 4.0, degrees).unwrap().factor();
        assert!((factor(60.0) - 14.0 / 12.0).abs() < 1e-12);
        assert!((factor(-60.0) - 14.0 / 12.0).abs() < 1e-12);
        assert!((factor(90.0) - 1.0).abs() < 1e-12);
        assert!((factor(180.0) - 8.0 / 12.0).abs() < 1e-12);
    }

    #[test]
    fn what_the_formula_cannot_serve_is_refused() {
        assert_eq!(arm(0.0, 2.0, 0.0), Err(AdapterError::WrenchLength));
        assert_eq!(arm(f64::NAN, 2.0, 0.0), Err(AdapterError::WrenchLength));
        assert_eq!(arm(12.0, -1.0, 0.0), Err(AdapterError::AdapterLength));
        assert_eq!(arm(12.0, 2.0, 181.0), Err(AdapterError::Angle));
        assert_eq!(arm(12.0, 2.0, f64::NAN), Err(AdapterError::Angle));
        assert!(matches!(
            arm(12.0, 11.0, 180.0),
            Err(AdapterError::Factor(_))
        ));
        let fits = arm(12.0, 2.0, 0.0).unwrap();
        for torque in [0.0, -5.0, f64::NAN, f64::INFINITY] {
            assert_eq!(
                fits.setting(Torque::new::<newton_meter>(torque)),
                Err(AdapterError::Torque)
            );
        }
    }

    proptest! {
        #[test]
        fn there_and_back_is_the_same(
            l in 2.0f64..60.0, e in 0.0f64..20.0, degrees in -180.0f64..180.0, torque in 1.0f64..2_000.0
        ) {
            if let Ok(arm) = arm(l, e, degrees) {
                let wanted = Torque::new::<newton_meter>(torque);
                let back = arm.at_fastener(arm.setting(wanted).unwrap()).unwrap();
                prop_assert!((f64::from(back / wanted) - 1.0).abs() < 1e-12);
            }
        }

        #[test]
        fn a_longer_adapter_asks_for_less(e in 0.0f64..10.0, more in 0.01f64..5.0) {
            let wanted = Torque::new::<newton_meter>(100.0);
            let short = arm(12.0, e, 30.0).unwrap().setting(wanted).unwrap();
            let long = arm(12.0, e + more, 30.0).unwrap().setting(wanted).unwrap();
            prop_assert!(long < short);
        }
    }
}
