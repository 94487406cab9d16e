//! Questions that the assistant asks: it repeats what matters, and waits for yes or no.

use super::state::{Pending, Phase};
use super::{Job, Out};
use crate::codes::{Kept, Refusal};
use crate::lines::Lines;
use crate::procedure::{Action, ReadingOf};
use crate::quantity::{MeasureUnit, Measured};
use crate::{Command, Decimal, Entry, Heard, Id, Manner, Moment, Tone};

impl Job {
    /// A number was said: it counts only when it has been said back and confirmed.
    pub(super) fn reading(&mut self, value: Decimal, _heard: &Heard, out: &mut Out) {
        let wanted = self.step().and_then(|step| match &step.action {
            Action::Measure(id) => Some(id.clone()),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Tighten(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => None,
        });
        let Some(id) = wanted else {
            out.say(Tone::Refusal, self.lines().no_reading_here());
            return;
        };
        let Some(reading) = self.procedure.readings.get(&id) else {
            return;
        };
        if value < reading.least || value > reading.most {
            out.say(
                Tone::Refusal,
                self.lines().cannot_be(
                    value.to_string(),
                    reading.unit.as_str(),
                    reading.name.as_str(),
                    reading.least.to_string(),
                    reading.most.to_string(),
                ),
            );
            return;
        }
        out.say(
            Tone::Question,
            self.lines().read_back(format!(
                "{} {value} {}{}",
                capital(&reading.name),
                reading.unit,
                in_thou(value, &reading.unit)
            )),
        );
        self.core.pending = Some(Pending::Reading {
            reading: id,
            value,
            sound: _heard.sound.clone(),
        });
    }

    /// "Yes" or "no".
    pub(super) fn answered(&mut self, yes: bool, heard: &Heard, now: Moment, out: &mut Out) {
        match self.core.pending.take() {
            Some(Pending::Reading {
                reading,
                value,
                sound,
            }) if yes => {
                self.confirmed(&reading, value, sound, out);
            }
            Some(Pending::Reading { reading, .. }) => {
                let name = self.name_of(&reading);
                out.say(Tone::Question, self.lines().say_reading_again(name));
            }
            Some(Pending::Defer { item }) => self.deferral(item, yes, out),
            Some(Pending::TakeOver(naming)) if yes => self.taken_over(naming, out),
            Some(Pending::SignOff(naming)) if yes => self.signed(naming, out),
            Some(Pending::TakeOver(_) | Pending::SignOff(_)) => {
                out.say(Tone::Question, self.lines().say_name_again());
            }
            Some(Pending::Abandon) if yes => self.make_safe(out),
            Some(Pending::PartMissing { part }) if yes => self.wait_for_part(part, out),
            Some(Pending::Abandon | Pending::PartMissing { .. }) => self.tell_place(out),
            Some(Pending::Doubt { command, .. }) if yes => self.act(command, heard, now, out),
            Some(Pending::Doubt { .. }) => out.say(Tone::Question, self.lines().say_it_again()),
            Some(Pending::AllTight) => match self.step().cloned() {
                Some(step) if yes => self.done(&step, out),
                Some(_) | None => out.say(Tone::Answer, self.lines().next_as_you_go()),
            },
            Some(Pending::CutShort) => match self.step().cloned() {
                Some(step) if yes => {
                    let timer = self.waited_for().and_then(|id| self.timer_of(&id).cloned());
                    let seconds_left = timer.map_or(0, |timer| timer.due.since(now).as_secs());
                    out.write(Entry::CutShort {
                        step: step.id.clone(),
                        seconds_left,
                    });
                    self.done(&step, out);
                }
                Some(_) | None => out.say(Tone::Answer, self.lines().wait_goes_on()),
            },
            Some(
                Pending::Dictation
                | Pending::PauseReason
                | Pending::Unsure { .. }
                | Pending::Which { .. },
            )
            | None => self.answered_step(yes, heard, out),
        }
    }

    /// "Yes" or "no" to a question of the procedure.
    fn answered_step(&mut self, yes: bool, heard: &Heard, out: &mut Out) {
        if let Some(gate) = self.gate_that_holds().cloned() {
            let why = match yes {
                true => Refusal::YesInstead,
                false => Refusal::NoInstead,
            };
            self.refuse_at(&gate, heard, why, out);
            return;
        }
        let question = match self.step() {
            Some(step) => match &step.action {
                Action::Ask {
                    yes: to_yes,
                    no: to_no,
                } => Some((
                    step.clone(),
                    if yes { to_yes.clone() } else { to_no.clone() },
                )),
                Action::Do
                | Action::Loosen(_)
                | Action::Remove(_)
                | Action::Refit(_)
                | Action::Tighten(_)
                | Action::Measure(_)
                | Action::Wait(_)
                | Action::Inspect
                | Action::Hold(_) => None,
            },
            None => None,
        };
        let Some((step, leads_to)) = question else {
            out.say(Tone::Refusal, self.lines().no_question_open());
            return;
        };
        let question = self.filled(&step.text, None);
        out.write(Entry::Answered {
            step: step.id.clone(),
            question,
            yes,
            leads_to: leads_to.clone(),
        });
        self.leave(out);
        self.step_forward();
        if let Some(branch) = leads_to {
            self.enter_branch(&branch, out);
        }
        self.arrive(out);
    }

    fn confirmed(&mut self, id: &Id, value: Decimal, sound: Option<String>, out: &mut Out) {
        let Some(reading) = self.procedure.readings.get(id).cloned() else {
            return;
        };
        let here = self
            .step()
            .is_some_and(|step| step.action == Action::Measure(id.clone()));
        if !here {
            out.say(Tone::Refusal, self.lines().reading_no_longer_asked());
            return;
        }
        let usable = self.keep_reading(id, value, out);
        let within = usable && reading.within(value);
        self.core.deferred.remove(id);
        out.write(Entry::Read {
            reading: id.clone(),
            name: reading.name.clone(),
            value,
            unit: reading.unit.clone(),
            limits: None,
            within,
            range: Some(reading.range()),
            sound,
        });
        let lines = self.lines();
        match (within, limits(&reading, lines)) {
            (true, Some(limits)) => out.say(Tone::Answer, lines.recorded_within(limits)),
            (true, None) => out.say(Tone::Answer, lines.recorded()),
            (false, Some(limits)) => out.say(Tone::Warning, lines.recorded_out(limits)),
            (false, None) => out.say(Tone::Warning, lines.recorded_unusable()),
        }
        if !usable && reading.out.is_none() {
            // Nothing leads on from it but another part, and that one's reading.
            self.tell_place(out);
            return;
        }
        self.tell_added(id, out);
        self.leave(out);
        self.step_forward();
        if let (false, Some(branch)) = (within, &reading.out) {
            self.enter_branch(branch, out);
        }
        self.arrive(out);
    }

    /// "Not yet", or a report that it isn't so: whatever was asked stays open, the gate stays closed.
    pub(super) fn not_so(&mut self, why: Refusal, heard: &Heard, out: &mut Out) {
        self.core.pending = None;
        match self.gate_that_holds().cloned() {
            Some(gate) => self.refuse_at(&gate, heard, why, out),
            None => out.say(Tone::Answer, self.lines().waiting()),
        }
    }

    /// Something was heard below the bar. Says whether that was the end of it; if not, it is taken as if
    /// it had been sure, which is only so where nothing hangs on it.
    pub(super) fn doubted(&mut self, command: &Command, heard: &Heard, out: &mut Out) -> bool {
        match command {
            // A doubtful "stop" stops, and so does a doubtful "not yet" hold; a number is said back in any
            // case, and a gate has its own answer to doubt.
            Command::Stop
            | Command::NotYet
            | Command::NotSo
            | Command::TakeBack
            | Command::HoldOn
            | Command::CarryOn
            | Command::Reading { .. }
            | Command::Readback { .. }
            | Command::Dictation { .. }
            // A name is said back in any case.
            | Command::TakeOver { .. }
            | Command::SignOff { .. }
            // Nothing hangs on it.
            | Command::PauseReason { .. }
            | Command::SayAgain
            | Command::Slower => false,
            // All torques would be told in another unit.
            Command::Manner {
                manner: Manner::Unit(_),
            } => self.ask_about(command, heard, out),
            Command::Manner { .. } => false,
            Command::Yes | Command::No => self.doubted_answer(*command == Command::Yes, out),
            Command::Start { .. }
            | Command::Choose { .. }
            | Command::Next
            | Command::Okay
            | Command::Back
            | Command::TellMeMore
            | Command::WhereAmI
            | Command::WhatsNext
            | Command::WhatSize
            | Command::WhatTorque
            | Command::InUnit { .. }
            | Command::WrenchSetting
            | Command::WithAdapter
            | Command::WhichPass
            | Command::WhatLoad
            | Command::WaitsLeft
            | Command::HowLongLeft
            | Command::HowMany
            | Command::WhatTool
            | Command::Threads
            | Command::Reuse
            | Command::About { .. }
            | Command::AboutAny { .. }
            | Command::ThatOne { .. }
            | Command::After { .. }
            | Command::ReadStep { .. }
            | Command::PartsLeft
            | Command::PartMissing { .. }
            | Command::PartHere
            | Command::NoRoom
            | Command::LaidOut
            | Command::Trouble
            | Command::Skip
            | Command::Why
            | Command::ReadTheWarning
            | Command::WhatsOff
            | Command::NextFastener
            | Command::Note
            | Command::Finish
            | Command::Abandon
            | Command::Help
            | Command::Helper { .. }
            | Command::Defer { .. } => self.ask_about(command, heard, out),
        }
    }

    fn ask_about(&mut self, command: &Command, heard: &Heard, out: &mut Out) -> bool {
        out.say(
            Tone::Question,
            self.lines().did_you_say(heard.words.as_str()),
        );
        self.core.pending = Some(Pending::Doubt {
            command: command.clone(),
            words: heard.words.clone(),
        });
        true
    }

    /// A doubtful "yes" or "no". "No" to a question of the assistant's own is taken, since nothing happens by
    /// it, and "yes" never; to a question of the procedure the same answer heard twice running is taken.
    fn doubted_answer(&mut self, yes: bool, out: &mut Out) -> bool {
        let asked_twice = self.core.pending == Some(Pending::Unsure { yes });
        let asks = self
            .step()
            .is_some_and(|step| matches!(step.action, Action::Ask { .. }));
        match &self.core.pending {
            Some(Pending::Unsure { .. }) | None if !asks || asked_twice => {
                self.core.pending = None;
                return false;
            }
            Some(Pending::Unsure { .. }) | None => {
                self.core.pending = Some(Pending::Unsure { yes })
            }
            Some(_) if !yes => return false,
            Some(_) => {}
        }
        out.say(Tone::Question, self.lines().not_sure_yes_or_no());
        true
    }

    /// "Defer the splash shield."
    pub(super) fn defer(&mut self, item: Id, out: &mut Out) {
        if !self.may_defer().contains(&item) {
            out.say(Tone::Refusal, self.lines().cannot_be_left());
            return;
        }
        let (name, how) = (self.name_of(&item), self.how_left(&item));
        out.say(Tone::Question, self.lines().stays(name, how));
        self.core.pending = Some(Pending::Defer { item });
    }

    fn deferral(&mut self, item: Id, yes: bool, out: &mut Out) {
        if !yes {
            self.tell_place(out);
            return;
        }
        out.write(Entry::Deferred {
            item: item.clone(),
            what: Kept::Data(self.as_left(&item)),
        });
        self.transient.just_deferred = Some(item.clone());
        self.core.deferred.insert(item);
        out.say(Tone::Answer, self.lines().deferred());
        match self.core.phase {
            Phase::Working | Phase::MakingSafe => {
                if self.current().is_some_and(|step| !self.applies(step)) {
                    self.leave(out);
                    self.settle();
                    self.arrive(out);
                } else {
                    self.tell_place(out);
                }
            }
            Phase::Choosing(_) | Phase::LayingOut(_) | Phase::Waiting | Phase::Closed(_) => {}
        }
    }

    /// Speech after "note". Says whether it was the note.
    pub(super) fn dictated(&mut self, command: &Command, heard: &Heard, out: &mut Out) -> bool {
        match command {
            Command::Dictation { words } => {
                self.note(heard, words.clone(), out);
                true
            }
            // What else was heard ends the waiting for a note and is taken for itself.
            _other => {
                self.core.pending = None;
                false
            }
        }
    }

    pub(super) fn note(&mut self, heard: &Heard, words: String, out: &mut Out) {
        self.core.pending = None;
        out.write(Entry::Noted {
            words,
            sound: heard.sound.clone(),
            reason_for: self.transient.just_deferred.take(),
        });
        out.say(Tone::Answer, self.lines().noted());
    }
}

/// The limits of a reading in words: "at least 22.0 mm".
fn limits(reading: &ReadingOf, lines: Lines) -> Option<String> {
    let unit = reading.unit.as_str();
    let text = |value: Option<Decimal>| value.map(|value| value.to_string());
    match (text(reading.min), text(reading.max)) {
        (Some(min), Some(max)) => Some(lines.limits_between(min, max, unit)),
        (Some(min), None) => Some(lines.at_least(min, unit)),
        (None, Some(max)) => Some(lines.at_most(max, unit)),
        (None, None) => None,
    }
}

/// The same in thou after a part of an inch, so that a nought too many is heard: " (45 thou)".
fn in_thou(value: Decimal, unit: &str) -> String {
    let part = value.to_f64().abs() < 1.0 && value.digits() != 0;
    let inches = unit.parse() == Ok(MeasureUnit::Inch);
    let thou = Measured {
        value,
        unit: MeasureUnit::Inch,
    }
    .to(MeasureUnit::Thou);
    match thou {
        Ok(thou) if part && inches => format!(" ({} thou)", thou.value.trimmed()),
        Ok(_) | Err(_) => String::new(),
    }
}

pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
