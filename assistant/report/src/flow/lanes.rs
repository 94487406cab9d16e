//! From which step to which something is off, or a fact holds.

use crate::names::plain;
use std::collections::BTreeMap;
use steps::procedure::{Action, Thing};
use steps::{Id, Procedure};

/// A stretch of steps beside which a line runs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Lane {
    pub name: String,
    /// The index of the first step.
    pub from: usize,
    /// The index of the last step; `None` where it runs to the end.
    pub to: Option<usize>,
    /// How far out, so that no two lines lie on each other.
    pub column: usize,
}

/// From loosening or taking off to tightening or putting back.
pub(crate) fn lanes_of_things(procedure: &Procedure) -> Vec<Lane> {
    let mut open: BTreeMap<Id, usize> = BTreeMap::new();
    let mut lanes = Vec::new();
    for (at, step) in procedure.steps.iter().enumerate() {
        match &step.action {
            Action::Loosen(id) => {
                open.entry(id.clone()).or_insert(at);
            }
            Action::Remove(thing) => {
                open.entry(thing.id().clone()).or_insert(at);
            }
            Action::Refit(Thing::Item(id)) | Action::Tighten(id) => {
                if let Some(from) = open.remove(id) {
                    lanes.push(lane(name(procedure, id), from, Some(at)));
                }
            }
            // Run in by hand isn't in place yet, where a torque follows.
            Action::Refit(Thing::Fastener(id)) => {
                let tightened_later = procedure.steps[at..]
                    .iter()
                    .any(|later| matches!(&later.action, Action::Tighten(other) if other == id));
                if !tightened_later && let Some(from) = open.remove(id) {
                    lanes.push(lane(name(procedure, id), from, Some(at)));
                }
            }
            Action::Do
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => {}
        }
    }
    lanes.extend(
        open.into_iter()
            .map(|(id, from)| lane(name(procedure, &id), from, None)),
    );
    side_by_side(lanes)
}

/// From the first step that asks for a fact to the one that voids it.
pub(crate) fn lanes_of_facts(procedure: &Procedure) -> Vec<Lane> {
    let mut open: BTreeMap<&Id, usize> = BTreeMap::new();
    let mut lanes = Vec::new();
    for (at, step) in procedure.steps.iter().enumerate() {
        let held = procedure.gate_of(step).map(|gate| &gate.fact);
        for fact in step.needs.iter().chain(held) {
            open.entry(fact).or_insert(at);
        }
        for fact in &step.voids {
            if let Some(from) = open.remove(fact) {
                lanes.push(lane(means(procedure, fact), from, Some(at)));
            }
        }
    }
    lanes.extend(
        open.into_iter()
            .map(|(fact, from)| lane(means(procedure, fact), from, None)),
    );
    side_by_side(lanes)
}

fn lane(name: String, from: usize, to: Option<usize>) -> Lane {
    Lane {
        name,
        from,
        to,
        column: 0,
    }
}

/// Gives each lane the nearest column that is free all along it.
fn side_by_side(mut lanes: Vec<Lane>) -> Vec<Lane> {
    lanes.sort_by_key(|lane| (lane.from, lane.to));
    // For each column, where its last lane ends.
    let mut ends: Vec<usize> = Vec::new();
    for lane in &mut lanes {
        let end = lane.to.unwrap_or(usize::MAX);
        let free = ends.iter().position(|taken| *taken < lane.from);
        lane.column = free.unwrap_or(ends.len());
        match ends.get_mut(lane.column) {
            Some(taken) => *taken = end,
            None => ends.push(end),
        }
    }
    lanes
}

fn means(procedure: &Procedure, fact: &Id) -> String {
    let fact = procedure.facts.get(fact);
    fact.map(|fact| fact.means.clone()).unwrap_or_default()
}

pub(crate) fn name(procedure: &Procedure, id: &Id) -> String {
    let item = procedure.items.get(id).map(|item| item.name.clone());
    let group = || procedure.fasteners.get(id).map(|group| group.counted());
    item.or_else(group).unwrap_or_else(|| plain(id))
}
