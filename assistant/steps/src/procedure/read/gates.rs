//! Facts and the gates that make them true.

use super::Reader;
use super::texts::Names;
use crate::Id;
use crate::procedure::code::Code;
use crate::procedure::file::GateFile;
use crate::procedure::names::as_heard;
use crate::procedure::{Fact, Gate, Signal, Weight};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;
use std::time::Duration;

/// The words that people say in one go. Common practice, no source.
const READBACK_WORDS: RangeInclusive<usize> = 4..=9;

/// The most words that a gate asks with, its readback among them; the check word and what frames them come on top.
/// Common practice, no source.
fn most_words(weight: Weight) -> usize {
    match weight {
        Weight::HoldPoint => 25,
        Weight::Check => 15,
    }
}

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
                let written: Vec<String> = gate
                    .readbacks()
                    .map(|it| self.text(loaded, &it, Names::With))
                    .collect();
                let ways: Vec<String> = written.iter().map(|it| as_heard(it)).collect();
                for way in &ways {
                    self.readback(loaded, gate, way, &mut readbacks);
                }
                let (Some(written), Some((readback, alternatives))) =
                    (written.into_iter().next(), ways.split_first())
                else {
                    let place = self.at(loaded, gate.readback.span());
                    self.desk.problem(
                        Code::ReadbackForm,
                        &place,
                        format!("the gate “{}” has no readback", gate.id.as_ref()),
                        "an empty list",
                        "write the words that open it",
                    );
                    continue;
                };
                let decoys = gate.decoys.iter().map(|decoy| {
                    let heard = as_heard(&self.text(loaded, decoy, Names::With));
                    if ways.contains(&heard) {
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
                let weight = self.weight(loaded, gate);
                let ask = self.text(loaded, &gate.ask, Names::Variants);
                self.length(loaded, gate, weight, &ask, &ways);
                gates.insert(
                    Id::new(&self.own(loaded, &gate.id)),
                    Gate {
                        fact,
                        signal: gate.signal,
                        weight,
                        ask,
                        more: gate
                            .more
                            .as_ref()
                            .map(|more| self.text(loaded, more, Names::Variants)),
                        readback: readback.clone(),
                        readback_written: written,
                        alternatives: alternatives.to_vec(),
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

    fn weight(&mut self, loaded: usize, gate: &GateFile) -> Weight {
        let danger = gate.signal == Signal::Danger;
        let asks_colour = gate.colour.as_ref().is_some_and(|it| *it.get_ref());
        let Some(weight) = &gate.weight else {
            return match danger || asks_colour {
                true => Weight::HoldPoint,
                false => Weight::Check,
            };
        };
        if let Some(colour) = &gate.colour {
            let place = self.at(loaded, colour.span());
            self.desk.problem(
                Code::StrayKey,
                &place,
                format!(
                    "the gate “{}” has both `weight` and `colour`",
                    gate.id.as_ref()
                ),
                "the weight decides about the check word",
                "take `colour` out",
            );
        }
        match *weight.get_ref() {
            Weight::Check if danger => {
                let place = self.at(loaded, weight.span());
                self.desk.problem(
                    Code::GateWeight,
                    &place,
                    format!("the gate “{}” guards against a danger and is only a check", gate.id.as_ref()),
                    "a check states no danger and asks for no check word",
                    "write `weight = \"hold-point\"`, or choose another signal word if nothing here kills or maims",
                );
                Weight::HoldPoint
            }
            weight => weight,
        }
    }

    /// Whether a gate's prompt and readback are short enough to be kept in mind.
    fn length(
        &mut self,
        loaded: usize,
        gate: &GateFile,
        weight: Weight,
        ask: &str,
        ways: &[String],
    ) {
        let id = self.own(loaded, &gate.id);
        let words = |text: &str| text.split_whitespace().count();
        let asked_for = ways.first().map_or(0, |readback| words(readback));
        let (prompt, most) = (words(ask) + asked_for, most_words(weight));
        if prompt > most {
            let place = self.at(loaded, gate.ask.span());
            self.desk.doubt(
                Code::PromptLong,
                &id,
                &place,
                format!("the {} “{id}” asks with {prompt} words", weight.name()),
                format!("with the readback at most {most} words"),
                "name what to look at, and nothing else; what is to be done is a step of its own",
            );
        }
        let lengths = ways.iter().map(|readback| words(readback));
        for said in lengths.filter(|said| !READBACK_WORDS.contains(said)) {
            let place = self.at(loaded, gate.readback.span());
            self.desk.doubt(
                Code::ReadbackLength,
                &id,
                &place,
                format!("the readback of “{id}” has {said} words"),
                "4 to 9 words are said in one go",
                "say what is seen as a mechanic would: “Both stands are pinned and nothing moved.”",
            );
        }
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
        match readbacks.insert(readback.to_owned(), name.clone()) {
            Some(other) if other == name => self.desk.problem(
                Code::Duplicate,
                &place,
                format!("the gate “{name}” has the readback “{readback}” twice"),
                "the same words twice",
                "take one out",
            ),
            Some(other) => self.desk.problem(
                Code::ReadbackShared,
                &place,
                format!("the gates “{other}” and “{name}” have the same readback"),
                "said at the other gate too",
                "give each gate words of its own, so that one can't be passed with the other's",
            ),
            None => {}
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
