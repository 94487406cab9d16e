//! Tightening in stages: by shares or values of the torque, then by angle.

use super::running::raised;
use serde::{Deserialize, Serialize};

use super::{RunningTorqueError, TorqueSpec, TorqueSpecError, TorqueValue, with_running_torque};

/// One stage as the source words it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// To so many per cent of the torque, 1–100.
    Percent(u8),
    Torque(TorqueValue),
    /// A further turn in degrees, 1–720.
    Angle(u16),
}

/// What the last stage does to the fastener.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Finish {
    /// It ends at the torque.
    AtTorque,
    /// It is turned so many degrees further in all; the fastener stays elastic.
    ThenAngle(u16),
    /// It is turned so many degrees further in all, beyond its yield point.
    ThenAngleToYield(u16),
}

impl Finish {
    /// Whether a new fastener goes in every time: one turned beyond yield has stretched for good (common
    /// practice, no source).
    pub fn takes_a_new_fastener(self) -> bool {
        match self {
            Self::AtTorque | Self::ThenAngle(_) => false,
            Self::ThenAngleToYield(_) => true,
        }
    }
}

/// Whether the angle goes beyond the yield point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stretch {
    /// The fastener stays elastic.
    Elastic,
    /// The fastener is turned beyond its yield point.
    Yield,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PassEnd {
    /// A torque on the way.
    Torque(TorqueValue),
    /// The full torque, with its limits.
    FullTorque(TorqueSpec),
    /// A further turn in degrees.
    Angle(u16),
}

/// One pass over all fasteners of a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Pass {
    /// From 1.
    pub number: usize,
    pub end: PassEnd,
}

/// Stages that don't lead to the torque.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StageError {
    /// A share outside of 1–100 per cent.
    #[error("stage {0}: a share lies from 1 to 100 per cent")]
    Share(usize),
    /// A turn outside of 1–720 degrees.
    #[error("stage {0}: a further turn lies from 1 to 720 degrees")]
    Turn(usize),
    /// A torque that isn't above the one before.
    #[error("stage {0}: its torque must be above the stage's before")]
    Falls(usize),
    /// A torque after a turn.
    #[error("stage {0}: no torque can follow a turn by angle")]
    TorqueAfterAngle(usize),
    /// The last torque isn't the full one.
    #[error("the last stage by torque must reach {0}")]
    FallsShort(TorqueValue),
    /// Yield without a turn by angle.
    #[error("a fastener is taken to yield by a turn in degrees; give the angle")]
    YieldWithoutAngle,
}

/// How a group is tightened: checked so that its stages rise to the torque, and turns by angle come last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tightening {
    spec: TorqueSpec,
    stages: Vec<Stage>,
    finish: Finish,
}

impl Tightening {
    /// Stages that lead to `spec`; none means one pass to the full torque.
    ///
    /// # Errors
    /// [`StageError`], with the number of the first wrong stage.
    pub fn new(spec: TorqueSpec, stages: Vec<Stage>, stretch: Stretch) -> Result<Self, StageError> {
        let target = spec.target();
        let mut reached = None;
        let mut turned = 0u16;
        for (number, stage) in (1..).zip(&stages) {
            let share = match stage {
                Stage::Angle(degrees) => {
                    if !(1..=720).contains(degrees) {
                        return Err(StageError::Turn(number));
                    }
                    turned = turned.saturating_add(*degrees);
                    continue;
                }
                Stage::Percent(percent) if (1..=100).contains(percent) => {
                    f64::from(*percent) / 100.0
                }
                Stage::Percent(_) => return Err(StageError::Share(number)),
                Stage::Torque(value) if *value == target => 1.0,
                Stage::Torque(value) => f64::from(value.quantity() / target.quantity()),
            };
            if turned > 0 {
                return Err(StageError::TorqueAfterAngle(number));
            }
            if reached.is_some_and(|before| share <= before) {
                return Err(StageError::Falls(number));
            }
            reached = Some(share);
        }
        if reached.is_some_and(|share| (share - 1.0).abs() > 1e-9) {
            return Err(StageError::FallsShort(target));
        }
        let finish = match (stretch, turned) {
            (Stretch::Elastic, 0) => Finish::AtTorque,
            (Stretch::Elastic, degrees) => Finish::ThenAngle(degrees),
            (Stretch::Yield, 0) => return Err(StageError::YieldWithoutAngle),
            (Stretch::Yield, degrees) => Finish::ThenAngleToYield(degrees),
        };
        Ok(Self {
            spec,
            stages,
            finish,
        })
    }

    /// The full torque.
    pub fn spec(&self) -> TorqueSpec {
        self.spec
    }

    /// What the last stage does.
    pub fn finish(&self) -> Finish {
        self.finish
    }

    /// The passes in their order, each with what ends it. Where only turns by angle are given, a pass to the
    /// full torque goes before them.
    pub fn passes(&self) -> Vec<Pass> {
        let mut ends = Vec::with_capacity(self.stages.len() + 1);
        let full = PassEnd::FullTorque(self.spec);
        for stage in &self.stages {
            match stage {
                Stage::Percent(100) => ends.push(full),
                Stage::Percent(percent) => {
                    ends.push(PassEnd::Torque(self.spec.target().percent(*percent)));
                }
                Stage::Torque(value) if *value == self.spec.target() => ends.push(full),
                Stage::Torque(value) => ends.push(PassEnd::Torque(*value)),
                Stage::Angle(degrees) => {
                    if ends.is_empty() {
                        ends.push(full);
                    }
                    ends.push(PassEnd::Angle(*degrees));
                }
            }
        }
        if ends.is_empty() {
            ends.push(full);
        }
        // A last torque equal to the full one in another unit still carries the limits of the full one.
        if let Some(last) = ends
            .iter_mut()
            .rev()
            .find(|end| !matches!(end, PassEnd::Angle(_)))
        {
            *last = full;
        }
        (1..)
            .zip(ends)
            .map(|(number, end)| Pass { number, end })
            .collect()
    }

    /// The passes with a measured running torque added to every torque, where the source says so.
    ///
    /// # Errors
    /// [`RunningTorqueError`] where the running torque isn't below the full torque.
    pub fn passes_with_running_torque(
        &self,
        running: TorqueValue,
    ) -> Result<Vec<Pass>, RunningTorqueError> {
        let mut passes = self.passes();
        for pass in &mut passes {
            pass.end = match pass.end {
                PassEnd::Torque(value) => {
                    PassEnd::Torque(raised(value, running).map_err(TorqueSpecError::from)?)
                }
                PassEnd::FullTorque(spec) => {
                    PassEnd::FullTorque(with_running_torque(spec, running)?)
                }
                PassEnd::Angle(degrees) => PassEnd::Angle(degrees),
            };
        }
        Ok(passes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn torque(text: &str) -> TorqueValue {
        text.parse().unwrap()
    }

    fn tightening(stages: &[Stage], stretch: Stretch) -> Result<Tightening, StageError> {
        Tightening::new("140 N·m".parse().unwrap(), stages.to_vec(), stretch)
    }

    fn ends(passes: &[Pass]) -> Vec<String> {
        passes
            .iter()
            .map(|pass| match pass.end {
                PassEnd::Torque(value) => value.to_string(),
                PassEnd::FullTorque(spec) => format!("full {spec}"),
                PassEnd::Angle(degrees) => format!("{degrees}°"),
            })
            .collect()
    }

    #[test]
    fn shares_and_values_lead_to_the_full_torque() {
        let by_share = tightening(&[Stage::Percent(50), Stage::Percent(100)], Stretch::Elastic);
        assert_eq!(
            ends(&by_share.unwrap().passes()),
            ["70 N·m", "full 140 N·m"]
        );
        let stages = [torque("40 N·m"), torque("90 N·m"), torque("140 N·m")];
        let by_value = tightening(&stages.map(Stage::Torque), Stretch::Elastic).unwrap();
        assert_eq!(
            ends(&by_value.passes()),
            ["40 N·m", "90 N·m", "full 140 N·m"]
        );
        let running = by_value
            .passes_with_running_torque(torque("6 N·m"))
            .unwrap();
        assert_eq!(ends(&running), ["46 N·m", "96 N·m", "full 146 N·m"]);
        assert_eq!(
            ends(&tightening(&[], Stretch::Elastic).unwrap().passes()),
            ["full 140 N·m"]
        );
    }

    #[test]
    fn angles_come_last_and_may_go_to_yield() {
        let it = tightening(&[Stage::Angle(90), Stage::Angle(45)], Stretch::Yield).unwrap();
        assert_eq!(ends(&it.passes()), ["full 140 N·m", "90°", "45°"]);
        assert_eq!(it.finish(), Finish::ThenAngleToYield(135));
        assert!(it.finish().takes_a_new_fastener());
    }

    #[test]
    fn stages_that_lead_nowhere_are_refused() {
        use StageError::{Falls, FallsShort, Share, TorqueAfterAngle, Turn, YieldWithoutAngle};
        let refused = |stages: &[Stage]| tightening(stages, Stretch::Elastic).unwrap_err();
        assert_eq!(
            refused(&[Stage::Percent(50)]),
            FallsShort(torque("140 N·m"))
        );
        assert_eq!(refused(&[Stage::Percent(0)]), Share(1));
        assert_eq!(refused(&[Stage::Percent(50), Stage::Percent(50)]), Falls(2));
        assert_eq!(refused(&[Stage::Angle(0)]), Turn(1));
        assert_eq!(
            refused(&[Stage::Angle(90), Stage::Percent(100)]),
            TorqueAfterAngle(2)
        );
        assert_eq!(tightening(&[], Stretch::Yield), Err(YieldWithoutAngle));
    }
}
