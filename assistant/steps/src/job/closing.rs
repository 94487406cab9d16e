//! The end of a job: finished, or given up with the vehicle left safe.

use super::state::{Frame, List, OutcomeKey, Pending, Phase};
use super::{Job, Out};
use crate::codes::Kept;
use crate::lines::Lines;
use crate::{Entry, Tone};

impl Job {
    /// "Finish": closes the job when every step is done and nothing is outstanding but what was deferred
    /// by name; says what is missing when not.
    pub(super) fn finish(&mut self, out: &mut Out) {
        match self.core.phase {
            Phase::Working => {}
            Phase::MakingSafe => {
                out.say(Tone::Refusal, self.lines().make_safe_first());
                self.tell_place(out);
                return;
            }
            Phase::Choosing(_) | Phase::LayingOut(_) => {
                out.say(Tone::Refusal, self.lines().not_begun());
                return;
            }
            Phase::Waiting => {
                self.tell_place(out);
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
            let named: Vec<String> = undeferred.iter().map(|id| self.left(id)).collect();
            missing.push(self.lines().undeferred(named.join("; ")));
        }
        if steps_left > 0 {
            missing.push(self.lines().steps_left(steps_left));
        }
        let advice = if let Some(first) = undeferred.iter().find(|id| self.may_wait(id)) {
            format!(" {}", self.lines().go_on_or_defer(self.name_of(first)))
        } else if steps_left == 0 {
            format!(" {}", self.lines().go_back_or_abandon())
        } else {
            String::new()
        };
        out.say(
            Tone::Refusal,
            format!("{}{advice}", self.lines().not_finished(missing.join("; "))),
        );
        self.tell_place(out);
    }

    pub(super) fn say_finished(&self, out: &mut Out) {
        let outstanding = self.outstanding();
        if outstanding.is_empty() {
            out.say(Tone::Answer, self.lines().finished());
        } else {
            let left = outstanding.join("; ");
            out.say(Tone::Warning, self.lines().closed_with_deferred(left));
        }
        let again = self.to_tighten_again();
        if !again.is_empty() {
            out.say(
                Tone::Warning,
                self.lines().still_to_do_tag(again.join("; ")),
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
        if self.making_safe() && self.core.missing.is_none() {
            out.say(Tone::Answer, self.lines().giving_up_already());
            self.tell_place(out);
            return;
        }
        self.core.pending = Some(Pending::Abandon);
        out.say(Tone::Question, self.lines().give_up());
    }

    pub(super) fn make_safe(&mut self, out: &mut Out) {
        self.leave(out);
        out.write(Entry::Abandoning);
        let waited = self.core.missing.take();
        let begun = waited.is_some_and(|it| !it.frames.is_empty());
        if self.core.frames.is_empty() && !begun {
            // Nothing was begun, so there is nothing to make safe.
            self.close_abandoned(out);
            return;
        }
        self.begin_making_safe(out);
    }

    /// To the first of the steps that leave the vehicle safe.
    pub(super) fn begin_making_safe(&mut self, out: &mut Out) {
        let off = self.outstanding();
        if !off.is_empty() {
            out.list(Tone::Answer, self.lines(), off, Lines::not_in_place);
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
            true => self.lines().nothing_left_off(),
            false => self.lines().not_in_place_recorded(off.join("; ")),
        };
        out.say(Tone::Warning, self.lines().given_up(left));
        self.close(OutcomeKey::Abandoned, out);
    }

    pub(super) fn close(&mut self, outcome: OutcomeKey, out: &mut Out) {
        out.write(Entry::Closed {
            outcome: outcome.into(),
            outstanding: self.all_outstanding().map(Kept::Data).collect(),
            again: self.all_to_tighten_again().map(Kept::Data).collect(),
        });
        self.core.phase = Phase::Closed(outcome);
        self.core.pending = None;
        self.core.frames.clear();
        self.core.missing = None;
        self.transient.timers.clear();
    }
}
