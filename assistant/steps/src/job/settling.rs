//! What is measured for a torque, and what is tightened again once it has settled.

use super::state::{Timed, Timer};
use super::{Job, Out};
use crate::codes::{InWords, TightenAgain, settled, still_to_add};
use crate::procedure::{FastenerGroup, Step, WaitTime};
use crate::quantity::{
    RunningTorqueError, TorqueSpec, TorqueUnit, TorqueValue, with_running_torque,
};
use crate::{Decimal, Id, Moment, Tone};

/// The running torque of a group, where the source says that it is added.
pub(super) enum Running {
    /// The source doesn't say so, or there is none.
    NotAdded,
    /// It was measured.
    Measured(TorqueValue),
    /// It wasn't measured yet: the reading.
    Missing(Id),
}

impl Job {
    /// The torque as the source gives it.
    pub(super) fn source_torque(&self, group: &FastenerGroup) -> Option<TorqueSpec> {
        group.torque.as_ref()?.of(&self.core.chosen).copied()
    }

    /// The torque to tighten to: the source's, with the running torque where that is added and was measured.
    pub(super) fn torque_spec(&self, group: &FastenerGroup) -> Option<TorqueSpec> {
        let spec = self.source_torque(group)?;
        match self.running(group) {
            Running::Measured(running) => with_running_torque(spec, running).ok(),
            Running::NotAdded | Running::Missing(_) => Some(spec),
        }
    }

    pub(super) fn running(&self, group: &FastenerGroup) -> Running {
        let Some(id) = &group.running else {
            return Running::NotAdded;
        };
        match self.known.readings.get(id) {
            // One that runs freely adds nothing: nought is no torque.
            Some(value) => self
                .as_torque(id, *value)
                .map_or(Running::NotAdded, Running::Measured),
            None => Running::Missing(id.clone()),
        }
    }

    fn as_torque(&self, reading: &Id, value: Decimal) -> Option<TorqueValue> {
        let unit: TorqueUnit = self.procedure.readings.get(reading)?.unit.parse().ok()?;
        TorqueValue::new(value.trimmed(), unit).ok()
    }

    /// ", plus the running torque, which isn't measured yet"; empty where nothing is missing.
    pub(super) fn still_to_add(&self, group: &FastenerGroup) -> String {
        still_to_add(self.name_still_to_add(group).as_deref(), self.lines())
    }

    /// The name of the running torque that isn't measured yet.
    pub(super) fn name_still_to_add(&self, group: &FastenerGroup) -> Option<String> {
        match self.running(group) {
            Running::Missing(id) => Some(self.name_of(&id)),
            Running::NotAdded | Running::Measured(_) => None,
        }
    }

    /// "8 N·m running torque added".
    pub(super) fn added(&self, group: &FastenerGroup) -> Option<String> {
        match self.running(group) {
            Running::Measured(running) => {
                Some(self.lines().running_torque_added(running.to_string()))
            }
            Running::NotAdded | Running::Missing(_) => None,
        }
    }

    /// Keeps a reading that a torque or a wait hangs on, and tells what follows from it. Says whether it can be
    /// used: a nut that runs as hard as it is tightened is no good.
    pub(super) fn keep_reading(&mut self, id: &Id, value: Decimal, out: &mut Out) -> bool {
        let groups = self.procedure.fasteners.values();
        let groups: Vec<FastenerGroup> = groups
            .filter(|group| group.running.as_ref() == Some(id))
            .cloned()
            .collect();
        for group in &groups {
            let Some(spec) = self.source_torque(group) else {
                continue;
            };
            let Some(running) = self.as_torque(id, value) else {
                continue;
            };
            if let Err(error) = with_running_torque(spec, running) {
                self.known.readings.remove(id);
                let lines = self.lines();
                out.say(
                    Tone::Warning,
                    match error {
                        RunningTorqueError::TooHigh { running, target } => {
                            lines.running_torque_too_high(running.to_string(), target.to_string())
                        }
                        RunningTorqueError::Sum(_) => lines.running_torque_unusable(),
                    },
                );
                return false;
            }
        }
        let by_temperature = |step: &&Step| {
            let time = step.action.wait().map(|wait| &wait.time);
            matches!(time, Some(WaitTime::ByTemperature { reading, .. }) if reading == id)
        };
        let branches = self.procedure.branches.values();
        let steps = self
            .procedure
            .steps
            .iter()
            .chain(branches.flat_map(|branch| &branch.steps));
        let waiting: Vec<Timed> = steps
            .filter(by_temperature)
            .map(|step| Timed::Wait(step.id.clone()))
            .collect();
        if !groups.is_empty() || !waiting.is_empty() {
            self.known.readings.insert(id.clone(), value);
        }
        // A wait that was begun by another temperature begins anew.
        self.transient
            .timers
            .retain(|timer| !waiting.contains(&timer.of));
        true
    }

    /// Tells what a running torque that was just measured leads to.
    pub(super) fn tell_added(&self, reading: &Id, out: &mut Out) {
        for group in self.procedure.fasteners.values() {
            if group.running.as_ref() == Some(reading)
                && let Some(torque) = self.torque_of(group)
            {
                let added = self.added(group).unwrap_or_default();
                out.say(
                    Tone::Answer,
                    self.lines().group_gets(group.names.as_str(), torque, added),
                );
            }
        }
    }

    /// A group was tightened: it is done, or comes again once it has settled.
    pub(super) fn settles(&mut self, step: &Step, id: &Id, now: Moment, out: &mut Out) {
        let timed = Timed::Again(id.clone());
        self.transient.timers.retain(|timer| timer.of != timed);
        if step.again {
            self.known.again.remove(id);
            return;
        }
        let Some(group) = self.procedure.fasteners.get(id) else {
            return;
        };
        let Some(after) = group.again_after else {
            return;
        };
        out.say(
            Tone::Answer,
            self.lines()
                .comes_again(group.named(), settled(after, self.procedure.language)),
        );
        self.known.again.insert(id.clone());
        if let Some(wait) = after.wait() {
            self.transient.timers.push(Timer {
                of: timed,
                due: now.after(wait),
                announced: false,
            });
        }
    }

    /// What was loosened again settles no longer.
    pub(super) fn settles_no_longer(&mut self, id: &Id) {
        self.known.again.remove(id);
        let timed = Timed::Again(id.clone());
        self.transient.timers.retain(|timer| timer.of != timed);
    }

    /// What is still to be tightened again.
    pub(super) fn all_to_tighten_again(&self) -> impl Iterator<Item = TightenAgain> {
        let groups = self.known.again.iter();
        let groups = groups.filter_map(|id| Some((id, self.procedure.fasteners.get(id)?)));
        groups.filter_map(|(id, group)| {
            Some(TightenAgain {
                fastener: id.clone(),
                name: group.named().to_owned(),
                after: group.again_after?,
                torque: self.torque_to_set(group)?,
            })
        })
    }

    /// The same in words: "wheel nuts to be tightened again after 50 km, to 140 N·m".
    pub(super) fn to_tighten_again(&self) -> Vec<String> {
        self.all_to_tighten_again()
            .map(|it| it.words(self.procedure.language))
            .collect()
    }
}
