//! The end of a job: finished, or given up with the vehicle left safe.

use super::state::{Frame, List, OutcomeKey, Pending, Phase};
use super::{Job, Out};
use crate::{Entry, Tone};

impl Job {
    /// "Finish": closes the job when every step is done and nothing is outstanding but what was deferred
    /// by name; says what is missing when not.
    pub(super) fn finish(&mut self, out: &mut Out) {
        match self.core.phase {
            Phase::Working => {}
            Phase::MakingSafe => {
                out.say(Tone::Refusal, "First the vehicle is made safe.");
                self.tell_place(out);
                return;
            }
            Phase::Choosing(_) | Phase::LayingOut(_) => {
                out.say(
                    Tone::Refusal,
                    "The work has not begun. To give it up, say abandon.",
                );
                return;
            }
            Phase::Closed(_) => return,
        }
        let steps_left = self.steps_left();
        let undeferred = self.undeferred();
        if steps_left == 0 && undeferred.is_empty() {
            if !self.settings.people.is_nobody() {
                self.ask_for_signature(out);
                return;
            }
            self.say_finished(out);
            self.close(OutcomeKey::Finished, out);
            return;
        }
        self.core.closing = true;
        let mut missing = Vec::new();
        if !undeferred.is_empty() {
            let named: Vec<String> = undeferred
                .iter()
                .map(|id| format!("{} {}", self.name_of(id), self.how_left(id)))
                .collect();
            missing.push(format!("not in place: {}", named.join("; ")));
        }
        match steps_left {
            0 => {}
            1 => missing.push("1 step is left".to_owned()),
            many => missing.push(format!("{many} steps are left")),
        }
        let advice = if let Some(first) = undeferred.iter().find(|id| self.may_wait(id)) {
            format!(" Go on, or say: defer the {}.", self.name_of(first))
        } else if steps_left == 0 {
            " Go back to it, or abandon the job: the vehicle can't go back into service so."
                .to_owned()
        } else {
            String::new()
        };
        out.say(
            Tone::Refusal,
            format!("Not finished: {}.{advice}", missing.join("; ")),
        );
        self.tell_place(out);
    }

    pub(super) fn say_finished(&self, out: &mut Out) {
        let outstanding = self.outstanding();
        if outstanding.is_empty() {
            out.say(Tone::Answer, "The job is finished and recorded.");
        } else {
            let left = outstanding.join("; ");
            out.say(
                Tone::Warning,
                format!("The job is closed with work deferred: {left}."),
            );
        }
        let again = self.to_tighten_again();
        if !again.is_empty() {
            out.say(
                Tone::Warning,
                format!(
                    "Still to do: {}. Write it on the key's tag.",
                    again.join("; ")
                ),
            );
        }
    }

    /// Steps that still apply, the current one included.
    pub(super) fn steps_left(&self) -> usize {
        self.core
            .frames
            .iter()
            .map(|frame| {
                let list = self.list(&frame.list);
                list.iter()
                    .skip(frame.at)
                    .filter(|step| self.applies(step))
                    .count()
            })
            .sum()
    }

    /// "Abandon": asked once more, then the vehicle is made safe.
    pub(super) fn abandon(&mut self, out: &mut Out) {
        if self.making_safe() {
            out.say(Tone::Answer, "The job is being given up already.");
            self.tell_place(out);
            return;
        }
        self.core.pending = Some(Pending::Abandon);
        out.say(
            Tone::Question,
            "Give the job up and make the vehicle safe? Yes or no?",
        );
    }

    pub(super) fn make_safe(&mut self, out: &mut Out) {
        self.leave(out);
        out.write(Entry::Abandoning);
        if self.core.frames.is_empty() {
            // Nothing was begun, so there is nothing to make safe.
            self.close_abandoned(out);
            return;
        }
        let off = self.outstanding();
        if !off.is_empty() {
            out.say(Tone::Answer, format!("Not in place: {}.", off.join("; ")));
        }
        self.core.phase = Phase::MakingSafe;
        self.core.tightening = None;
        self.core.frames = vec![Frame {
            list: List::MakeSafe,
            at: 0,
        }];
        self.settle();
        self.arrive(out);
    }

    pub(super) fn close_abandoned(&mut self, out: &mut Out) {
        let off = self.outstanding();
        let left = match off.is_empty() {
            true => "Nothing that came off is left off.".to_owned(),
            false => format!("Not in place: {}. The record says so.", off.join("; ")),
        };
        out.say(Tone::Warning, format!("The job is given up. {left}"));
        self.close(OutcomeKey::Abandoned, out);
    }

    pub(super) fn close(&mut self, outcome: OutcomeKey, out: &mut Out) {
        out.write(Entry::Closed {
            outcome: outcome.into(),
            outstanding: self.outstanding(),
            again: self.to_tighten_again(),
        });
        self.core.phase = Phase::Closed(outcome);
        self.core.pending = None;
        self.core.frames.clear();
        self.told.timers.clear();
    }
}
