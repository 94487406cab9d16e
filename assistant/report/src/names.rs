//! What the parts of a procedure are called, for people.

use record::Report;
use std::collections::BTreeMap;
use steps::procedure::{Action, Branch, Gate, Step, Weight};
use steps::{Entry, Id, Language, Procedure};

/// Words for identifiers: those that the record itself tells, else the procedure's where it is at hand; an identifier's own
/// words where neither has any.
#[derive(Debug, Clone, Default)]
pub(crate) struct Names {
    gates: BTreeMap<Id, String>,
    facts: BTreeMap<Id, String>,
    steps: BTreeMap<Id, String>,
    /// What is said to get to extra steps, where anything is.
    trouble: BTreeMap<Id, Option<String>>,
    variants: BTreeMap<Id, BTreeMap<Id, String>>,
}

impl Names {
    pub fn of(record: &Report) -> Self {
        let mut names = Self::default();
        if let Some(procedure) = &record.full_procedure {
            names.learn(procedure);
        }
        for line in &record.lines {
            match &line.entry {
                Entry::GateOpened {
                    gate, fact, means, ..
                } => {
                    names.gates.insert(gate.clone(), means.clone());
                    names.facts.insert(fact.clone(), means.clone());
                }
                // With the words of what was chosen in it.
                Entry::Done { step, text, .. } => {
                    names.steps.insert(
                        step.clone(),
                        steps::codes::InWords::words(text, record.language),
                    );
                }
                _names_nothing => {}
            }
        }
        names
    }

    fn learn(&mut self, it: &Procedure) {
        for (id, fact) in &it.facts {
            self.facts.insert(id.clone(), fact.means.clone());
        }
        for (id, gate) in &it.gates {
            if let Some(fact) = it.facts.get(&gate.fact) {
                self.gates.insert(id.clone(), fact.means.clone());
            }
        }
        let branches = it.branches.values().flat_map(|branch| &branch.steps);
        for step in it.steps.iter().chain(&it.make_safe).chain(branches) {
            self.steps.insert(step.id.clone(), it.action_of(step));
        }
        for (id, branch) in &it.branches {
            self.trouble.insert(id.clone(), branch.say.first().cloned());
        }
        for variant in &it.variants {
            let options = variant.options.iter().cloned().collect();
            self.variants.insert(variant.id.clone(), options);
        }
    }

    /// What a hold point confirms.
    pub fn gate(&self, id: &Id) -> String {
        self.gates.get(id).cloned().unwrap_or_else(|| plain(id))
    }

    pub fn fact(&self, id: &Id) -> String {
        self.facts.get(id).cloned().unwrap_or_else(|| plain(id))
    }

    /// What is done in a step, without the point at its end.
    pub fn step(&self, id: &Id) -> String {
        let text = self.steps.get(id).cloned().unwrap_or_else(|| plain(id));
        text.trim_end_matches('.').to_owned()
    }

    /// That extra steps begin, and for what trouble where it is known.
    pub fn extra_steps(&self, id: &Id) -> String {
        match self.trouble.get(id) {
            Some(Some(said)) => format!("Extra steps for “{said}”"),
            // An answer or a reading led to them, and stands before them.
            Some(None) => "Extra steps".to_owned(),
            None => format!("Extra steps: {}", plain(id)),
        }
    }

    pub fn option(&self, variant: &Id, option: &Id) -> String {
        let words = self.variants.get(variant).and_then(|it| it.get(option));
        words.cloned().unwrap_or_else(|| plain(option))
    }
}

/// What extra steps are called on paper: letters, in the procedure's order.
pub(crate) fn extra_steps(it: &Procedure, id: &Id) -> String {
    let with_steps = it.branches.iter().filter(|(_, it)| !it.steps.is_empty());
    let place = with_steps.map(|(id, _)| id).position(|it| it == id);
    match place {
        Some(place) => format!("extra steps {}", letters(place)),
        None => plain(id),
    }
}

/// The heading over extra steps: their letter, and what leads to them.
pub(crate) fn extra_heading(it: &Procedure, id: &Id, branch: &Branch) -> String {
    let leads = |step: &Step| match &step.action {
        Action::Ask { yes, no } => [yes, no].into_iter().flatten().any(|it| it == id),
        Action::Measure(reading) => {
            let reading = it.readings.get(reading);
            reading.is_some_and(|reading| reading.out.as_ref() == Some(id))
        }
        _leads_nowhere => false,
    };
    let from: Vec<String> = it
        .steps
        .iter()
        .zip(1..)
        .filter(|(step, _)| leads(step))
        .map(|(_, number)| number.to_string())
        .collect();
    let mut heading = crate::gather::capital(&extra_steps(it, id));
    match from.len() {
        0 => {}
        1 => heading.push_str(&format!(", from step {}", from.concat())),
        _ => heading.push_str(&format!(", from steps {}", from.join(", "))),
    }
    if !branch.say.is_empty() {
        let said: Vec<String> = branch.say.iter().map(|say| format!("“{say}”")).collect();
        heading.push_str(&format!(
            ": when there is trouble, say {}",
            said.join(" or ")
        ));
    }
    heading
}

/// A, B … Z, AA, AB …
fn letters(place: usize) -> String {
    let (more, last) = (place / 26, (b'A' + (place % 26) as u8) as char);
    match more {
        0 => last.to_string(),
        more => letters(more - 1) + &last.to_string(),
    }
}

/// An identifier as words.
pub(crate) fn plain(id: &Id) -> String {
    id.as_str().replace('-', " ")
}

/// What is said to open a gate: its readback, and after it the check word where one is asked for.
pub(crate) fn said(language: Language, gate: &Gate) -> String {
    match gate.weight {
        Weight::HoldPoint => {
            format!(
                "“{}” {}",
                gate.readback_written,
                language.then_the_check_word()
            )
        }
        Weight::Check => format!("“{}”", gate.readback_written),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"
format = 1
id = "brake"
title = "Brake"
vehicle = "trailer of the Saltmarsh ferry depot"
values = "Invented."
minutes = 20

[[fact]]
id = "caliper-hung"
means = "the caliper hangs on its wire"

[[gate]]
id = "hung"
fact = "caliper-hung"
signal = "caution"
ask = "A hose that bears a caliper tears. Look at the wire."
readback = "The wire bears the caliper."
good_for_minutes = 60
decoys = ["the hose bears the caliper"]

[[branch]]
id = "hub-loose"
say = ["the hub is loose"]
[[branch.step]]
id = "hub-look"
action = "do"
text = "Look at the hub."

[[step]]
id = "hold"
action = "hold"
gate = "hung"
helpers = ["hub-loose"]

[[step]]
id = "cool"
action = "wait"
minutes = 15
text = "Let the drum cool for 15 minutes."
needs = ["caliper-hung"]

[[make_safe]]
id = "safe"
action = "do"
text = "Lower the trailer."
"#;

    #[test]
    fn the_procedure_s_words_stand_for_its_identifiers() {
        let library = BTreeMap::from([("brake", TEXT)]);
        let procedure =
            Procedure::load("brake", &library).unwrap_or_else(|it| panic!("{:?}", it.problems));
        let mut names = Names::default();
        let hub = Id::new("hub-loose");
        assert_eq!(names.fact(&Id::new("caliper-hung")), "caliper hung");
        assert_eq!(names.extra_steps(&hub), "Extra steps: hub loose");
        names.learn(&procedure);
        let hangs = "the caliper hangs on its wire";
        assert_eq!(names.fact(&Id::new("caliper-hung")), hangs);
        assert_eq!(names.gate(&Id::new("hung")), hangs);
        let cool = "Let the drum cool for 15 minutes";
        assert_eq!(names.step(&Id::new("cool")), cool);
        assert_eq!(
            names.extra_steps(&hub),
            "Extra steps for “the hub is loose”"
        );
        assert_eq!(extra_steps(&procedure, &hub), "extra steps A");
    }

    #[test]
    fn letters_go_on_after_the_last() {
        assert_eq!(
            [0, 25, 26, 701, 702].map(letters),
            ["A", "Z", "AA", "ZZ", "AAA"]
        );
    }
}
