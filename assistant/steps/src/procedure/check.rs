//! What is proved of a procedure before a job starts with it: whatever comes off goes back.
//!
//! # What does the checker prove, and what does it only doubt?
//!
//! A mistake makes a procedure unusable; a doubt looks like a slip. Over all combinations of options it proves that
//! whatever comes off goes back and is tightened, that each fact has a hold point before the first step that needs
//! it, and that each branch can be entered and ends. `texts.rs` looks at single words and understands no sentence.
//!
//! An author can accept a doubt in the file, with a reason. Nothing at a hold point can be accepted, so a reason can
//! never weaken one.

mod texts;
mod ways;

use super::code::Code;
use super::desk::{Desk, Place};
use super::{Action, Procedure, Step, Thing, Wait, WaitTime};
use crate::Id;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn check(procedure: &Procedure, desk: &mut Desk) {
    let mut told = BTreeSet::new();
    for chosen in combinations(procedure) {
        walk(procedure, &chosen, &mut told, desk);
    }
    waits(procedure, desk);
    ways::check(procedure, desk);
    texts::check(procedure, desk);
    for (id, branch) in &procedure.branches {
        // A branch may put back what was off before it, but mustn't leave more off than it found.
        let mut off: BTreeMap<Thing, &Step> = BTreeMap::new();
        for step in &branch.steps {
            follow(step, &mut off, procedure);
        }
        for (thing, step) in off {
            if told.insert((step.id.clone(), "left")) {
                left_off(procedure, &thing, step, &format!("the branch “{id}”"), desk);
            }
        }
    }
}

/// A wait that runs on is waited for by a later step of the procedure, and a step waits for no other.
fn waits(procedure: &Procedure, desk: &mut Desk) {
    let all: Vec<(&Step, &Wait)> = procedure.steps.iter().filter_map(wait_of).collect();
    let until = |wait: &Wait, id: &Id| wait.time == WaitTime::Until(id.clone());
    for (at, (step, wait)) in all.iter().enumerate() {
        let gathered = all
            .iter()
            .skip(at + 1)
            .any(|(_, later)| until(later, &step.id));
        if wait.runs_on && !gathered {
            desk.problem(
                Code::WaitUngathered,
                &place_of(step, desk),
                format!("no later step waits until “{}” is over", step.id),
                "a wait that runs on",
                format!(
                    "add a wait with `until = \"{}\"` where it must be over",
                    step.id
                ),
            );
        }
        if let WaitTime::Until(id) = &wait.time {
            let earlier = all[..at]
                .iter()
                .any(|(it, earlier)| it.id == *id && earlier.runs_on);
            if !earlier || wait.runs_on {
                no_such_wait(step, id, desk);
            }
        }
    }
    let elsewhere = procedure.branches.values().flat_map(|branch| &branch.steps);
    for (step, wait) in elsewhere.chain(&procedure.make_safe).filter_map(wait_of) {
        match &wait.time {
            WaitTime::Until(id) => no_such_wait(step, id, desk),
            WaitTime::Fixed(_) | WaitTime::ByTemperature { .. } if wait.runs_on => {
                no_such_wait(step, &step.id, desk);
            }
            WaitTime::Fixed(_) | WaitTime::ByTemperature { .. } => {}
        }
    }
}

fn wait_of(step: &Step) -> Option<(&Step, &Wait)> {
    Some((step, step.action.wait()?))
}

fn no_such_wait(step: &Step, id: &Id, desk: &mut Desk) {
    desk.problem(
        Code::WaitUngathered,
        &place_of(step, desk),
        format!("“{id}” is no earlier wait of the procedure that runs on"),
        "this wait",
        "name a [[step]] before this one with `action = \"wait\"` and `runs_on = true`",
    );
}

/// Every combination of options. There are at most 256, since a procedure with more isn't read.
pub(crate) fn combinations(procedure: &Procedure) -> Vec<BTreeMap<Id, Id>> {
    let mut all = vec![BTreeMap::new()];
    for variant in &procedure.variants {
        all = all
            .iter()
            .flat_map(|chosen| {
                variant.options.iter().map(|(option, _)| {
                    let mut chosen = chosen.clone();
                    chosen.insert(variant.id.clone(), option.clone());
                    chosen
                })
            })
            .collect();
    }
    all
}

fn walk(
    procedure: &Procedure,
    chosen: &BTreeMap<Id, Id>,
    told: &mut BTreeSet<(Id, &'static str)>,
    desk: &mut Desk,
) {
    let mut off: BTreeMap<Thing, &Step> = BTreeMap::new();
    let applies = |step: &&Step| {
        step.when
            .iter()
            .all(|(variant, option)| chosen.get(variant) == Some(option))
    };
    for step in procedure.steps.iter().filter(applies) {
        let putting_back = match &step.action {
            Action::Refit(thing) => Some(thing.clone()),
            Action::Tighten(id) => Some(Thing::Fastener(id.clone())),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => None,
        };
        if let Some(thing) = putting_back
            && matches!(step.action, Action::Refit(_))
            && !off.contains_key(&thing)
            && step.when_off.is_none()
            && told.insert((step.id.clone(), "never off"))
        {
            let name = name_of(procedure, &thing);
            desk.problem(
                Code::NeverOff,
                &place_of(step, desk),
                format!(
                    "the step “{}” refits the {name}, which no step before it takes off",
                    step.id
                ),
                "this step",
                "add the step that takes it off, or make this one `action = \"do\"`",
            );
        }
        follow(step, &mut off, procedure);
    }
    for (thing, step) in off {
        if told.insert((step.id.clone(), "left")) {
            left_off(procedure, &thing, step, "the procedure", desk);
        }
    }
}

fn follow<'a>(step: &'a Step, off: &mut BTreeMap<Thing, &'a Step>, procedure: &Procedure) {
    match &step.action {
        Action::Loosen(id) => {
            off.insert(Thing::Fastener(id.clone()), step);
        }
        Action::Remove(thing) => {
            off.insert(thing.clone(), step);
        }
        // A group with a torque is back in place only when it has been tightened.
        Action::Refit(Thing::Fastener(id))
            if procedure
                .fasteners
                .get(id)
                .is_some_and(|group| group.torque.is_some()) => {}
        Action::Refit(thing) => {
            off.remove(thing);
        }
        Action::Tighten(id) => {
            off.remove(&Thing::Fastener(id.clone()));
        }
        Action::Do
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Ask { .. }
        | Action::Hold(_) => {}
    }
}

fn left_off(procedure: &Procedure, thing: &Thing, step: &Step, of: &str, desk: &mut Desk) {
    let name = name_of(procedure, thing);
    let remedy = match thing {
        Thing::Item(_) => format!("add a step with `action = \"refit\"` for the {name}"),
        Thing::Fastener(_) => format!("add a step with `action = \"tighten\"` for the {name}"),
    };
    desk.problem(
        Code::NotRefitted,
        &place_of(step, desk),
        format!("{of} ends with the {name} still loose or off"),
        format!("it comes off in the step “{}”", step.id),
        remedy,
    );
}

fn name_of(procedure: &Procedure, thing: &Thing) -> String {
    match thing {
        Thing::Item(id) => procedure
            .items
            .get(id)
            .map_or(id.as_str(), |item| &item.name),
        Thing::Fastener(id) => procedure
            .fasteners
            .get(id)
            .map_or(id.as_str(), |group| group.named()),
    }
    .to_owned()
}

/// All steps, wherever they stand.
fn all_steps(procedure: &Procedure) -> impl Iterator<Item = &Step> {
    let branches = procedure.branches.values().flat_map(|it| &it.steps);
    procedure
        .steps
        .iter()
        .chain(branches)
        .chain(&procedure.make_safe)
}

/// Where a step's words stand.
fn text_place(step: &Step, desk: &Desk) -> Place {
    let text = desk.places.get(&format!("text {}", step.id)).cloned();
    text.unwrap_or_else(|| place_of(step, desk))
}

fn place_of(step: &Step, desk: &Desk) -> Place {
    desk.place(&format!("step {}", step.id))
}
