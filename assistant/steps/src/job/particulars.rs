//! The details that the record keeps of what was done, so that a report doesn't need the procedure.

use super::Job;
use super::settling::Running;
use crate::codes::{Fasteners, Kept, RunningTorque, TightenedHow, ToldTorque, WantedTorque};
use crate::procedure::{Action, FastenerGroup, Step, Thing};
use crate::{Entry, Id};

impl Job {
    /// What goes in new with a step, being never used twice, and its part number.
    pub(super) fn renewed_by(&self, step: &Step) -> Option<(String, Option<String>)> {
        let group = |id| {
            let group = self.procedure.fasteners.get(id)?;
            let renewed = (group.counted(), group.part_number.clone());
            group.once_only.then_some(renewed)
        };
        match &step.action {
            Action::Refit(Thing::Item(id)) => {
                let item = self.procedure.items.get(id)?;
                let renewed = (item.counted(), item.part_number.clone());
                item.once_only.then_some(renewed)
            }
            Action::Refit(Thing::Fastener(id)) | Action::Tighten(id) => group(id),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => None,
        }
    }

    /// That a group was tightened; `None` where it has no torque.
    pub(super) fn tightened(&self, id: &Id, group: &FastenerGroup) -> Option<Entry> {
        let torque = self.torque_spec(group)?;
        let running = match self.running(group) {
            Running::NotAdded => None,
            Running::Measured(running) => Some(RunningTorque::Added(running)),
            Running::Missing(id) => Some(RunningTorque::NotMeasured(self.name_of(&id))),
        };
        Some(Entry::Tightened {
            fastener: id.clone(),
            what: Kept::Data(Fasteners {
                count: group.count,
                name: group.named().to_owned(),
            }),
            wanted: Kept::Data(WantedTorque {
                torque: torque.to_string(),
                angle: group.angle,
                running,
            }),
            told: Kept::Data(ToldTorque {
                set: self.setting(torque).set,
                angle: group.angle,
                wrench: self.wrench_of(group),
            }),
            manner: how_tightened(group),
        })
    }
}

fn how_tightened(group: &FastenerGroup) -> Vec<TightenedHow> {
    let passes = (group.passes.len() > 1).then(|| TightenedHow::Passes(group.passes.clone()));
    let order = group.pattern.filter(|_| group.count > 1);
    let threads = group.lubrication.clone().map(TightenedHow::Threads);
    let threadlocker = group.threadlocker.clone().map(TightenedHow::Threadlocker);
    let all = [
        passes,
        order.map(TightenedHow::Order),
        threads,
        threadlocker,
    ];
    all.into_iter().flatten().collect()
}
