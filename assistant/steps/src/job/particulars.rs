//! What the record keeps beside the fact that something was done, so that a report needs no procedure.

use super::Job;
use crate::procedure::{Action, FastenerGroup, Step, Thing};
use crate::quantity::{Pattern, Stage};

impl Job {
    /// What goes in new with a step, being never used twice.
    pub(super) fn renewed_by(&self, step: &Step) -> Option<String> {
        let group = |id| {
            let group = self.procedure.fasteners.get(id)?;
            group.once_only.then(|| group.counted())
        };
        match &step.action {
            Action::Refit(Thing::Item(id)) => {
                let item = self.procedure.items.get(id)?;
                item.once_only.then(|| item.name.clone())
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

    /// How a group is tightened, in the words of the record.
    pub(super) fn manner_of(&self, group: &FastenerGroup) -> Vec<String> {
        let mut manner = Vec::new();
        if group.passes.len() > 1 {
            let end = |stage: &Stage| match stage {
                Stage::Percent(percent) => format!("{percent} %"),
                Stage::Torque(torque) => torque.to_string(),
                Stage::Angle(degrees) => format!("{degrees}° further"),
            };
            let ends: Vec<String> = group.passes.iter().map(end).collect();
            manner.push(format!(
                "{} passes: {}",
                group.passes.len(),
                ends.join(", ")
            ));
        }
        if group.count > 1
            && let Some(pattern) = group.pattern
        {
            manner.push(
                match pattern {
                    Pattern::CrissCross => "criss-cross",
                    Pattern::Star => "in a star",
                    Pattern::InTurn => "one after the other",
                }
                .to_owned(),
            );
        }
        if let Some(lubrication) = &group.lubrication {
            manner.push(format!("threads {lubrication}"));
        }
        if let Some(threadlocker) = &group.threadlocker {
            manner.push(format!("threadlocker {threadlocker}"));
        }
        manner
    }
}
