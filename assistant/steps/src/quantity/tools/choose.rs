//! Which of the owned torque wrenches suits a torque, and what speaks against it.

use super::{Adapter, SettingError, Tools, TorqueWrench};
use crate::quantity::{Date, SpokenTorque, TorqueSpec};
use std::fmt;
use uom::si::f64::Torque;

/// A wrench is used from this share of its highest torque upward (common practice, no source).
const LEAST_SHARE: f64 = 0.20;

/// The wrench to take, what to set, and what to say with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice<'a> {
    pub wrench: &'a TorqueWrench,
    /// What to set.
    pub setting: SpokenTorque,
    /// What speaks against it; empty for most.
    pub warnings: Vec<Warning>,
}

/// Something that speaks against a wrench without ruling it out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Warning {
    /// Its calibration fell due.
    CalibrationOverdue {
        /// The day.
        due: Date,
        /// Days since then.
        days: i32,
    },
    /// Nobody wrote down when its calibration falls due.
    CalibrationUnknown,
    /// Its own error may take the torque out of the limits asked for.
    ToleranceNotHeld {
        /// The wrench's error as a share of the setting.
        error: f64,
        /// The limits asked for.
        asked: TorqueSpec,
    },
}

/// Why a wrench can't be taken.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Unsuitable {
    /// No mark of its scale will do.
    #[error(transparent)]
    Setting(#[from] SettingError),
    /// The setting is below a fifth of its range.
    #[error("the setting is only {0} % of its range; use a smaller wrench")]
    LowInRange(u8),
}

/// No owned wrench will do.
#[derive(Debug, Clone, PartialEq)]
pub struct NoWrench {
    /// Each wrench's name and why it can't be taken.
    pub reasons: Vec<(String, Unsuitable)>,
}

impl TorqueWrench {
    /// What to set for a torque, and what speaks against it.
    ///
    /// # Errors
    /// [`Unsuitable`] where no mark will do or the setting is below a fifth of the range.
    pub fn choice(
        &self,
        spec: TorqueSpec,
        adapter: Option<&Adapter>,
        today: Date,
    ) -> Result<Choice<'_>, Unsuitable> {
        let target = spec.target();
        let (setting, factor) = match adapter {
            Some(adapter) => (
                target.on_wrench_with(self, adapter)?,
                adapter.on(self)?.factor(),
            ),
            None => (target.on_wrench(self)?, 1.0),
        };
        let share = f64::from(setting.set.quantity() / self.scale.highest().quantity());
        if share < LEAST_SHARE - 1e-9 {
            // A share below 20 %, whole per cent.
            return Err(Unsuitable::LowInRange((share * 100.0).floor() as u8));
        }
        let mut warnings = Vec::new();
        match self.calibration_due {
            Some(due) if due < today => warnings.push(Warning::CalibrationOverdue {
                due,
                days: due.days_until(today),
            }),
            Some(_) => {}
            None => warnings.push(Warning::CalibrationUnknown),
        }
        let error = self.accuracy.share(setting.set.quantity());
        let reached: Torque = setting.set.quantity() * factor;
        let holds = |share: f64| spec.allows(reached * share) != Some(false);
        if !(holds(1.0 - error) && holds(1.0 + error)) {
            warnings.push(Warning::ToleranceNotHeld { error, asked: spec });
        }
        Ok(Choice {
            wrench: self,
            setting,
            warnings,
        })
    }
}

impl Tools {
    /// The wrench that suits a torque best: the one with the fewest warnings, and of those the one whose range is
    /// used furthest.
    ///
    /// # Errors
    /// [`NoWrench`] with a reason for each, where none will do.
    pub fn wrench_for(
        &self,
        spec: TorqueSpec,
        adapter: Option<&Adapter>,
        today: Date,
    ) -> Result<Choice<'_>, NoWrench> {
        let mut reasons = Vec::new();
        let mut choices = Vec::new();
        for wrench in &self.wrenches {
            match wrench.choice(spec, adapter, today) {
                Ok(choice) => choices.push(choice),
                Err(reason) => reasons.push((wrench.name.clone(), reason)),
            }
        }
        let used = |choice: &Choice<'_>| {
            let highest = choice.wrench.scale.highest().quantity();
            f64::from(choice.setting.set.quantity() / highest)
        };
        choices
            .into_iter()
            .min_by(|a, b| {
                let fewer = a.warnings.len().cmp(&b.warnings.len());
                fewer.then(used(b).total_cmp(&used(a)))
            })
            .ok_or(NoWrench { reasons })
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CalibrationOverdue { due, days } => {
                let s = if *days == 1 { "" } else { "s" };
                write!(f, "its calibration fell due on {due}, {days} day{s} ago")
            }
            Self::CalibrationUnknown => f.write_str("its calibration date isn't known"),
            Self::ToleranceNotHeld { error, asked } => {
                let error = error * 100.0;
                write!(f, "its error of {error:.0} % can't hold {asked}")
            }
        }
    }
}

impl fmt::Display for NoWrench {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.reasons.is_empty() {
            return f.write_str("there's no torque wrench in the tools file");
        }
        for (place, (name, reason)) in self.reasons.iter().enumerate() {
            let between = if place == 0 { "" } else { "; " };
            write!(f, "{between}{name}: {reason}")?;
        }
        Ok(())
    }
}

impl std::error::Error for NoWrench {}
