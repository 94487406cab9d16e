//! How long the job still takes.

use super::state::{List, Phase};
use super::{Job, Out};
use crate::Tone;
use crate::procedure::{TimeLeft, left_after};
use std::time::Duration;

impl Job {
    /// "How long is left?"
    pub(super) fn how_long_is_left(&self, out: &mut Out) {
        match self.core.phase {
            Phase::Choosing(_) | Phase::LayingOut(_) | Phase::Working => {}
            Phase::MakingSafe | Phase::Closed(_) => {
                out.say(Tone::Answer, self.lines().only_making_safe());
                return;
            }
            Phase::Waiting => {
                self.tell_place(out);
                return;
            }
        }
        let time = self.time_left();
        let (whole, left) = (TimeLeft::minutes(time.whole), TimeLeft::minutes(time.left));
        out.say(
            Tone::Answer,
            match left {
                0 => self.lines().only_closing(),
                left => self.lines().minutes_left(left, whole),
            },
        );
    }

    /// What is left from the step on that is being worked. A branch that was entered counts as that step.
    fn time_left(&self) -> TimeLeft {
        let medians = self
            .settings
            .usual_seconds
            .iter()
            .map(|(step, seconds)| (step.clone(), Duration::from_secs(*seconds)))
            .collect();
        let at = match self.core.frames.first() {
            Some(frame) if frame.list == List::Main => frame.at,
            Some(_) | None => 0,
        };
        let before = self.procedure.steps.iter().take(at);
        let done = before
            .rev()
            .find(|step| {
                step.when
                    .iter()
                    .all(|(variant, option)| self.core.chosen.get(variant) == Some(option))
            })
            .map(|step| &step.id);
        left_after(&self.procedure, &self.core.chosen, &medians, done)
    }
}
