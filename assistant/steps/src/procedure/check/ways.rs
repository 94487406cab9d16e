//! Ways through the job: where its facts are asked for, and branches that nothing enters or that never end.
//!
//! # Is a voided fact asked for again?
//!
//! Yes, by construction. The job asks `gate_that_holds` at every step, while making safe as well. A fact that has no
//! gate, or whose gate depends on the fact itself, is refused (`fact-gate`, `fact-circle`). So all that is left to
//! check here is that a hold point comes before the first step that needs its fact; otherwise the gate would come as
//! a surprise.
//!
//! # May giving up leave something off?
//!
//! Yes: half-done work can't be undone on the spot. The job names what is off before and after making safe, and the
//! record keeps the list. What is doubted (`make-safe-off`) is a step of `make_safe` that voids a fact under which
//! something came off, unless that is put back first. Only the `needs` of the removing step count; a text such as
//! “lower it” isn't understood.

use super::{all_steps, combinations, place_of};
use crate::Id;
use crate::procedure::code::Code;
use crate::procedure::desk::Desk;
use crate::procedure::{Action, Procedure, Step, Thing};
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn check(procedure: &Procedure, desk: &mut Desk) {
    for chosen in combinations(procedure) {
        facts(procedure, &chosen, desk);
        facts_when_given_up(procedure, &chosen, desk);
    }
    off_when_given_up(procedure, desk);
    unneeded(procedure, desk);
    unreached(procedure, desk);
    endless(procedure, desk);
    alike(procedure, desk);
}

/// Every fact that a step needs has its hold point before it. Where it is missing the gate is asked all the same, but as
/// a surprise, in the middle of something.
///
/// A fact that was voided since is asked for again, whatever the way: the job holds at each step whose facts aren't true,
/// and the reader lets no fact by that has no gate, or whose gate needs, in the end, itself. So there always is a gate
/// to ask, and it can be passed.
fn facts(procedure: &Procedure, chosen: &BTreeMap<Id, Id>, desk: &mut Desk) {
    let mut asked: BTreeSet<&Id> = BTreeSet::new();
    for step in procedure.steps.iter().filter(|it| applies(it, chosen)) {
        let gate = procedure.gate_of(step);
        let needs = step.needs.iter();
        for fact in needs.chain(gate.iter().flat_map(|gate| &gate.needs)) {
            if asked.insert(fact) {
                unasked(step, fact, desk);
            }
        }
        asked.extend(gate.map(|gate| &gate.fact));
    }
}

/// The same for giving up, where no fact is sure at the beginning. A hold point brings what its gate needs with it; one
/// with `when_off` is asked only for steps that have the same.
fn facts_when_given_up(procedure: &Procedure, chosen: &BTreeMap<Id, Id>, desk: &mut Desk) {
    let mut asked: BTreeSet<(&Id, Option<&Id>)> = BTreeSet::new();
    for step in procedure.make_safe.iter().filter(|it| applies(it, chosen)) {
        let off = step.when_off.as_ref();
        for fact in &step.needs {
            if !asked.contains(&(fact, None)) && asked.insert((fact, off)) {
                unasked(step, fact, desk);
            }
        }
        let mut open: Vec<_> = procedure.gate_of(step).into_iter().collect();
        // Each is gone through once, so this ends.
        while let Some(gate) = open.pop() {
            if asked.insert((&gate.fact, off)) {
                let needed = gate
                    .needs
                    .iter()
                    .filter_map(|fact| procedure.facts.get(fact));
                open.extend(needed.filter_map(|fact| procedure.gates.get(&fact.gate)));
            }
        }
    }
}

fn applies(step: &Step, chosen: &BTreeMap<Id, Id>) -> bool {
    let mut when = step.when.iter();
    when.all(|(variant, option)| chosen.get(variant) == Some(option))
}

fn unasked(step: &Step, fact: &Id, desk: &mut Desk) {
    desk.doubt(
        Code::FactUnasked,
        step.id.as_str(),
        &place_of(step, desk),
        format!(
            "the step “{}” needs “{fact}”, and no hold point before it asks for that",
            step.id
        ),
        "asked here, by surprise",
        "add a step with `action = \"hold\"` and the gate of this fact where it belongs",
    );
}

/// Giving up lets the vehicle down, or hands the machine back, only with all in place that came off for it: what came off
/// under a fact is put back before a step of `make_safe` ends that fact.
fn off_when_given_up(procedure: &Procedure, desk: &mut Desk) {
    for (at, step) in procedure.make_safe.iter().enumerate() {
        let before = &procedure.make_safe[..at];
        let back = |thing: &Thing| {
            let whenever_off = |it: &Step| it.when_off.as_ref().is_none_or(|id| id == thing.id());
            before.iter().any(|it| {
                it.action == Action::Refit(thing.clone()) && it.when.is_empty() && whenever_off(it)
            })
        };
        let ends = |taken: &&Step| taken.needs.iter().any(|fact| step.voids.contains(fact));
        let off: BTreeSet<&Thing> = all_steps(procedure)
            .filter(ends)
            .filter_map(|taken| match &taken.action {
                Action::Remove(thing) => Some(thing),
                Action::Do
                | Action::Loosen(_)
                | Action::Refit(_)
                | Action::Tighten(_)
                | Action::Measure(_)
                | Action::Wait(_)
                | Action::Inspect
                | Action::Ask { .. }
                | Action::Hold(_) => None,
            })
            .filter(|thing| !back(thing) && !may_wait(procedure, thing))
            .collect();
        if off.is_empty() {
            continue;
        }
        let quoted = |id: &Id| format!("“{id}”");
        let facts: Vec<String> = step.voids.iter().map(quoted).collect();
        let names: Vec<String> = off.iter().map(|it| quoted(it.id())).collect();
        desk.doubt(
            Code::MakeSafeOff,
            step.id.as_str(),
            &place_of(step, desk),
            format!(
                "“{}” ends {}, under which this came off and may be off still: {}",
                step.id,
                facts.join(", "),
                names.join(", ")
            ),
            "with something off",
            "put it back before, with `when_off`, or don't end the fact; else accept it with the reason",
        );
    }
}

fn may_wait(procedure: &Procedure, thing: &Thing) -> bool {
    match thing {
        Thing::Item(id) => procedure.items.get(id).is_some_and(|it| it.may_wait),
        Thing::Fastener(id) => procedure.fasteners.get(id).is_some_and(|it| it.may_wait),
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
    let ways = procedure.gates.iter();
    let ways = ways.flat_map(|(id, gate)| gate.readbacks().map(move |words| (id, words)));
    let ways: Vec<(&Id, &str)> = ways.collect();
    for (at, (id, readback)) in ways.iter().enumerate() {
        let own: BTreeSet<&str> = readback.split(' ').collect();
        for (other, before) in ways[..at].iter().filter(|(other, _)| other != id) {
            let theirs: BTreeSet<&str> = before.split(' ').collect();
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
                    format!("too near to “{before}”"),
                    "say what is seen at this gate and nowhere else; `sayback check --heard` measures it",
                );
            }
        }
    }
}
