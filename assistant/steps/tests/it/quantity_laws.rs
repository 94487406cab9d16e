//! Laws that hold for every quantity, whatever the number: there and back again, more stays more, and what is told is
//! never over 1 % nor over half a scale step off.

use proptest::prelude::*;
use steps::Decimal;
use steps::quantity::{
    AdapterArm, MeasureUnit, Measured, NutFactor, Scale, Strength, Thread, TorqueUnit, TorqueValue,
    clamp_load, torque_for_clamp_load,
};
use uom::si::angle::degree;
use uom::si::f64::{Angle, Length};
use uom::si::length::millimeter;

fn torque_unit() -> impl Strategy<Value = TorqueUnit> {
    prop::sample::select(TorqueUnit::ALL.to_vec())
}

/// Two units of one dimension.
fn measure_units() -> impl Strategy<Value = (MeasureUnit, MeasureUnit)> {
    let all = MeasureUnit::ALL;
    let pairs = all.into_iter().flat_map(move |a| all.map(|b| (a, b)));
    let pairs = pairs.filter(|(a, b)| a.dimension() == b.dimension());
    prop::sample::select(pairs.collect::<Vec<_>>())
}

/// From a tenth to nearly ten thousand, evenly over the decades, with two places.
fn number() -> impl Strategy<Value = Decimal> {
    (-1.0f64..4.0).prop_filter_map("a decimal", |log| Decimal::nearest(10f64.powf(log), 2))
}

proptest! {
    #[test]
    fn a_torque_goes_there_and_back(value in 0.01f64..9_000.0, from in torque_unit(), to in torque_unit()) {
        let back = from.of(to.torque(to.of(from.torque(value))));
        prop_assert!((back / value - 1.0).abs() < 1e-12);
    }

    #[test]
    fn more_torque_is_more_in_every_unit(
        a in number(), b in number(), from in torque_unit(), to in torque_unit()
    ) {
        let (less, more) = (a.min(b), a.max(b));
        let exact = |value: Decimal| to.of(from.torque(value.to_f64()));
        prop_assert!(less == more || exact(less) < exact(more));
        let (Ok(less), Ok(more)) = (TorqueValue::new(less, from), TorqueValue::new(more, from)) else {
            return Ok(());
        };
        // Also when both are told on a scale, by steps of their own.
        let (less, more) = (less.on_a_scale_of(to).set, more.on_a_scale_of(to).set);
        if less.unit == more.unit {
            prop_assert!(less.value <= more.value, "{less} {more}");
        }
    }

    #[test]
    fn a_torque_told_is_never_one_per_cent_off(value in number(), from in torque_unit(), to in torque_unit()) {
        let Ok(source) = TorqueValue::new(value, from) else {
            return Ok(());
        };
        let told = source.on_a_scale_of(to);
        let share = f64::from(told.set.quantity() / source.quantity());
        prop_assert!((share - 1.0).abs() <= 0.010_000_001, "{source}: {told}");
        prop_assert!(from == to || told.source == Some(source) || told.set == source);
    }

    #[test]
    fn a_mark_is_never_half_a_step_nor_one_per_cent_off_and_rises(
        a in 0.02f64..1.0, b in 0.02f64..1.0, highest in 10i64..2_000, step in 1i64..200, unit in torque_unit()
    ) {
        let of = |n, places| Decimal::new(n, places).unwrap();
        let Ok(scale) = Scale::new(unit, of(highest, 1), of(highest * 10, 1), of(step, 2)) else {
            return Ok(());
        };
        let wanted = |share: f64| unit.torque(share * highest as f64);
        let mark = |share: f64| scale.mark(wanted(share)).ok();
        for share in [a, b] {
            if let Some(mark) = mark(share) {
                let off = (mark.value.to_f64() - unit.of(wanted(share))).abs();
                prop_assert!(off <= of(step, 2).to_f64() / 2.0 + 1e-9);
                prop_assert!(off <= 0.01 * unit.of(wanted(share)) + 1e-9);
            }
        }
        if let (Some(less), Some(more)) = (mark(a.min(b)), mark(a.max(b))) {
            prop_assert!(less.value <= more.value);
        }
    }

    #[test]
    fn a_reading_goes_there_and_back(value in number(), (from, to) in measure_units()) {
        let given = Measured { value, unit: from };
        let Ok(there) = given.to(to) else {
            return Ok(());
        };
        // As many digits as it takes to keep what was said, unless six places can't.
        let step = 10f64.powi(-i32::from(there.value.places()));
        let off = (there.value.to_f64() - given.number_in(to).unwrap()).abs();
        prop_assert!(off <= 0.5 * step * (1.0 + 1e-6), "{given} {there}");
        if there.value.places() < steps::MAX_PLACES {
            let last = 10f64.powi(-i32::from(value.places()));
            let back = there.number_in(from).unwrap();
            prop_assert!((back - value.to_f64()).abs() <= 0.5 * last * (1.0 + 1e-6), "{given} {there} {back}");
        }
    }

    #[test]
    fn more_is_more_in_every_unit(a in number(), b in number(), (from, to) in measure_units()) {
        let (less, more) = (a.min(b), a.max(b));
        let of = |value| Measured { value, unit: from };
        let exact = |value| of(value).number_in(to).unwrap();
        prop_assert!(less == more || exact(less) < exact(more));
        if let (Ok(less), Ok(more)) = (of(less).to(to), of(more).to(to)) {
            prop_assert!(less.value <= more.value);
        }
    }

    #[test]
    fn an_adapter_goes_there_and_back_and_keeps_the_order(
        l in 100f64..1_500.0, e in 0f64..400.0, angle in -180f64..180.0, a in 1f64..2_000.0, b in 1f64..2_000.0
    ) {
        let length = Length::new::<millimeter>;
        let Ok(arm) = AdapterArm::new(length(l), length(e), Angle::new::<degree>(angle)) else {
            return Ok(());
        };
        let torque = |value| TorqueUnit::NewtonMetre.torque(value);
        let back = arm.at_fastener(arm.setting(torque(a)).unwrap());
        if let Ok(back) = back {
            prop_assert!((f64::from(back / torque(a)) - 1.0).abs() < 1e-12);
        }
        if a < b {
            prop_assert!(arm.setting(torque(a)).unwrap() < arm.setting(torque(b)).unwrap());
        }
        // Towards the grip the fastener gets less than is set, straight out more.
        let along = (angle.to_radians().cos() * e) / l;
        prop_assert!((arm.factor() - 1.0 - along).abs() < 1e-9);
    }

    #[test]
    fn a_clamp_load_goes_there_and_back(torque in 1f64..3_000.0, k in 0.06f64..0.4, thread in 0usize..6) {
        let (thread, strength) = [
            ("M6", "8.8"), ("M12x1.5", "10.9"), ("M24", "12.9"),
            ("1/4-28", "grade 8"), ("1/2-13", "grade 5"), ("1 1/2-6", "grade 2"),
        ][thread];
        let (thread, strength): (Thread, Strength) = (thread.parse().unwrap(), strength.parse().unwrap());
        let k = NutFactor::new(k).unwrap();
        let torque = TorqueUnit::NewtonMetre.torque(torque);
        let load = clamp_load(torque, thread, k).unwrap();
        if let Ok(back) = torque_for_clamp_load(load, thread, k) {
            prop_assert!((f64::from(back / torque) - 1.0).abs() < 1e-12);
        }
        prop_assert!(strength.proof_load(thread).unwrap() < strength.minimum_ultimate_load(thread).unwrap());
    }
}
