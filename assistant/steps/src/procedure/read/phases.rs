//! Phases: the sections of a job whose time is told apart.

use super::Reader;
use super::texts::Names;
use crate::procedure::code::Code;
use crate::procedure::{Step, WorkPhase};
use std::time::Duration;

/// The longest that a phase may take: a week, in minutes.
const LONGEST_PHASE: u32 = 7 * 24 * 60;

impl Reader<'_> {
    /// The phases, in the order of the steps that they begin at.
    pub(super) fn phases(&mut self, steps: &[Step]) -> Vec<WorkPhase> {
        let mut phases = Vec::new();
        let mut last = None;
        for phase in &self.gathered.files[0].file.phase {
            let name = self.text(0, &phase.name, Names::With);
            let Some(from) = self.known("step", 0, &phase.from, |known| &known.steps) else {
                continue;
            };
            let place = self.at(0, phase.from.span());
            let at = steps.iter().position(|step| step.id == from);
            if at.is_none() || at <= last {
                self.desk.problem(
                    Code::Value,
                    &place,
                    format!("the phase “{name}” doesn't begin after the one before it"),
                    match at {
                        Some(_) => "this step comes earlier",
                        None => "this step isn't one of the job's own [[step]]s",
                    },
                    "give the phases in the order of the steps, each from the step that it begins at",
                );
            }
            last = at.or(last);
            let estimate = phase.minutes.as_ref().map(|minutes| {
                if !(1..=LONGEST_PHASE).contains(minutes.as_ref()) {
                    let place = self.at(0, minutes.span());
                    self.desk.problem(
                        Code::Value,
                        &place,
                        "a phase takes between a minute and a week",
                        "here",
                        "give whole minutes, or leave them out",
                    );
                }
                Duration::from_secs(u64::from(*minutes.as_ref()) * 60)
            });
            phases.push(WorkPhase {
                name,
                from,
                estimate,
            });
        }
        phases
    }
}
