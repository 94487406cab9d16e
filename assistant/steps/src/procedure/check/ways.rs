//! Ways through the job: where its facts are asked for, and branches that nothing enters or that never end.

use super::{all_steps, combinations, place_of};
use crate::Id;
use crate::procedure::code::Code;
use crate::procedure::desk::Desk;
use crate::procedure::{Action, Procedure, Step};
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn check(procedure: &Procedure, desk: &mut Desk) {
    for chosen in combinations(procedure) {
        facts(procedure, &chosen, desk);
    }
    unneeded(procedure, desk);
    unreached(procedure, desk);
    endless(procedure, desk);
    alike(procedure, desk);
}

/// Every fact that a step needs has its hold point before it. Where it is missing the gate is asked all the same, but as
/// a surprise, in the middle of something. A fact that was voided since is asked for again by the job itself.
fn facts(procedure: &Procedure, chosen: &BTreeMap<Id, Id>, desk: &mut Desk) {
    let mut asked: BTreeSet<&Id> = BTreeSet::new();
    let applies = |step: &&Step| {
        let mut when = step.when.iter();
        when.all(|(variant, option)| chosen.get(variant) == Some(option))
    };
    for step in procedure.steps.iter().filter(applies) {
        let gate = procedure.gate_of(step);
        let needs = step
            .needs
            .iter()
            .chain(gate.iter().flat_map(|gate| &gate.needs));
        for fact in needs {
            if asked.insert(fact) {
                desk.doubt(
                    Code::FactUnasked,
                    step.id.as_str(),
                    &place_of(step, desk),
                    format!("the step “{}” needs “{fact}”, and no hold point before it asks for that", step.id),
                    "asked here, by surprise",
                    "add a step with `action = \"hold\"` and the gate of this fact where it belongs",
                );
            }
        }
        asked.extend(gate.map(|gate| &gate.fact));
    }
}

/// A hold point that nothing hangs on is noise, and teaches to say words without looking.
fn unneeded(procedure: &Procedure, desk: &mut Desk) {
    let needed = |fact: &Id| {
        all_steps(procedure).any(|step| step.needs.contains(fact))
            || procedure
                .gates
                .values()
                .any(|gate| gate.needs.contains(fact))
    };
    for id in procedure.facts.keys().filter(|id| !needed(id)) {
        let place = desk.place(&format!("fact {id}"));
        desk.doubt(
            Code::FactUnneeded,
            id.as_str(),
            &place,
            format!("nothing needs the fact “{id}”"),
            "its gate guards nothing",
            "name it in the `needs` of the steps that it makes safe, or take fact and gate out",
        );
    }
}

/// Where a step leads besides on to the next.
fn leads_to<'a>(procedure: &'a Procedure, step: &'a Step) -> Vec<&'a Id> {
    let mut to: Vec<&Id> = step.helpers.iter().collect();
    match &step.action {
        Action::Ask { yes, no } => to.extend(yes.iter().chain(no)),
        Action::Measure(id) => to.extend(procedure.readings.get(id).and_then(|it| it.out.as_ref())),
        Action::Do
        | Action::Loosen(_)
        | Action::Remove(_)
        | Action::Refit(_)
        | Action::Tighten(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Hold(_) => {}
    }
    to
}

fn unreached(procedure: &Procedure, desk: &mut Desk) {
    let mut open: Vec<&Step> = procedure.steps.iter().chain(&procedure.make_safe).collect();
    let mut reached: BTreeSet<&Id> = BTreeSet::new();
    while let Some(step) = open.pop() {
        for id in leads_to(procedure, step) {
            if let Some(branch) = procedure.branches.get(id).filter(|_| reached.insert(id)) {
                open.extend(&branch.steps);
            }
        }
    }
    for id in procedure.branches.keys().filter(|id| !reached.contains(id)) {
        let place = desk.place(&format!("branch {id}"));
        desk.doubt(
            Code::BranchUnreached,
            id.as_str(),
            &place,
            format!("nothing leads to the branch “{id}”"),
            "never entered",
            "offer it by a step's `helpers`, a question's `yes` or `no`, or a reading's `out`; or take it out",
        );
    }
}

/// A branch ends if each of its questions has an answer that leads on, or into a branch that ends.
fn endless(procedure: &Procedure, desk: &mut Desk) {
    let mut ends: BTreeSet<&Id> = BTreeSet::new();
    loop {
        let found: Vec<&Id> = procedure
            .branches
            .iter()
            .filter(|(id, branch)| {
                !ends.contains(id) && branch.steps.iter().all(|step| leads_on(step, &ends))
            })
            .map(|(id, _)| id)
            .collect();
        if found.is_empty() {
            break;
        }
        ends.extend(found);
    }
    for id in procedure.branches.keys().filter(|id| !ends.contains(id)) {
        let place = desk.place(&format!("branch {id}"));
        desk.problem(
            Code::BranchEndless,
            &place,
            format!("the branch “{id}” never ends"),
            "both answers lead around",
            "leave out `yes` or `no` where the answer means that the trouble is over",
        );
    }
}

fn leads_on(step: &Step, ends: &BTreeSet<&Id>) -> bool {
    match &step.action {
        Action::Ask {
            yes: Some(yes),
            no: Some(no),
        } => ends.contains(yes) || ends.contains(no),
        Action::Ask { yes: _, no: _ } => true,
        Action::Do
        | Action::Loosen(_)
        | Action::Remove(_)
        | Action::Refit(_)
        | Action::Tighten(_)
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Hold(_) => true,
    }
}

/// The fewest words that a readback has and another lacks. Common practice, no source; `check --heard` measures it.
const OWN_WORDS: usize = 3;

fn alike(procedure: &Procedure, desk: &mut Desk) {
    let gates: Vec<_> = procedure.gates.iter().collect();
    for (at, (id, gate)) in gates.iter().enumerate() {
        let own: BTreeSet<&str> = gate.readback.split(' ').collect();
        for (other, before) in &gates[..at] {
            let theirs: BTreeSet<&str> = before.readback.split(' ').collect();
            let differ = own
                .difference(&theirs)
                .count()
                .min(theirs.difference(&own).count());
            if differ < OWN_WORDS {
                let place = desk.place(&format!("readback {id}"));
                desk.doubt(
                    Code::ReadbackNear,
                    id.as_str(),
                    &place,
                    format!("the readbacks of “{other}” and “{id}” differ in {differ} word(s)"),
                    format!("too near to “{}”", before.readback),
                    "say what is seen at this gate and nowhere else; `sayback check --heard` measures it",
                );
            }
        }
    }
}
