//! What rests on the stands.

use super::{Job, Out};
use crate::Tone;
use crate::procedure::{Gate, StandsUnder};

impl Job {
    /// The figures of the stands at hand: those of the gate that holds, else of one whose fact the step needs or
    /// undoes.
    pub(super) fn stands_at_hand(&self) -> Option<&StandsUnder> {
        let gates = &self.procedure.gates;
        let of = |gate: &Gate| gate.load.is_some();
        let holding = self
            .gate_that_holds()
            .and_then(|id| gates.get(id))
            .filter(|gate| of(gate));
        let by_fact = || {
            let step = self.current()?;
            let mut facts = step.needs.iter().chain(&step.voids);
            facts.find_map(|fact| gates.values().find(|gate| gate.fact == *fact && of(gate)))
        };
        holding.or_else(by_fact)?.load.as_ref()
    }

    /// "What load": load and rating for each stand, whose figures they are, and whom to ask.
    pub(super) fn what_load(&self, out: &mut Out) {
        let verdict = self
            .stands_at_hand()
            .and_then(|stands| stands.support().ok())
            .and_then(|support| support.verdict().ok());
        match verdict {
            Some(verdict) => out.say(Tone::Answer, verdict.sentences().join(" ")),
            None => out.say(
                Tone::Answer,
                "The procedure gives no load here. Go by the plates of vehicle and stands.",
            ),
        }
    }
}
