//! Doubts that the author has looked at and accepts in the file, with a reason.
//!
//! A mistake can't be accepted. Neither can anything at a gate: a gate is put right.

use super::Procedure;
use super::code::{Code, Severity};
use super::desk::{Desk, Place};
use super::finding::Finding;
use super::load::Gathered;
use super::names::fill;
use crate::Id;

/// A reason has at least so many words; fewer say nothing to whoever reads it next.
const FEWEST_WORDS: usize = 3;

/// An acceptance as it is written.
pub(super) struct Accepted {
    code: Code,
    at: String,
    reason: String,
    place: Place,
}

/// Reads the acceptances of all files.
pub(super) fn written(gathered: &Gathered, desk: &mut Desk) -> Vec<Accepted> {
    let mut all = Vec::new();
    for it in &gathered.files {
        for accepted in &it.file.accepted {
            let place = |span| Place {
                source: it.source,
                span,
            };
            let name = accepted.code.as_ref();
            let at_code = place(accepted.code.span());
            let Some(code) = Code::named(name) else {
                let near: Vec<String> = Code::near(name)
                    .iter()
                    .take(3)
                    .map(|code| format!("“{code}”"))
                    .collect();
                desk.problem(
                    Code::Unknown,
                    &at_code,
                    format!("no finding has the code “{name}”"),
                    "unknown code",
                    match near.is_empty() {
                        true => "take it from what `sayback check` prints".to_owned(),
                        false => format!("did you mean {}?", near.join(" or ")),
                    },
                );
                continue;
            };
            if code.severity() == Severity::Mistake {
                desk.problem(
                    Code::AcceptedWrongly,
                    &at_code,
                    format!("“{code}” is a mistake, and a mistake can't be accepted"),
                    "not a doubt",
                    "put the mistake right and take this entry out",
                );
                continue;
            }
            if code.is_at_gates() {
                at_a_gate(desk, &at_code, &format!("“{code}” is about hold points"));
                continue;
            }
            if !code.can_be_accepted() {
                desk.problem(
                    Code::AcceptedWrongly,
                    &at_code,
                    format!("“{code}” can't be accepted"),
                    "not by a reason",
                    format!(
                        "`sayback check --explain {code}` tells what to do; take this entry out"
                    ),
                );
                continue;
            }
            if accepted.reason.as_ref().split_whitespace().count() < FEWEST_WORDS {
                desk.problem(
                    Code::AcceptedWrongly,
                    &place(accepted.reason.span()),
                    format!("“{code}” is accepted without a reason"),
                    "says nothing to whoever reads it next",
                    "write in a sentence why it is right as it stands",
                );
                continue;
            }
            all.push(Accepted {
                code,
                at: fill(accepted.at.as_ref(), &it.with),
                reason: accepted.reason.as_ref().clone(),
                place: place(accepted.at.span()),
            });
        }
    }
    all
}

/// Marks what is accepted, and draws acceptances of what isn't found.
pub(super) fn apply(accepted: &[Accepted], procedure: &Procedure, desk: &mut Desk) {
    let found =
        |it: &Accepted, doubt: &Finding| it.code == doubt.code && doubt.about.contains(&it.at);
    for it in accepted {
        if is_gate(procedure, &it.at) {
            at_a_gate(desk, &it.place, &format!("“{}” is a hold point", it.at));
        } else if !desk.doubts.iter().any(|doubt| found(it, doubt)) {
            desk.doubt(
                Code::AcceptedStale,
                &it.at,
                &it.place,
                format!("“{}” is not found at “{}”", it.code, it.at),
                "accepts nothing",
                "take this [[accepted]] out, or a later slip stays hidden",
            );
        }
    }
    for doubt in &mut desk.doubts {
        // Drawn once, it may be about several things; each needs its acceptance.
        let reason = |name: &String| {
            let of = |it: &&Accepted| it.code == doubt.code && it.at == *name;
            accepted.iter().find(of).map(|it| it.reason.clone())
        };
        let reasons: Option<Vec<String>> = doubt.about.iter().map(reason).collect();
        doubt.accepted = reasons.and_then(|reasons| reasons.into_iter().next());
    }
}

/// Whether a name is a gate's, its fact's, or a hold's.
fn is_gate(procedure: &Procedure, name: &str) -> bool {
    let id = Id::new(name);
    let elsewhere = procedure.branches.values().flat_map(|it| &it.steps);
    let mut steps = procedure
        .steps
        .iter()
        .chain(elsewhere)
        .chain(&procedure.make_safe);
    procedure.gates.contains_key(&id)
        || procedure.facts.contains_key(&id)
        || steps.any(|step| step.id == id && matches!(step.action, super::Action::Hold(_)))
}

fn at_a_gate(desk: &mut Desk, place: &Place, what: &str) {
    desk.problem(
        Code::AcceptedWrongly,
        place,
        format!("{what}, and nothing at a hold point can be accepted"),
        "at a hold point",
        "mend the hold point and take this entry out",
    );
}
