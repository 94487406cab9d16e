//! Running (prevailing) torque: what a locking nut takes merely to be turned, added where the source says so.

use super::{Limits, TorqueError, TorqueSpec, TorqueSpecError, TorqueValue};
use crate::Decimal;
use crate::quantity::exact::{difference, sum};

/// A running torque that can't be added.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RunningTorqueError {
    /// The nut already turns as hard as it should be tightened: thread or nut is damaged, or the reading wrong.
    #[error(
        "the running torque, {running}, must be below the torque itself, {target}: \
         check the thread, fit a new nut, measure again"
    )]
    TooHigh {
        /// What was measured.
        running: TorqueValue,
        /// What the source asks for.
        target: TorqueValue,
    },
    /// The sum isn't a torque.
    #[error(transparent)]
    Sum(#[from] TorqueSpecError),
}

/// The torque to tighten to when `running` was measured and the source says to add it: target and both limits
/// move up by it. A running torque in another unit is rounded to a hundredth of the source's unit.
///
/// Setting = running torque + specified torque: how maintenance manuals of aircraft and vehicles word it (common
/// practice, no source). It isn't added unless the source says so.
///
/// # Errors
/// [`RunningTorqueError`] where the running torque isn't below the target, or the sum passes 10 000 N·m.
pub fn with_running_torque(
    spec: TorqueSpec,
    running: TorqueValue,
) -> Result<TorqueSpec, RunningTorqueError> {
    let target = spec.target();
    if running.quantity() >= target.quantity() {
        return Err(RunningTorqueError::TooHigh { running, target });
    }
    let raised = raised(target, running).map_err(TorqueSpecError::from)?;
    let by = difference(raised.value, target.value)
        .ok_or(TorqueSpecError::Torque(TorqueError::Range))?;
    let more = |value: Decimal| sum(value, by).ok_or(TorqueSpecError::Torque(TorqueError::Range));
    let limits = match spec.limits() {
        Limits::Range(low, high) => Limits::Range(more(low)?, more(high)?),
        // The share was one of the specified torque, not of the sum.
        Limits::Percent(percent) => difference(spec.high().value, target.value)
            .map_or(Limits::Percent(percent), Limits::PlusMinus),
        Limits::Unstated => Limits::Unstated,
        Limits::PlusMinus(by) => Limits::PlusMinus(by),
        Limits::Uneven(plus, minus) => Limits::Uneven(plus, minus),
    };
    Ok(TorqueSpec::new(raised, limits)?)
}

/// One torque with the running torque added, in the first one's unit.
pub(super) fn raised(
    torque: TorqueValue,
    running: TorqueValue,
) -> Result<TorqueValue, TorqueError> {
    let unit = torque.unit;
    let by = if running.unit == unit {
        running.value
    } else {
        Decimal::nearest(unit.of(running.quantity()), 2)
            .ok_or(TorqueError::Range)?
            .trimmed()
    };
    TorqueValue::new(sum(torque.value, by).ok_or(TorqueError::Range)?, unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sum_of(spec: &str, running: &str) -> Result<String, RunningTorqueError> {
        with_running_torque(spec.parse().unwrap(), running.parse().unwrap())
            .map(|spec| spec.to_string())
    }

    #[test]
    fn target_and_limits_move_up() {
        let is = |text: &str| Ok(text.to_owned());
        assert_eq!(sum_of("140 N·m", "8 N·m"), is("148 N·m"));
        assert_eq!(sum_of("90–110 N·m", "5 N·m"), is("95–115 N·m"));
        assert_eq!(sum_of("100 N·m ± 10 %", "8 N·m"), is("108 ± 10 N·m"));
        assert_eq!(sum_of("60 lbf·ft", "60 lbf·in"), is("65 lbf·ft"));
    }

    #[test]
    fn a_nut_that_binds_is_refused() {
        let refused = sum_of("60 lbf·in", "80 lbf·in").unwrap_err();
        assert!(
            matches!(refused, RunningTorqueError::TooHigh { .. }),
            "{refused}"
        );
    }
}
