//! Gates: a fact becomes true here and nowhere else.

use super::questions::capital;
use super::state::{List, Phase};
use super::taking_back::{CORRECTION_WINDOW, Recent};
use super::{Job, Mode, Out};
use crate::codes::{InWords, Refusal, VoidReason};
use crate::procedure::{Action, Gate, Signal, Weight};
use crate::{Certainty, Colour, Effect, Entry, Heard, Id, Tone};
use std::time::Duration;

impl Job {
    /// The gate that must be passed before anything else, if there is one: that of the hold point we stand
    /// at, or of the first fact that the step needs and that isn't true; and before it whatever that gate
    /// itself needs.
    pub(super) fn gate_that_holds(&self) -> Option<&Id> {
        match self.core.phase {
            Phase::Working | Phase::MakingSafe => {}
            Phase::Choosing(_) | Phase::LayingOut(_) | Phase::Waiting | Phase::Closed(_) => {
                return None;
            }
        }
        if let Some(gate) = self.gate_just_opened() {
            return Some(gate);
        }
        let step = self.current()?;
        let mut gate = match &step.action {
            Action::Hold(gate) => Some(gate),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Tighten(_)
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. } => self.first_untrue(&step.needs),
        }?;
        // The reader refuses gates that need each other, so this ends.
        while let Some(before) = self.first_untrue(&self.procedure.gates.get(gate)?.needs) {
            gate = before;
        }
        Some(gate)
    }

    /// The colour that must be said with the words of the gate that holds: the same as long as that gate holds.
    pub fn colour_asked(&self) -> Option<Colour> {
        let id = self.gate_that_holds()?;
        let gate = self.procedure.gates.get(id)?;
        if !(self.settings.colours && gate.is_hold_point()) {
            return None;
        }
        match &self.asked {
            Some((asked, colour)) if asked == id => Some(*colour),
            Some(_) | None => Some(Colour::asked(id, self.now)),
        }
    }

    fn first_untrue(&self, needs: &[Id]) -> Option<&Id> {
        needs
            .iter()
            .find(|fact| !self.core.facts.contains(*fact))
            .and_then(|fact| self.procedure.facts.get(fact))
            .map(|fact| &fact.gate)
    }

    pub(super) fn good_for(&self, fact: &Id) -> Option<Duration> {
        let gate = &self.procedure.facts.get(fact)?.gate;
        Some(self.procedure.gates.get(gate)?.good_for)
    }

    /// A readback was said. It opens its own gate, and only while that gate holds the job, and only when
    /// the words were heard with all the evidence that a gate asks for, and with the colour where it asks for
    /// one; a rehearsal takes typed words.
    pub(super) fn readback(
        &mut self,
        id: &Id,
        colour: Option<Colour>,
        heard: &Heard,
        out: &mut Out,
    ) {
        let Some(holding) = self.gate_that_holds().cloned() else {
            out.say(Tone::Refusal, self.lines().no_hold_point());
            return;
        };
        let heard_enough = match (heard.certainty, self.settings.mode) {
            (Certainty::Sure, _) => Ok(()),
            (Certainty::Typed, Mode::Rehearsal) => Ok(()),
            (Certainty::Typed, Mode::Work | Mode::Recordings) => Err(Refusal::SpokenWordsOnly),
            (Certainty::Doubtful, _) => Err(Refusal::HeardWithDoubt),
        };
        if *id != holding {
            return self.refuse_at(&holding, heard, Refusal::WordsOfAnother, out);
        }
        if colour != self.colour_asked() {
            return self.refuse_at(&holding, heard, Refusal::NotTheColour, out);
        }
        if let Err(why) = heard_enough {
            return self.refuse_at(&holding, heard, why, out);
        }
        let Some(gate) = self.procedure.gates.get(id).cloned() else {
            return;
        };
        let means = self
            .procedure
            .facts
            .get(&gate.fact)
            .map(|fact| fact.means.clone())
            .unwrap_or_default();
        // The one place where a fact becomes true.
        self.core.facts.insert(gate.fact.clone());
        self.core.pending = None;
        out.write(Entry::GateOpened {
            gate: id.clone(),
            fact: gate.fact.clone(),
            means,
            words: heard.words.clone(),
            evidence: heard.evidence.clone(),
            sound: heard.sound.clone(),
        });
        if self.settings.corrections {
            self.recent = Some(Recent::Gate {
                gate: id.clone(),
                until: self.now.after(CORRECTION_WINDOW),
            });
        } else {
            self.asked = None;
            self.go_on_behind(id, out);
        }
    }

    /// A readback came with the very input whose pause closed a gate: nobody had been asked for it. The gate was just
    /// told, so nothing more is said.
    pub(super) fn said_before_asked(&mut self, heard: &Heard, out: &mut Out) {
        if let Some(gate) = self.gate_that_holds() {
            out.write(Entry::GateRefused {
                gate: gate.clone(),
                tried: heard.words.clone(),
                why: Refusal::SaidBeforeAsked,
            });
        }
    }

    /// Says that the gate stays closed and why, and once more only the words that open it.
    pub(super) fn refuse_at(&mut self, id: &Id, heard: &Heard, why: Refusal, out: &mut Out) {
        let Some(gate) = self.procedure.gates.get(id) else {
            return;
        };
        let lines = self.lines();
        let (tone, told) = match &why {
            // Whoever reports that it isn't so has no use for the words yet. "Say again" still means them.
            Refusal::NotYet | Refusal::NotSo | Refusal::NoInstead => {
                out.repeated |= !out.effects.iter().any(|it| matches!(it, Effect::Say(_)));
                (Tone::Answer, lines.not_right_yet())
            }
            Refusal::NotTheWords => (
                Tone::Refusal,
                format!("{} {}", lines.did_not_get_that(), self.words_asked(gate)),
            ),
            Refusal::NextInstead => (
                Tone::Refusal,
                format!(
                    "{} {}",
                    lines.waiting_for_the_words(),
                    self.words_asked(gate)
                ),
            ),
            Refusal::WordsOfAnother
            | Refusal::NotTheColour
            | Refusal::SpokenWordsOnly
            | Refusal::HeardWithDoubt
            | Refusal::SaidBeforeAsked
            | Refusal::YesInstead
            | Refusal::Told(_) => {
                let why = capital(&why.words(self.procedure.language));
                (Tone::Refusal, format!("{why}. {}", self.words_asked(gate)))
            }
        };
        out.say(tone, told);
        out.write(Entry::GateRefused {
            gate: id.clone(),
            tried: heard.words.clone(),
            why,
        });
    }

    /// Tells the gate: of a hold point the hazard's signal word, then what to look at, the words.
    pub(super) fn tell_gate(&self, id: &Id, out: &mut Out) {
        let Some(gate) = self.procedure.gates.get(id) else {
            return;
        };
        let ask = self.filled(&gate.ask, None);
        let lines = self.lines();
        let words = self.words_asked(gate);
        let told = match (gate.weight, gate.signal) {
            (Weight::Check, _) => lines.check(ask, words),
            (Weight::HoldPoint, Signal::Notice) => lines.hold_point(ask, words),
            (Weight::HoldPoint, signal @ (Signal::Caution | Signal::Warning | Signal::Danger)) => {
                format!("{}. {}", self.signal(signal), lines.hold_point(ask, words))
            }
        };
        out.say(Tone::Hold, told);
    }

    /// The words that open a gate that holds. The check word comes before them: the assistant's own voice never says both
    /// in the order that opens.
    pub(super) fn words_asked(&self, gate: &Gate) -> String {
        let (lines, words) = (self.lines(), gate.readback_written.trim_end_matches('.'));
        match self.colour_asked() {
            Some(colour) => lines.words_and_check_word(lines.colour(colour), words),
            None => lines.words_to_say(words),
        }
    }

    /// A fact no longer counts as true.
    pub(super) fn void(&mut self, fact: &Id, why: VoidReason, out: &mut Out) {
        if self.core.facts.remove(fact) {
            if self.gate_just_opened() == self.procedure.facts.get(fact).map(|it| &it.gate) {
                self.recent = None;
            }
            out.write(Entry::Voided {
                fact: fact.clone(),
                why,
            });
        }
    }

    /// No fact counts any more. Returns those that did.
    pub(super) fn void_all(&mut self, why: &VoidReason, out: &mut Out) -> Vec<Id> {
        let facts: Vec<Id> = self.core.facts.iter().cloned().collect();
        for fact in &facts {
            self.void(fact, why.clone(), out);
        }
        facts
    }

    /// A hold point always asks: whoever arrives at one, from either side, finds its fact not yet true.
    pub(super) fn close_gate_here(&mut self, out: &mut Out) {
        let Some(Action::Hold(gate)) = self.current().map(|step| step.action.clone()) else {
            return;
        };
        if let Some(fact) = self
            .procedure
            .gates
            .get(&gate)
            .map(|gate| gate.fact.clone())
        {
            self.void(&fact, VoidReason::ReachedAgain, out);
        }
    }

    /// The step is left, in whatever direction: what it voids is true no longer, since it may have been
    /// begun; also when a gate has closed before it since.
    pub(super) fn leave(&mut self, out: &mut Out) {
        let voids = self
            .current()
            .map(|step| step.voids.clone())
            .unwrap_or_default();
        for fact in voids {
            self.void(&fact, VoidReason::StepUndoesIt, out);
        }
    }

    /// Whether the innermost list is the one that makes the vehicle safe.
    pub(super) fn making_safe(&self) -> bool {
        self.core
            .frames
            .first()
            .is_some_and(|frame| frame.list == List::MakeSafe)
    }
}
