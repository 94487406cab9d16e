//! Every state that a shipped job can reach, whatever is said, as far as its gates hang on it: breadth
//! first. Readings are reduced to "within limits" and "outside", time stands still, at most one thing is
//! deferred (and the program isn't restarted after that), and variants that no step's `when` asks about
//! are given their first answer. "Hold on", notes and doubt only come and go; the random talk of
//! `random_talk` has them.

use crate::support::{Folder, keeps_the_promises, readings, said};
use std::collections::{HashSet, VecDeque};
use std::sync::Arc;
use steps::{Certainty, Command, Input, Job, Moment, Procedure, Settings};

/// All that may happen in a state and could lead to another, the forbidden included.
fn happenings(job: &Job) -> Vec<Input> {
    let listen = job.listen();
    let mut all: Vec<Input> = Vec::new();
    let told = listen
        .commands
        .iter()
        .cloned()
        .chain(listen.phrases.iter().map(|it| it.command.clone()));
    for command in told {
        // Questions change no state: they are driven by the random talk of `random_talk`.
        let changes = !matches!(
            command,
            Command::SayAgain
                | Command::Slower
                | Command::TellMeMore
                | Command::WhereAmI
                | Command::WhatsNext
                | Command::WhatSize
                | Command::WhatTorque
                | Command::HowMany
                | Command::WhatTool
                | Command::Why
                | Command::ReadTheWarning
                | Command::WhatsOff
                | Command::Help
                | Command::Stop
        );
        let decides = match &command {
            Command::HoldOn | Command::Note => false,
            Command::Choose { variant, option } => {
                let asked = job.procedure().variants.iter().find(|it| it.id == *variant);
                steps_of(job.procedure()).any(|step| step.when.contains_key(variant))
                    || asked.is_some_and(|asked| asked.options[0].0 == *option)
            }
            Command::Defer { .. } => !deferred(job),
            _ => true,
        };
        if changes && decides {
            all.push(said(command, Certainty::Sure));
        }
    }
    if listen.number.is_some() {
        all.extend(
            readings(job)
                .into_iter()
                .map(|value| said(Command::Reading { value }, Certainty::Sure)),
        );
    }
    for gate in job.procedure().gates.keys() {
        for certainty in [Certainty::Sure, Certainty::Doubtful, Certainty::Typed] {
            all.push(said(Command::Readback { gate: gate.clone() }, certainty));
        }
    }
    all.push(said(Command::Yes, Certainty::Sure));
    if !deferred(job) {
        all.push(Input::Resumed);
    }
    all
}

fn deferred(job: &Job) -> bool {
    job.deferred().next().is_some()
}

fn steps_of(procedure: &Procedure) -> impl Iterator<Item = &steps::procedure::Step> {
    let branches = procedure.branches.values().flat_map(|branch| &branch.steps);
    procedure
        .steps
        .iter()
        .chain(&procedure.make_safe)
        .chain(branches)
}

fn search(name: &str) {
    let procedure = Arc::new(Procedure::load(name, &Folder).expect("shipped procedures load"));
    let now = Moment(1_700_000_000_000);
    let mut first = Job::new(Arc::clone(&procedure), Settings::default());
    first.take(Input::Begin, now);
    let mut seen: HashSet<u64> = HashSet::from([first.gate_key()]);
    let mut open: VecDeque<Job> = VecDeque::from([first]);
    let (mut inputs, mut finished, mut abandoned) = (0u64, 0u64, 0u64);
    let mut steps_seen: HashSet<String> = HashSet::new();
    while let Some(job) = open.pop_front() {
        if let Some(step) = job.step() {
            steps_seen.insert(step.id.to_string());
        }
        for input in happenings(&job) {
            let mut after = job.clone();
            after.take(input.clone(), now);
            inputs += 1;
            if let Err(broken) = keeps_the_promises(&job, &input, &after) {
                panic!("{name}: {broken}");
            }
            if seen.insert(after.gate_key()) {
                match after.outcome() {
                    Some(steps::Outcome::Finished) => finished += 1,
                    Some(steps::Outcome::Abandoned) => abandoned += 1,
                    None => open.push_back(after),
                }
            }
        }
    }
    println!(
        "{name}: {} states seen by {inputs} inputs, {finished} finished, {abandoned} given up",
        seen.len()
    );
    assert!(finished > 0 && abandoned > 0, "{name} can end both ways");
    let never: Vec<&str> = steps_of(&procedure)
        .filter(|step| !matches!(step.action, steps::procedure::Action::Hold(_)))
        .map(|step| step.id.as_str())
        .filter(|id| !steps_seen.contains(*id))
        .collect();
    assert!(never.is_empty(), "{name}: nobody ever gets to {never:?}");
}

#[test]
fn the_half_shaft_job_keeps_its_gates_in_every_state() {
    search("front-half-shaft");
}

#[test]
fn the_brake_job_keeps_its_gates_in_every_state() {
    search("front-brakes");
}

#[test]
fn the_trailer_job_keeps_its_gates_in_every_state() {
    search("trailer-hub");
}
