//! Torque wrenches with their scales, and adapters.

use super::Accuracy;
use crate::Decimal;
use crate::quantity::exact::times;
use crate::quantity::{
    AdapterArm, AdapterError, Date, SettingError, Size, TorqueUnit, TorqueValue,
};
use uom::si::f64::{Angle, Length, Torque};

/// The scale of a torque wrench: marks at the multiples of its step, from its lowest to its highest torque.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    unit: TorqueUnit,
    lowest: Decimal,
    highest: Decimal,
    step: Decimal,
}

/// A scale that no wrench has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ScaleError {
    #[error("a scale rises from above zero to below 10 000 N·m")]
    Range,
    #[error("a scale's step is above zero and at most a quarter of the highest torque")]
    Step,
}

impl Scale {
    /// A scale.
    ///
    /// # Errors
    /// [`ScaleError::Range`] unless 0 < `lowest` < `highest` < 10 000 N·m; [`ScaleError::Step`] unless
    /// 0 < `step` ≤ `highest` / 4.
    pub fn new(
        unit: TorqueUnit,
        lowest: Decimal,
        highest: Decimal,
        step: Decimal,
    ) -> Result<Self, ScaleError> {
        let ends = [lowest, highest].map(|end| TorqueValue::new(end, unit));
        if ends.iter().any(Result::is_err) || lowest >= highest {
            return Err(ScaleError::Range);
        }
        if step.digits() <= 0 || step.to_f64() > highest.to_f64() / 4.0 {
            return Err(ScaleError::Step);
        }
        Ok(Self {
            unit,
            lowest,
            highest,
            step,
        })
    }

    /// The unit it is marked in.
    pub fn unit(self) -> TorqueUnit {
        self.unit
    }

    /// Its lowest torque.
    pub fn lowest(self) -> TorqueValue {
        self.value(self.lowest)
    }

    /// Its highest torque.
    pub fn highest(self) -> TorqueValue {
        self.value(self.highest)
    }

    /// The step from mark to mark.
    pub fn step(self) -> Decimal {
        self.step
    }

    /// The mark for a torque: never more than half a step off, and never more than 1 %.
    ///
    /// # Errors
    /// [`SettingError::BelowScale`], [`SettingError::AboveScale`], or [`SettingError::TooCoarse`] where the
    /// nearest mark is more than 1 % off.
    pub fn mark(self, torque: Torque) -> Result<TorqueValue, SettingError> {
        let exact = self.unit.of(torque);
        // A billionth, so that the end of the scale isn't missed by a binary fraction.
        if exact < self.lowest.to_f64() * (1.0 - 1e-9) || exact.is_nan() {
            return Err(SettingError::BelowScale(self.lowest()));
        }
        if exact > self.highest.to_f64() * (1.0 + 1e-9) {
            return Err(SettingError::AboveScale(self.highest()));
        }
        // Both lie within a torque's bounds and six places: far below 2^53 steps.
        let steps = (exact / self.step.to_f64()).round() as i64;
        let nearest = times(self.step, steps).map(Decimal::trimmed);
        let on_scale = nearest.filter(|mark| (self.lowest..=self.highest).contains(mark));
        let Some(mark) = on_scale else {
            return Err(SettingError::BetweenMarks(self.value(self.step)));
        };
        if (mark.to_f64() - exact).abs() > 0.01 * exact {
            return Err(SettingError::TooCoarse(self.value(mark)));
        }
        Ok(self.value(mark))
    }

    fn value(self, value: Decimal) -> TorqueValue {
        TorqueValue {
            value,
            unit: self.unit,
        }
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct TorqueWrench {
    /// What the technician calls it.
    pub name: String,
    pub scale: Scale,
    /// Width of its drive square.
    pub drive: Option<Size>,
    /// From the middle of its grip to its drive square; needed with an adapter.
    pub length: Option<Length>,
    /// The day its calibration falls due.
    pub calibration_due: Option<Date>,
    /// How far it may be off.
    pub accuracy: Accuracy,
}

/// An adapter (crow's-foot, extension in the wrench's plane).
#[derive(Debug, Clone, PartialEq)]
pub struct Adapter {
    /// What the technician calls it.
    pub name: String,
    /// From the drive square to the fastener.
    pub length: Length,
    /// The angle at which it is put on: 0° straight out, 90° square to the wrench.
    pub angle: Angle,
    /// Its width across flats.
    pub size: Option<Size>,
}

impl Adapter {
    /// The arm of this adapter on a wrench.
    ///
    /// # Errors
    /// [`SettingError::NoLength`] where the wrench's length isn't known, else [`AdapterError`] where the formula
    /// doesn't apply.
    pub fn on(&self, wrench: &TorqueWrench) -> Result<AdapterArm, SettingError> {
        let length = wrench.length.ok_or(SettingError::NoLength)?;
        AdapterArm::new(length, self.length, self.angle).map_err(|error: AdapterError| error.into())
    }
}
