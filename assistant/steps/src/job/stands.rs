//! What rests on the stands.

use super::{Job, Out};
use crate::Tone;
use crate::lines::Lines;
use crate::procedure::{Gate, StandsUnder};
use crate::quantity::{GivenBy, Rating, SupportVerdict};
use uom::si::f64::Mass;
use uom::si::mass::kilogram;

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
            Some(verdict) => out.say(Tone::Answer, sentences(verdict, self.lines()).join(" ")),
            None => out.say(Tone::Answer, self.lines().no_load_here()),
        }
    }
}

/// What [`SupportVerdict::sentences`] says in English.
fn sentences(verdict: SupportVerdict, lines: Lines) -> Vec<String> {
    let (figures, holds) = match verdict {
        SupportVerdict::Holds(figures) => (figures, lines.stands_hold()),
        SupportVerdict::TooWeak(figures) => (figures, lines.stands_too_weak()),
    };
    let kilograms = |mass: Mass| format!("{:.0} kg", mass.get::<kilogram>());
    let by = |given: GivenBy| match given {
        GivenBy::Procedure => lines.by_procedure(),
        GivenBy::Technician => lines.by_technician(),
        GivenBy::Plate => lines.by_plate(),
    };
    let support = figures.support();
    let (vehicle, allowed) = (support.vehicle, kilograms(figures.allowed));
    vec![
        lines.load_on_each(
            kilograms(figures.load),
            kilograms(vehicle.mass),
            by(vehicle.by),
        ),
        match support.rating {
            Rating::Each(it) => lines.rated_each(kilograms(it.mass), by(it.by), allowed),
            Rating::Pair(it) => lines.rated_pair(kilograms(it.mass), by(it.by), allowed),
        },
        holds,
        lines.lifting_points(),
    ]
}
