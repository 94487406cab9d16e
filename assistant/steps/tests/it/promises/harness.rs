//! What several tests of this crate need.

use std::path::Path;
use steps::procedure::{Library, ReadError};
use steps::{Certainty, Colour, Command, Decimal, Heard, Id, Input, Job};

/// The shipped procedures' folder.
pub struct Folder;

impl Library for Folder {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
        std::fs::read(folder.join(format!("{name}.toml")))
            .map_err(|error| ReadError::Failed(error.to_string()))
    }
}

/// The shipped jobs.
pub const SHIPPED: [&str; 14] = [
    "control-arm",
    "coolant-change",
    "damper-spring",
    "drive-belt",
    "flanged-half-shaft",
    "front-brakes",
    "front-half-shaft",
    "outboard-gear-oil",
    "rear-brakes",
    "slipway-winch",
    "standby-generator",
    "starter-battery",
    "trailer-hub",
    "wheel-bearing",
];

/// Something heard.
pub fn heard(certainty: Certainty) -> Heard {
    Heard {
        words: "…".into(),
        certainty,
        evidence: None,
        sound: None,
    }
}

/// A command that was told.
pub fn said(command: Command, certainty: Certainty) -> Input {
    Input::Said {
        command,
        heard: heard(certainty),
    }
}

/// All commands there are, the ones with data filled from the procedure: also those that may not be said
/// in the job's state.
pub fn everything(job: &Job) -> Vec<Command> {
    let procedure = job.procedure();
    let mut all = Command::ALL_PLAIN.to_vec();
    all.push(Command::Start {
        procedure: procedure.id.clone(),
    });
    all.push(Command::Dictation {
        words: "the boot is split".into(),
    });
    for variant in &procedure.variants {
        for (option, _) in &variant.options {
            all.push(Command::Choose {
                variant: variant.id.clone(),
                option: option.clone(),
            });
        }
    }
    all.extend(readbacks(job));
    all.extend(procedure.branches.keys().map(|branch| Command::Helper {
        branch: branch.clone(),
    }));
    let things = procedure
        .items
        .keys()
        .chain(procedure.fasteners.keys())
        .chain(procedure.readings.keys());
    all.extend(things.map(|item| Command::Defer { item: item.clone() }));
    all.extend(
        readings(job)
            .into_iter()
            .map(|value| Command::Reading { value }),
    );
    all
}

/// The words of every gate: with the colour that is asked for now, with another one, without any.
pub fn readbacks(job: &Job) -> Vec<Command> {
    let asked = job.colour_asked();
    let other = Colour::ALL.into_iter().find(|it| Some(*it) != asked);
    let mut colours = vec![asked, other, None];
    colours.dedup();
    let of = |gate: &Id| {
        let gate = gate.clone();
        let with = move |colour| Command::Readback {
            gate: gate.clone(),
            colour,
        };
        colours.iter().copied().map(with).collect::<Vec<_>>()
    };
    job.procedure().gates.keys().flat_map(of).collect()
}

/// For every reading a value within its limits, and one outside them where there is one: a reading counts
/// only by the side of the limits that it falls on.
pub fn readings(job: &Job) -> Vec<Decimal> {
    let mut values = Vec::new();
    for reading in job.procedure().readings.values() {
        let candidates = [
            reading.least,
            reading.most,
            reading.min.unwrap_or(reading.least),
            reading.max.unwrap_or(reading.most),
        ];
        values.extend(candidates.iter().find(|value| reading.within(**value)));
        values.extend(candidates.iter().find(|value| !reading.within(**value)));
    }
    values.sort();
    values.dedup();
    values
}

/// The promises, as far as one input can break them: what is true after it and wasn't before is the fact
/// of the gate that held, and its own readback was heard and trusted; and nobody stands at a step whose
/// facts aren't true.
pub fn keeps_the_promises(before: &Job, input: &Input, after: &Job) -> Result<(), String> {
    let held: Option<Id> = before.holding().cloned();
    for fact in after.facts() {
        if before.facts().any(|known| known == fact) {
            continue;
        }
        let gate = &after.procedure().facts[fact].gate;
        let readback = Input::Said {
            command: Command::Readback {
                gate: gate.clone(),
                colour: before.colour_asked(),
            },
            heard: heard(Certainty::Sure),
        };
        if *input != readback || held.as_ref() != Some(gate) {
            return Err(format!(
                "“{fact}” became true by {input:?} while {held:?} held"
            ));
        }
    }
    keeps_the_correction(before, input, after)?;
    if let Some(step) = after.step() {
        for need in &step.needs {
            if !after.facts().any(|fact| fact == need) {
                return Err(format!("at “{}” without “{need}” after {input:?}", step.id));
            }
        }
    }
    if before.waits_for_part()
        && !after.waits_for_part()
        && *input == said(Command::PartHere, Certainty::Sure)
        && after.facts().next().is_some()
    {
        return Err("a fact outlived the wait for a part".into());
    }
    let open = before.outcome().is_none();
    if open && matches!(input, Input::Resumed) && after.facts().next().is_some() {
        return Err("a fact outlived a restart".into());
    }
    Ok(())
}

/// A gate that has just opened still holds: no step is announced that needs its fact. Whatever takes it back makes its fact
/// untrue, and it asks anew.
fn keeps_the_correction(before: &Job, input: &Input, after: &Job) -> Result<(), String> {
    let is_true = |job: &Job, gate: &Id| {
        let fact = &job.procedure().gates[gate].fact;
        job.facts().any(|it| it == fact)
    };
    let (Some(gate), Input::Said { command, heard }) = (before.holding(), input) else {
        return Ok(());
    };
    let opened = is_true(after, gate) && !is_true(before, gate);
    if opened && (after.holding() != Some(gate) || after.step().is_some()) {
        return Err(format!("went on from “{gate}” at once"));
    }
    let just_opened = is_true(before, gate) && before.may_take_back();
    let correction = before.is_correction(command) && heard.certainty != Certainty::Typed;
    if just_opened && correction && after.outcome().is_none() && is_true(after, gate) {
        return Err(format!("“{gate}” is still open after {input:?}"));
    }
    Ok(())
}

/// A correction right after a gate has opened asks for it anew. After a pause that closed the gate by itself it is no
/// correction any more: "back" goes back.
pub fn asks_again_after_a_correction(
    before: &Job,
    input: &Input,
    after: &Job,
) -> Result<(), String> {
    let (Some(gate), Input::Said { command, heard }) = (before.holding(), input) else {
        return Ok(());
    };
    let opened = &before.procedure().gates[gate].fact;
    let just_opened = before.facts().any(|fact| fact == opened) && before.may_take_back();
    let correction = before.is_correction(command) && heard.certainty != Certainty::Typed;
    if just_opened && correction && after.outcome().is_none() && after.holding().is_none() {
        let step = after.step().map(|step| &step.id);
        return Err(format!(
            "“{gate}” isn't asked for again after {input:?}, but {step:?}"
        ));
    }
    Ok(())
}

/// A step that was left, in whatever direction, took with it what it voids. A step at which a pause has
/// closed a gate isn't left yet.
pub fn voids_what_it_undoes(before: &Job, input: &Input, after: &Job) -> Result<(), String> {
    if let (Some(old), true) = (before.step(), after.outcome().is_none()) {
        let left = after.step().map(|step| &step.id) != Some(&old.id);
        for void in old.voids.iter().filter(|_| left) {
            let again = matches!(
                input,
                Input::Said {
                    command: Command::Readback { .. },
                    ..
                }
            );
            if after.facts().any(|fact| fact == void) && !again {
                return Err(format!(
                    "“{}” was left by {input:?} and “{void}” is still true",
                    old.id
                ));
            }
        }
    }
    Ok(())
}

#[test]
fn every_procedure_of_the_folder_is_put_to_the_test() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let files = std::fs::read_dir(folder).expect("the procedures' folder");
    let mut names: Vec<String> = files
        .filter_map(|file| file.ok()?.file_name().into_string().ok())
        .filter_map(|name| name.strip_suffix(".toml").map(str::to_owned))
        .collect();
    names.sort();
    assert_eq!(names, SHIPPED);
}
