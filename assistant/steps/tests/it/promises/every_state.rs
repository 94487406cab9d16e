//! Every state that a shipped job can reach, whatever is said, as far as its gates hang on it: breadth
//! first. Readings are reduced to "within limits" and "outside", time stands still but for pauses of the
//! lengths that gates care about, and variants that no step's `when` asks about are given their first
//! answer. "Hold on", notes and doubt only come and go; the random talk of `random_talk` has them.

use crate::promises::harness::{
    Folder, asks_again_after_a_correction, heard, keeps_the_promises, readbacks, readings, said,
    voids_what_it_undoes,
};
use std::collections::{BTreeSet, HashSet, VecDeque};
use std::sync::Arc;
use std::time::Duration;
use steps::{
    CORRECTION_WINDOW, Certainty, Command, Id, Input, Job, Moment, People, Procedure, Settings,
};

/// Long enough that nothing can be taken back any more.
const SETTLED: Duration = CORRECTION_WINDOW;

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
        let changes = !command.is_question() && command != Command::Stop;
        let decides = match &command {
            Command::HoldOn | Command::Note => false,
            // Which part is missing makes no difference.
            Command::PartMissing { thing } => thing.is_none(),
            Command::Choose { variant, option } => {
                let asked = job.procedure().variants.iter().find(|it| it.id == *variant);
                steps_of(job.procedure()).any(|step| step.when.contains_key(variant))
                    || asked.is_some_and(|asked| asked.options[0].0 == *option)
            }
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
    for readback in readbacks(job) {
        for certainty in [Certainty::Sure, Certainty::Doubtful, Certainty::Typed] {
            all.push(said(readback.clone(), certainty));
        }
    }
    all.push(said(Command::Yes, Certainty::Sure));
    // Also where nothing can be taken back.
    all.push(said(Command::TakeBack, Certainty::Doubtful));
    if job.may_take_back() {
        // A piece of talk that sounds like the gate's words, and corrections.
        all.push(Input::NotUnderstood {
            heard: heard(Certainty::Doubtful),
        });
        all.push(said(Command::No, Certainty::Doubtful));
        all.push(said(Command::HoldOn, Certainty::Doubtful));
    }
    all.push(Input::Resumed);
    all
}

/// What is taken after a pause of any length; the rest is the same as without one.
fn after_a_pause(job: &Job) -> Vec<Input> {
    readbacks(job)
        .into_iter()
        .chain([
            Command::Next,
            Command::Yes,
            Command::Finish,
            Command::TakeBack,
        ])
        .map(|command| said(command, Certainty::Sure))
        .chain([Input::Woke, Input::Resumed])
        .collect()
}

/// Every pause just longer than one that some gate allows, and the one after which nothing can be taken back.
fn pauses(procedure: &Procedure) -> BTreeSet<Duration> {
    let allowed = procedure.gates.values().map(|gate| gate.good_for);
    let longer = allowed.map(|it| it + Duration::from_secs(1));
    longer.chain([SETTLED]).collect()
}

/// No fact outlives a pause that its gate doesn't allow, but by being read back when it was asked for.
fn outlives_the_pause(before: &Job, after: &Job, input: &Input, pause: Duration) -> Option<String> {
    let procedure = after.procedure();
    let read_back = |gate: &Id| {
        before.holding() == Some(gate)
            && matches!(input, Input::Said { command: Command::Readback { gate: said, .. }, .. } if said == gate)
    };
    let old = after.facts().find(|id| {
        let gate = &procedure.facts[*id].gate;
        procedure.gates[gate].good_for < pause && !read_back(gate)
    });
    old.map(|id| format!("{id} is still true after {pause:?} and {input:?}"))
}

fn steps_of(procedure: &Procedure) -> impl Iterator<Item = &steps::procedure::Step> {
    let branches = procedure.branches.values().flat_map(|branch| &branch.steps);
    procedure
        .steps
        .iter()
        .chain(&procedure.make_safe)
        .chain(branches)
}

/// With several people they hand the job to and fro, and sign it.
fn search(name: &str, people: &[&str]) {
    let procedure = Arc::new(Procedure::load(name, &Folder).expect("shipped procedures load"));
    let now = Moment(1_700_000_000_000);
    let names = people.iter().map(|name| name.to_string()).collect();
    let settings = Settings {
        people: People::new(names, None).expect("names"),
        colours: true,
        corrections: true,
        pauses: true,
        ..Settings::default()
    };
    let mut first = Job::new(Arc::clone(&procedure), settings);
    first.take(Input::Begin, now);
    let mut seen: HashSet<u64> = HashSet::from([first.gate_key()]);
    let mut open: VecDeque<(Job, Moment)> = VecDeque::from([(first, now)]);
    let pauses = pauses(&procedure);
    let (mut inputs, mut finished, mut abandoned) = (0u64, 0u64, 0u64);
    let mut steps_seen: HashSet<String> = HashSet::new();
    while let Some((job, now)) = open.pop_front() {
        if let Some(step) = job.step() {
            steps_seen.insert(step.id.to_string());
        }
        let at_once = happenings(&job).into_iter().map(|it| (it, Duration::ZERO));
        let later = pauses
            .iter()
            .filter(|pause| **pause != SETTLED || job.may_take_back())
            .flat_map(|pause| after_a_pause(&job).into_iter().map(|it| (it, *pause)));
        for (input, pause) in at_once.chain(later) {
            let mut after = job.clone();
            let now = Moment(now.0 + pause.as_millis() as u64);
            after.take(input.clone(), now);
            inputs += 1;
            let mut kept = keeps_the_promises(&job, &input, &after);
            if pause.is_zero() {
                kept = kept.and_then(|()| voids_what_it_undoes(&job, &input, &after));
            }
            if pause <= SETTLED {
                kept = kept.and_then(|()| asks_again_after_a_correction(&job, &input, &after));
            }
            if let Err(broken) = kept {
                panic!("{name}: {broken}");
            }
            if let Some(broken) = outlives_the_pause(&job, &after, &input, pause) {
                panic!("{name}: {broken}");
            }
            if seen.insert(after.gate_key()) {
                match after.outcome() {
                    Some(steps::Outcome::Finished) => finished += 1,
                    Some(steps::Outcome::Abandoned) => abandoned += 1,
                    None => open.push_back((after, now)),
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
    search("front-half-shaft", &[]);
}

#[test]
fn the_brake_job_keeps_its_gates_in_every_state() {
    search("front-brakes", &["Mara", "Tobias"]);
}

#[test]
fn the_trailer_job_keeps_its_gates_in_every_state() {
    search("trailer-hub", &["Mara", "Tobias"]);
}

#[test]
fn the_control_arm_job_keeps_its_gates_in_every_state() {
    search("control-arm", &[]);
}

#[test]
fn the_coolant_change_job_keeps_its_gates_in_every_state() {
    search("coolant-change", &[]);
}

#[test]
fn the_damper_spring_job_keeps_its_gates_in_every_state() {
    search("damper-spring", &[]);
}

#[test]
fn the_drive_belt_job_keeps_its_gates_in_every_state() {
    search("drive-belt", &[]);
}

#[test]
fn the_flanged_half_shaft_job_keeps_its_gates_in_every_state() {
    search("flanged-half-shaft", &[]);
}

#[test]
fn the_outboard_gear_oil_job_keeps_its_gates_in_every_state() {
    search("outboard-gear-oil", &[]);
}

#[test]
fn the_rear_brakes_job_keeps_its_gates_in_every_state() {
    search("rear-brakes", &[]);
}

#[test]
fn the_slipway_winch_job_keeps_its_gates_in_every_state() {
    search("slipway-winch", &[]);
}

#[test]
fn the_standby_generator_job_keeps_its_gates_in_every_state() {
    search("standby-generator", &[]);
}

#[test]
fn the_starter_battery_job_keeps_its_gates_in_every_state() {
    search("starter-battery", &[]);
}

#[test]
fn the_wheel_bearing_job_keeps_its_gates_in_every_state() {
    search("wheel-bearing", &[]);
}
