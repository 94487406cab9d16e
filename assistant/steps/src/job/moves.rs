//! Going on and back.

use super::state::{Frame, List, Pending, Phase, Tightening};
use super::{Job, Out};
use crate::codes::Refusal;
use crate::procedure::{Action, Step};
use crate::{Entry, Heard, Id, Moment, Tone};

impl Job {
    pub(super) fn choose(&mut self, variant: &Id, option: &Id, out: &mut Out) {
        let Phase::Choosing(number) = self.core.phase else {
            out.say(Tone::Refusal, self.lines().nothing_to_choose());
            return;
        };
        let asked = self.procedure.variants.get(number);
        let fits = asked.is_some_and(|asked| {
            asked.id == *variant && asked.options.iter().any(|(known, _)| known == option)
        });
        if !fits {
            out.say(Tone::Refusal, self.lines().not_an_answer());
            return;
        }
        self.core.chosen.insert(variant.clone(), option.clone());
        out.write(Entry::Chosen {
            variant: variant.clone(),
            option: option.clone(),
        });
        let words = self.words_of(variant);
        out.say(Tone::Answer, format!("{words}."));
        self.ask_or_lay_out(number + 1, out);
    }

    /// "Next": this is done.
    pub(super) fn next(&mut self, heard: &Heard, now: Moment, out: &mut Out) {
        match self.core.phase {
            Phase::Choosing(_) => {
                out.say(Tone::Refusal, self.lines().answer_first());
                self.tell_place(out);
            }
            Phase::LayingOut(page) => self.lay_out(page + 1, out),
            Phase::Working | Phase::MakingSafe => {
                if let Some(gate) = self.gate_that_holds().cloned() {
                    self.refuse_at(&gate, heard, Refusal::NextInstead, out);
                    return;
                }
                let Some(step) = self.current().cloned() else {
                    self.finish(out);
                    return;
                };
                if self.may_leave(&step, now, out) {
                    self.done(&step, out);
                }
            }
            Phase::Waiting => self.tell_place(out),
            Phase::Closed(_) => {}
        }
    }

    /// "Okay": may only mean that it was understood, so it moves on only where nothing is tightened, measured or
    /// inspected, and no warning was given.
    pub(super) fn okay(&mut self, heard: &Heard, now: Moment, out: &mut Out) {
        let plain = |step: &Step| match step.action {
            Action::Do | Action::Loosen(_) | Action::Remove(_) => step.warning.is_none(),
            Action::Refit(_)
            | Action::Tighten(_)
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => false,
        };
        match (&self.core.phase, self.gate_that_holds(), self.current()) {
            (Phase::Working | Phase::MakingSafe, None, None) => self.tell_place(out),
            (Phase::Working | Phase::MakingSafe, None, Some(step)) if !plain(step) => {
                out.say(Tone::Answer, self.lines().next_when_done());
            }
            _ => self.next(heard, now, out),
        }
    }

    /// Whether a step can be done by saying "next"; says what it waits for when not.
    fn may_leave(&mut self, step: &Step, now: Moment, out: &mut Out) -> bool {
        match &step.action {
            Action::Measure(reading) if !self.core.deferred.contains(reading) => {
                let name = self.name_of(reading);
                out.say(Tone::Refusal, self.lines().reading_first(name));
                false
            }
            Action::Ask { .. } => {
                let question = self.filled(&step.text, None);
                out.say(Tone::Question, self.lines().yes_or_no(question));
                false
            }
            Action::Tighten(id) if self.core.tightening.is_some() && !self.count_complete(id) => {
                let (done, count) = self.count_in_pass(id);
                self.core.pending = Some(Pending::AllTight);
                out.say(Tone::Question, self.lines().count_stands(done, count));
                false
            }
            Action::Wait(wait) => self.may_leave_wait(wait, now, out),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Tighten(_)
            | Action::Measure(_)
            | Action::Inspect
            | Action::Hold(_) => true,
        }
    }

    /// Puts a step on the record as done, and goes on.
    pub(super) fn done(&mut self, step: &Step, out: &mut Out) {
        self.transient.last_done = Some(step.id.clone());
        let (renewed, part_number) = self.renewed_by(step).unzip();
        out.write(Entry::Done {
            step: step.id.clone(),
            text: self.step_text(&step.text, step.fastener.as_ref()),
            renewed,
            part_number: part_number.flatten(),
        });
        if let Action::Tighten(id) = &step.action
            && let Some(group) = self.procedure.fasteners.get(id)
            && let Some(tightened) = self.tightened(id, group)
        {
            out.write(tightened);
        }
        if let Action::Tighten(id) = &step.action {
            self.settles(step, id, self.now, out);
        }
        self.enter_in_ledger(step);
        self.done_waiting(step);
        self.leave(out);
        self.advance(out);
    }

    /// To the next step that applies, and tells it.
    pub(super) fn advance(&mut self, out: &mut Out) {
        self.step_forward();
        self.arrive(out);
    }

    /// To the next step that applies, without telling it.
    pub(super) fn step_forward(&mut self) {
        self.core.tightening = None;
        if let Some(frame) = self.core.frames.last_mut() {
            frame.at += 1;
        }
        self.settle();
    }

    /// Over steps that don't apply; out of branches that are over.
    pub(super) fn settle(&mut self) {
        while let Some(frame) = self.core.frames.last() {
            match self.list(&frame.list).get(frame.at) {
                Some(step) if self.applies(step) => return,
                Some(_) => {
                    if let Some(frame) = self.core.frames.last_mut() {
                        frame.at += 1;
                    }
                }
                None if self.core.frames.len() > 1 => {
                    self.core.frames.pop();
                }
                None => return,
            }
        }
    }

    /// Whether a step is for the vehicle and the state at hand.
    pub(super) fn applies(&self, step: &Step) -> bool {
        let off = step.when_off.as_ref().is_none_or(|id| self.is_off(id));
        let put_off = match &step.action {
            Action::Refit(thing) => self.core.deferred.contains(thing.id()),
            Action::Tighten(id) | Action::Measure(id) => self.core.deferred.contains(id),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => false,
        };
        self.is_chosen(step) && off && !put_off
    }

    /// "Back": one step that applies; out of a branch at its first.
    pub(super) fn back(&mut self, out: &mut Out) {
        match self.core.phase {
            Phase::Choosing(number) => self.ask_or_lay_out(number.saturating_sub(1), out),
            Phase::LayingOut(page) => {
                let pages = self.pages_to_lay_out();
                let before = (0..page).rev().find(|page| !pages[*page].1.is_empty());
                self.lay_out(before.unwrap_or(0), out);
            }
            Phase::Working | Phase::MakingSafe => {
                self.leave(out);
                self.core.tightening = None;
                self.transient.last_done = None;
                if self.step_back() {
                    self.arrive(out);
                } else {
                    out.say(Tone::Refusal, self.lines().first_step());
                }
            }
            Phase::Waiting => self.tell_place(out),
            Phase::Closed(_) => {}
        }
    }

    fn step_back(&mut self) -> bool {
        let Some(frame) = self.core.frames.last() else {
            return false;
        };
        let list = self.list(&frame.list);
        let before = (0..frame.at.min(list.len())).rev().find(|at| {
            list.get(*at)
                .is_some_and(|step| self.applies_going_back(step))
        });
        match before {
            Some(at) => {
                if let Some(frame) = self.core.frames.last_mut() {
                    frame.at = at;
                }
                true
            }
            None if self.core.frames.len() > 1 => {
                self.core.frames.pop();
                // The branch may have been entered from the last step of its list.
                self.settle();
                true
            }
            None => false,
        }
    }

    /// Going back, a step is met again even when it was put off or its item is in place by now.
    fn applies_going_back(&self, step: &Step) -> bool {
        self.is_chosen(step) && step.when_off.as_ref().is_none_or(|id| self.is_off(id))
    }

    /// Tells where we are after a move.
    pub(super) fn arrive(&mut self, out: &mut Out) {
        self.core.closing = false;
        self.close_gate_here(out);
        if self.making_safe() && self.current().is_none() {
            match self.core.missing {
                Some(_) => self.stand_waiting(out),
                None => self.close_abandoned(out),
            }
            return;
        }
        self.tell_place(out);
    }

    /// "It won't come off": into the branch, and back to this step after it.
    pub(super) fn helper(&mut self, branch: &Id, out: &mut Out) {
        let offered = self
            .step()
            .is_some_and(|step| step.helpers.contains(branch));
        if !offered {
            out.say(Tone::Refusal, self.lines().no_help_here());
            return;
        }
        self.leave(out);
        self.enter_branch(branch, out);
        self.arrive(out);
    }

    /// Puts a branch in front of the place; one that we are in already begins again.
    pub(super) fn enter_branch(&mut self, branch: &Id, out: &mut Out) {
        let list = List::Branch(branch.clone());
        out.write(Entry::Helped {
            branch: branch.clone(),
        });
        self.core.tightening = None;
        if let Some(inside) = self.core.frames.iter().position(|frame| frame.list == list) {
            self.core.frames.truncate(inside);
        }
        self.core.frames.push(Frame { list, at: 0 });
        self.settle();
    }

    /// "This nut is done, which one now?"
    pub(super) fn next_fastener(&mut self, out: &mut Out) {
        let group = self.step().and_then(|step| match &step.action {
            Action::Tighten(id) => Some(id.clone()),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => None,
        });
        let Some(id) = group else {
            out.say(Tone::Refusal, self.lines().nothing_tightened_here());
            return;
        };
        let Some(group) = self.procedure.fasteners.get(&id).cloned() else {
            return;
        };
        let last_pass = group.passes.len();
        let mut now_at = match self.core.tightening {
            None => Tightening { pass: 0, done: 0 },
            Some(at) if at.pass >= last_pass => at,
            Some(at) => Tightening {
                pass: at.pass,
                done: at.done + 1,
            },
        };
        if now_at.done >= group.count && now_at.pass < last_pass {
            now_at = Tightening {
                pass: now_at.pass + 1,
                done: 0,
            };
        }
        self.core.tightening = Some(now_at);
        if now_at.pass >= last_pass {
            out.say(Tone::Answer, self.lines().all_had_final_torque(group.count));
            return;
        }
        let text = self.call_out(&group, now_at);
        out.say(Tone::Step, text);
    }
}
