//! Who is working the job: taken over by name, signed off by name.

use super::state::{Naming, OutcomeKey, Pending, Phase};
use super::{Job, Mode, Out};
use crate::codes::VoidReason;
use crate::lines::Lines;
use crate::procedure::as_heard;
use crate::{Certainty, Command, Entry, Heard, Id, PhraseFor, Tone};

impl Job {
    /// Who works now, as far as it was said.
    pub fn by(&self) -> Option<&str> {
        self.transient.by.as_deref()
    }

    /// Notes who begins.
    pub(super) fn begun_by(&mut self, out: &mut Out) {
        if let Some(person) = self.settings.people.by().map(str::to_owned) {
            out.write(Entry::WorkedBy {
                person: person.clone(),
            });
            self.transient.by = Some(person);
        } else if !self.settings.people.is_nobody() {
            out.say(Tone::Answer, self.lines().nobody_is_named());
        }
    }

    /// The names that may be said now: who else may take over, and at the end who may sign.
    pub(super) fn names_to_say(&self) -> Vec<PhraseFor> {
        let everybody = self.settings.people.everybody();
        let others = everybody
            .iter()
            .filter(|person| self.by() != Some(person.as_str()))
            .map(|person| PhraseFor {
                words: self.lines().takes_over(as_heard(person)),
                command: Command::TakeOver {
                    person: person.clone(),
                },
            });
        let signers = everybody
            .iter()
            .filter(|_| self.may_be_signed())
            .map(|person| PhraseFor {
                words: self.lines().signed(as_heard(person)),
                command: Command::SignOff {
                    person: person.clone(),
                },
            });
        others.chain(signers).collect()
    }

    /// Whether all is done, so that only a signature is missing.
    fn may_be_signed(&self) -> bool {
        self.core.phase == Phase::Working
            && !self.settings.people.is_nobody()
            && self.steps_left() == 0
            && self.undeferred().is_empty()
    }

    /// "Mara takes over."
    pub(super) fn take_over(&mut self, person: String, heard: &Heard, out: &mut Out) {
        if !self.is_known(&person, out) {
            return;
        }
        if self.by() == Some(&person) {
            out.say(Tone::Answer, self.lines().has_the_job(person));
            return;
        }
        out.say(Tone::Question, self.lines().is_taking_over(person.as_str()));
        self.core.pending = Some(Pending::TakeOver(Naming::of(person, heard)));
    }

    /// Somebody else works from here on, and takes nobody's word for what is so: every hold point that
    /// still matters asks again.
    pub(super) fn taken_over(&mut self, naming: Naming, out: &mut Out) {
        let from = self.transient.by.replace(naming.person.clone());
        out.write(Entry::TakenOver {
            from,
            person: naming.person.clone(),
            words: naming.words,
            evidence: naming.evidence,
            sound: naming.sound,
        });
        // Nor is the word of whoever counted the fasteners taken.
        self.core.tightening = None;
        self.asked = None;
        let facts = self.void_all(&VoidReason::TakenOver, out);
        out.say(Tone::Answer, self.lines().has_the_job(naming.person));
        self.tell_standing(&facts, out);
        self.tell_place(out);
    }

    /// What whoever comes back, or comes anew, has to know: what isn't in place, and what is to be
    /// confirmed again.
    pub(super) fn tell_standing(&self, voided: &[Id], out: &mut Out) {
        let off = self.outstanding();
        if !off.is_empty() {
            out.list(Tone::Answer, self.lines(), off, Lines::not_in_place);
        }
        let again: Vec<&str> = voided
            .iter()
            .filter_map(|fact| self.procedure.facts.get(fact))
            .map(|fact| fact.means.as_str())
            .collect();
        if !again.is_empty() {
            out.say(Tone::Warning, self.lines().no_longer_true(again.join("; ")));
        }
    }

    /// All is done: who signs?
    pub(super) fn ask_for_signature(&self, out: &mut Out) {
        let again = self.to_tighten_again();
        if !again.is_empty() {
            out.say(Tone::Warning, self.lines().still_to_do(again.join("; ")));
        }
        let deferred = self.outstanding();
        let done = if deferred.is_empty() {
            self.lines().everything_done()
        } else {
            self.lines().done_but_deferred(deferred.join("; "))
        };
        let person = self
            .by()
            .map_or_else(|| self.lines().and_your_name(), str::to_owned);
        out.say(Tone::Question, self.lines().to_sign(done, person));
    }

    /// "Signed, Mara."
    pub(super) fn sign_off(&mut self, person: String, heard: &Heard, out: &mut Out) {
        if !self.is_known(&person, out) {
            return;
        }
        if !self.may_be_signed() {
            out.say(Tone::Refusal, self.lines().not_all_done());
            self.finish(out);
            return;
        }
        let refused = match (heard.certainty, self.settings.mode) {
            (Certainty::Sure, _) | (Certainty::Typed, Mode::Rehearsal) => None,
            (Certainty::Typed, Mode::Work | Mode::Recordings) => {
                Some(self.lines().signature_is_spoken())
            }
            (Certainty::Doubtful, _) => Some(self.lines().not_sure_of_name()),
        };
        if let Some(refused) = refused {
            out.say(Tone::Refusal, refused);
            return;
        }
        out.say(Tone::Question, self.lines().signed_by(person.as_str()));
        self.core.pending = Some(Pending::SignOff(Naming::of(person, heard)));
    }

    pub(super) fn signed(&mut self, naming: Naming, out: &mut Out) {
        if !self.may_be_signed() {
            return;
        }
        out.write(Entry::Signed {
            person: naming.person,
            words: naming.words,
            evidence: naming.evidence,
            sound: naming.sound,
        });
        self.say_finished(out);
        self.close(OutcomeKey::Finished, out);
    }

    fn is_known(&self, person: &str, out: &mut Out) -> bool {
        let known = self
            .settings
            .people
            .everybody()
            .iter()
            .any(|it| it == person);
        if !known {
            out.say(Tone::Refusal, self.lines().unknown_name());
        }
        known
    }
}

impl Naming {
    fn of(person: String, heard: &Heard) -> Self {
        Self {
            person,
            words: heard.words.clone(),
            evidence: heard.evidence.clone(),
            sound: heard.sound.clone(),
        }
    }
}
