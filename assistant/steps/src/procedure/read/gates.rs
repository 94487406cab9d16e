//! Facts and the gates that make them true.

use super::Reader;
use super::texts::Names;
use crate::Id;
use crate::procedure::code::Code;
use crate::procedure::file::GateFile;
use crate::procedure::names::as_heard;
use crate::procedure::{Fact, Gate, Signal};
use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

impl Reader<'_> {
    pub(super) fn gates(&mut self) -> BTreeMap<Id, Gate> {
        let mut gates = BTreeMap::new();
        let mut readbacks: BTreeMap<String, String> = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for gate in &it.file.gate {
                let Some(fact) = self.known("fact", loaded, &gate.fact, |known| &known.facts)
                else {
                    continue;
                };
                let written = self.text(loaded, &gate.readback, Names::With);
                let readback = as_heard(&written);
                self.readback(loaded, gate, &readback, &mut readbacks);
                let decoys = gate.decoys.iter().map(|decoy| {
                    let heard = as_heard(&self.text(loaded, decoy, Names::With));
                    if heard == readback {
                        let place = self.at(loaded, decoy.span());
                        self.desk.problem(
                            Code::ReadbackForm,
                            &place,
                            format!("a decoy of “{}” is its readback", gate.id.as_ref()),
                            "the readback itself",
                            "write what sounds like the readback and says something else",
                        );
                    }
                    heard
                });
                let decoys = decoys.collect();
                gates.insert(
                    Id::new(&self.own(loaded, &gate.id)),
                    Gate {
                        fact,
                        signal: gate.signal,
                        colour: gate.colour || gate.signal == Signal::Danger,
                        ask: self.text(loaded, &gate.ask, Names::Variants),
                        readback,
                        readback_written: written,
                        needs: self.facts_known(loaded, &gate.needs),
                        good_for: Duration::from_secs(
                            u64::from(gate.good_for_minutes.unwrap_or(60)) * 60,
                        ),
                        decoys,
                        load: gate
                            .load
                            .as_ref()
                            .and_then(|load| self.stands(loaded, load)),
                    },
                );
            }
        }
        gates
    }

    fn readback(
        &mut self,
        loaded: usize,
        gate: &GateFile,
        readback: &str,
        readbacks: &mut BTreeMap<String, String>,
    ) {
        let place = self.at(loaded, gate.readback.span());
        let words = readback.split(' ').count();
        if readback.chars().any(char::is_numeric) {
            self.desk.problem(
                Code::ReadbackForm,
                &place,
                "a readback is written as it is said",
                "there are digits in it",
                "spell the numbers out: “one hundred and forty”",
            );
        } else if !(4..=16).contains(&words) {
            self.desk.problem(
                Code::ReadbackForm,
                &place,
                format!("a readback of {words} word(s) can't be told from other talk, or not be kept in mind"),
                "too short or too long",
                "use a sentence of 4 to 16 words that says what was done and seen",
            );
        }
        let name = self.own(loaded, &gate.id);
        if let Some(other) = readbacks.insert(readback.to_owned(), name.clone()) {
            self.desk.problem(
                Code::ReadbackShared,
                &place,
                format!("the gates “{other}” and “{name}” have the same readback"),
                "said at the other gate too",
                "give each gate words of its own, so that one can't be passed with the other's",
            );
        }
    }

    pub(super) fn facts(&mut self, gates: &BTreeMap<Id, Gate>) -> BTreeMap<Id, Fact> {
        let mut facts = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for fact in &it.file.fact {
                let id = Id::new(&self.own(loaded, &fact.id));
                let place = self.at(loaded, fact.id.span());
                let means = self.text(loaded, &fact.means, Names::With);
                let by: Vec<&Id> = gates
                    .iter()
                    .filter(|(_, gate)| gate.fact == id)
                    .map(|(gate, _)| gate)
                    .collect();
                match by[..] {
                    [gate] => {
                        if needs_itself(&id, gates) {
                            self.desk.problem(
                                Code::FactCircle,
                                &place,
                                format!(
                                    "the fact “{id}” can only be made true when it is true already"
                                ),
                                "its gate needs, in the end, itself",
                                "take one `needs` out of the gates",
                            );
                        }
                        let gate = gate.clone();
                        facts.insert(id, Fact { means, gate });
                    }
                    [] => self.desk.problem(
                        Code::FactGate,
                        &place,
                        format!("no gate makes the fact “{id}” true"),
                        "a fact without a gate",
                        "add a [[gate]] with this fact and its readback",
                    ),
                    _ => self.desk.problem(
                        Code::FactGate,
                        &place,
                        format!("{} gates make the fact “{id}” true", by.len()),
                        "a fact has one gate",
                        "use a fact of its own for each gate",
                    ),
                }
            }
        }
        facts
    }
}

fn needs_itself(fact: &Id, gates: &BTreeMap<Id, Gate>) -> bool {
    let mut open = vec![fact.clone()];
    let mut seen = BTreeSet::new();
    while let Some(next) = open.pop() {
        for gate in gates.values().filter(|gate| gate.fact == next) {
            for need in &gate.needs {
                if need == fact {
                    return true;
                }
                if seen.insert(need.clone()) {
                    open.push(need.clone());
                }
            }
        }
    }
    false
}
