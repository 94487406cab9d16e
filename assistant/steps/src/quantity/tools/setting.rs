//! What is set on the wrench in hand.

use super::{Adapter, TorqueWrench};
use crate::quantity::{AdapterError, SpokenTorque, TorqueValue};

/// A torque that can't be set on a wrench.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SettingError {
    /// Below the scale.
    #[error("its scale starts at {0}; use a smaller wrench")]
    BelowScale(TorqueValue),
    /// Above the scale.
    #[error("its scale ends at {0}; use a larger wrench")]
    AboveScale(TorqueValue),
    /// No mark lies near on the scale.
    #[error(
        "no mark on its scale is near enough, in steps of {0}; use a wrench with a finer scale"
    )]
    BetweenMarks(TorqueValue),
    /// The nearest mark is more than 1 % off.
    #[error("its nearest mark, {0}, is more than 1 % off; use a wrench with a finer scale")]
    TooCoarse(TorqueValue),
    /// An adapter on a wrench of unknown length.
    #[error("its length from grip to drive square isn't known; measure it for the adapter")]
    NoLength,
    /// The formula doesn't apply.
    #[error(transparent)]
    Adapter(#[from] AdapterError),
}

impl TorqueValue {
    /// The value to set on a wrench: in its unit, on a mark of its scale, within its range. Never more than half a
    /// step nor 1 % off the source's value, which is told after it where the two differ.
    ///
    /// # Errors
    /// [`SettingError`] where no mark will do.
    pub fn on_wrench(self, wrench: &TorqueWrench) -> Result<SpokenTorque, SettingError> {
        let set = wrench.scale.mark(self.quantity())?;
        Ok(SpokenTorque {
            set,
            source: (set != self).then_some(self),
        })
    }

    /// The value to set on a wrench with an adapter; the source's value, which the fastener gets, is always told
    /// after it.
    ///
    /// # Errors
    /// [`SettingError`] where no mark will do, the wrench's length isn't known, or the formula doesn't apply.
    pub fn on_wrench_with(
        self,
        wrench: &TorqueWrench,
        adapter: &Adapter,
    ) -> Result<SpokenTorque, SettingError> {
        let setting = adapter.on(wrench)?.setting(self.quantity())?;
        Ok(SpokenTorque {
            set: wrench.scale.mark(setting)?,
            source: Some(self),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Decimal;
    use crate::quantity::{Accuracy, Scale, TorqueUnit};
    use proptest::prelude::*;
    use uom::si::angle::degree;
    use uom::si::f64::{Angle, Length};
    use uom::si::length::inch;

    fn wrench(unit: TorqueUnit, lowest: &str, highest: &str, step: &str) -> TorqueWrench {
        let number = |text: &str| text.parse::<Decimal>().unwrap();
        TorqueWrench {
            name: "click wrench".into(),
            scale: Scale::new(unit, number(lowest), number(highest), number(step)).unwrap(),
            drive: None,
            length: Some(Length::new::<inch>(12.0)),
            calibration_due: None,
            accuracy: Accuracy::Iso6789,
        }
    }

    fn set(text: &str, wrench: &TorqueWrench) -> Result<String, SettingError> {
        text.parse::<TorqueValue>()
            .unwrap()
            .on_wrench(wrench)
            .map(|set| set.to_string())
    }

    #[test]
    fn the_setting_lies_on_a_mark_of_the_scale() {
        let pounds = wrench(TorqueUnit::PoundFoot, "20", "150", "1");
        assert_eq!(set("140 N·m", &pounds).unwrap(), "103 lbf·ft (140 N·m)");
        assert_eq!(set("85 lbf·ft", &pounds).unwrap(), "85 lbf·ft");
        assert_eq!(
            set("85.5 lbf·ft", &pounds).unwrap(),
            "86 lbf·ft (85.5 lbf·ft)"
        );
        let fine = wrench(TorqueUnit::NewtonMetre, "5", "25", "0.05");
        assert_eq!(set("80 lbf·in", &fine).unwrap(), "9.05 N·m (80 lbf·in)");
    }

    #[test]
    fn what_the_scale_cannot_show_is_refused() {
        let coarse = wrench(TorqueUnit::NewtonMetre, "40", "200", "5");
        assert!(matches!(
            set("30 N·m", &coarse),
            Err(SettingError::BelowScale(_))
        ));
        assert!(matches!(
            set("201 N·m", &coarse),
            Err(SettingError::AboveScale(_))
        ));
        assert!(matches!(
            set("62 N·m", &coarse),
            Err(SettingError::TooCoarse(_))
        ));
        let odd = wrench(TorqueUnit::NewtonMetre, "40", "198", "5");
        assert!(matches!(
            set("198 N·m", &odd),
            Err(SettingError::BetweenMarks(_))
        ));
    }

    /// US Army TM 9-2350-261-20-1: 40 lbf·ft wanted, wrench 12 in, adapter 4 in: set 30 lbf·ft.
    #[test]
    fn the_army_handbooks_adapter_on_a_scale() {
        let adapter = |degrees: f64| Adapter {
            name: "crow's-foot".into(),
            length: Length::new::<inch>(4.0),
            angle: Angle::new::<degree>(degrees),
            size: None,
        };
        let mut wrench = wrench(TorqueUnit::PoundFoot, "20", "100", "1");
        let told = |degrees: f64, wrench: &TorqueWrench| {
            let wanted: TorqueValue = "40 lbf·ft".parse().unwrap();
            wanted
                .on_wrench_with(wrench, &adapter(degrees))
                .map(|set| set.to_string())
        };
        assert_eq!(told(0.0, &wrench).unwrap(), "30 lbf·ft (40 lbf·ft)");
        assert_eq!(told(90.0, &wrench).unwrap(), "40 lbf·ft (40 lbf·ft)");
        wrench.length = None;
        assert_eq!(told(0.0, &wrench), Err(SettingError::NoLength));
    }

    proptest! {
        #[test]
        fn never_over_one_per_cent_nor_half_a_step(
            tenths in 1i64..30_000, from in 0usize..6, to in 0usize..6, step in 1i64..500, highest in 20i64..3_000
        ) {
            let (from, to) = (TorqueUnit::ALL[from], TorqueUnit::ALL[to]);
            let d = |n, places| Decimal::new(n, places).unwrap();
            let Ok(scale) = Scale::new(to, d(highest, 1), d(highest * 10, 1), d(step, 2)) else {
                return Ok(());
            };
            let mut wrench = wrench(to, "1", "10", "1");
            wrench.scale = scale;
            let source = TorqueValue { value: d(tenths, 1), unit: from };
            if let Ok(told) = source.on_wrench(&wrench) {
                let exact = to.of(source.quantity());
                let off = (told.set.value.to_f64() - exact).abs();
                prop_assert!(off <= 0.01 * exact + 1e-9);
                prop_assert!(off <= d(step, 2).to_f64() / 2.0 + 1e-9);
                prop_assert_eq!(told.set.unit, to);
                prop_assert!(told.set.value >= scale.lowest().value);
                prop_assert!(told.set.value <= scale.highest().value);
                let steps = told.set.value.to_f64() / d(step, 2).to_f64();
                prop_assert!((steps - steps.round()).abs() < 1e-6);
            }
        }
    }
}
