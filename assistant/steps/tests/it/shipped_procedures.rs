//! The shipped procedures can be used as they are.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use steps::procedure::{Action, Library, ReadError, Severity, Step};
use steps::{Id, Procedure};

pub struct Folder;

impl Library for Folder {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
        std::fs::read(folder.join(format!("{name}.toml")))
            .map_err(|error| ReadError::Failed(error.to_string()))
    }
}

fn shipped() -> Vec<Procedure> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let files = std::fs::read_dir(folder).expect("the procedures' folder");
    let mut names: Vec<String> = files
        .filter_map(|file| file.ok()?.file_name().into_string().ok())
        .filter_map(|name| name.strip_suffix(".toml").map(str::to_owned))
        .collect();
    names.sort();
    assert!(names.len() >= 12, "{names:?}");
    names
        .iter()
        .map(|name| match Procedure::load_for_its_author(name, &Folder) {
            Ok((procedure, doubts)) => {
                let drawn: Vec<String> = doubts
                    .into_iter()
                    .filter(|it| it.code.severity() == Severity::Doubt)
                    .map(|doubt| format!("{:?}", miette::Report::new(doubt)))
                    .collect();
                assert!(drawn.is_empty(), "{name}: {}", drawn.join("\n"));
                procedure
            }
            Err(problems) => panic!("{:?}", miette::Report::new(problems)),
        })
        .collect()
}

/// All steps, wherever they stand.
fn all_steps(procedure: &Procedure) -> Vec<&Step> {
    let branches = procedure.branches.values().flat_map(|it| &it.steps);
    procedure
        .steps
        .iter()
        .chain(branches)
        .chain(&procedure.make_safe)
        .collect()
}

fn words(text: &str) -> Vec<&str> {
    text.split_whitespace().collect()
}

/// How many steps apply, by what was chosen at the start.
fn lengths(procedure: &Procedure) -> Vec<(BTreeMap<Id, Id>, usize)> {
    let mut chosen = vec![BTreeMap::new()];
    for variant in &procedure.variants {
        let with = |before: &BTreeMap<Id, Id>, option: &Id| {
            let mut after = before.clone();
            after.insert(variant.id.clone(), option.clone());
            after
        };
        let options = variant.options.iter();
        chosen = options
            .flat_map(|(option, _)| chosen.iter().map(move |before| with(before, option)))
            .collect();
    }
    let applies = |step: &Step, chosen: &BTreeMap<Id, Id>| {
        let wanted = step.when.iter();
        wanted
            .into_iter()
            .all(|(variant, option)| chosen.get(variant) == Some(option))
    };
    let length = |chosen: &BTreeMap<Id, Id>| {
        let steps = procedure.steps.iter();
        steps.filter(|step| applies(step, chosen)).count()
    };
    chosen
        .into_iter()
        .map(|chosen| {
            let steps = length(&chosen);
            (chosen, steps)
        })
        .collect()
}

#[test]
fn every_shipped_procedure_loads_and_is_a_whole_job() {
    for procedure in shipped() {
        let id = &procedure.id;
        let count = |wanted: fn(&Action) -> bool| {
            let steps = procedure.steps.iter();
            steps.filter(|step| wanted(&step.action)).count()
        };
        println!(
            "{id}: {} steps, {} gates, {} readings, {} branches, {} steps to make safe",
            procedure.steps.len(),
            procedure.gates.len(),
            procedure.readings.len(),
            procedure.branches.len(),
            procedure.make_safe.len(),
        );
        for (chosen, steps) in lengths(&procedure) {
            assert!(
                (25..=80).contains(&steps),
                "{id}, {chosen:?}: {steps} steps"
            );
        }
        assert!((5..=9).contains(&procedure.gates.len()), "{id}");
        assert!((3..=9).contains(&procedure.make_safe.len()), "{id}");
        assert!(count(|it| matches!(it, Action::Measure(_))) >= 2, "{id}");
        assert!(count(|it| matches!(it, Action::Ask { .. })) >= 1, "{id}");
        assert!(count(|it| matches!(it, Action::Wait(_))) >= 1, "{id}");
        let offered: BTreeSet<_> = procedure.steps.iter().flat_map(|it| &it.helpers).collect();
        assert!(offered.len() >= 2, "{id} offers {offered:?}");
        for branch in offered {
            assert!(!procedure.branches[branch].say.is_empty(), "{id} {branch}");
        }
        assert!(procedure.values.contains("invented"), "{id}");
    }
}

#[test]
fn every_gate_has_its_place_and_every_fact_guards_something() {
    for procedure in shipped() {
        for (id, gate) in &procedure.gates {
            let held = procedure
                .steps
                .iter()
                .any(|step| step.action == Action::Hold(id.clone()));
            assert!(held, "{} never holds at {id}", procedure.id);
            let needed = all_steps(&procedure)
                .iter()
                .any(|step| step.needs.contains(&gate.fact))
                || procedure
                    .gates
                    .values()
                    .any(|it| it.needs.contains(&gate.fact));
            assert!(needed, "{}: nothing needs {}", procedure.id, gate.fact);
        }
    }
}

/// What must hold on every job that has such steps: nothing under the vehicle without stands, nothing moves before
/// the wheel nuts and the brake are proved, lowering asks for the stands again.
#[test]
fn the_facts_that_keep_people_alive_are_needed_and_voided() {
    let (mut raised, mut driven) = (0, 0);
    for procedure in shipped() {
        let step = |id: &str| procedure.steps.iter().find(|step| step.id.as_str() == id);
        let needs =
            |id: &str, fact: &str| step(id).unwrap().needs.iter().any(|it| it.as_str() == fact);
        let voids =
            |id: &str, fact: &str| step(id).unwrap().voids.iter().any(|it| it.as_str() == fact);
        for moving in ["chocks-away", "yard-stop", "road"] {
            if step("wheels-tight-hold").is_some() {
                assert!(needs(moving, "wheels-tight") && needs(moving, "brakes-proved"));
                driven += 1;
            }
        }
        if step("raise").is_none() {
            continue;
        }
        raised += 1;
        assert!(voids("raise", "supported") && voids("off-stands", "supported"));
        assert!(voids("chocks-away", "secured"));
        assert!(needs("raise", "secured") && needs("off-stands", "clear-beneath"));
        // Between the gate at the stands and the lift off them, whatever is taken off, put back or
        // tightened at the vehicle needs the stands, or a fact whose gate needs them.
        let position = |id: &str| {
            procedure
                .steps
                .iter()
                .position(|step| step.id.as_str() == id)
        };
        let under = position("supported-hold").unwrap()..position("clear-hold").unwrap();
        let at_the_bench = [
            "seal-out",
            "inner-out",
            "inner-in",
            "seal-in",
            "compressor-on",
            "top-nut-off",
            "mount-off",
            "damper-out",
            "spring-bare",
            "compressor-on-again",
            "damper-in",
            "mount-on",
            "top-nut-tighten",
            "release",
        ];
        for step in &procedure.steps[under] {
            let at_the_vehicle = matches!(
                step.action,
                Action::Remove(_) | Action::Refit(_) | Action::Tighten(_) | Action::Loosen(_)
            ) && !at_the_bench.contains(&step.id.as_str());
            let on_stands = step.needs.iter().any(|fact| {
                let gate = &procedure.gates[&procedure.facts[fact].gate];
                fact.as_str() == "supported"
                    || gate.needs.iter().any(|it| it.as_str() == "supported")
            });
            assert!(!at_the_vehicle || on_stands, "{} {}", procedure.id, step.id);
        }
    }
    assert!(
        raised >= 8 && driven >= 7,
        "{raised} raised, {driven} driven"
    );
}

/// 29 CFR 1910.147(d) from memory: isolation, locks, stored energy, and the proof that nothing runs come before work.
#[test]
fn nothing_is_opened_on_a_machine_that_is_not_locked_out_and_proved_dead() {
    let mut machines = 0;
    let (locked_out, dead) = (Id::new("locked-out"), Id::new("dead"));
    for procedure in shipped() {
        if !procedure.facts.contains_key(&locked_out) {
            continue;
        }
        machines += 1;
        let proof = procedure.facts.get(&dead);
        let proof = proof.unwrap_or_else(|| panic!("{} proves nothing", procedure.id));
        let gate = &procedure.gates[&proof.gate];
        assert!(gate.needs.contains(&locked_out));
        assert!(
            procedure
                .steps
                .iter()
                .filter(|step| matches!(step.action, Action::Remove(_)))
                .any(|step| step.needs.contains(&dead)),
            "{}",
            procedure.id
        );
    }
    assert!(machines >= 2);
}

#[test]
fn readbacks_are_plain_and_far_from_each_other() {
    for procedure in shipped() {
        for (id, gate) in &procedure.gates {
            assert!(
                gate.decoys.len() >= 2,
                "{} {id} has few decoys",
                procedure.id
            );
            for readback in gate.readbacks() {
                let said = words(readback);
                assert!(
                    (4..=12).contains(&said.len()),
                    "{} {id}: {} words",
                    procedure.id,
                    said.len()
                );
                assert!(!readback.chars().any(char::is_numeric), "{id}");
                for (other, gate) in procedure.gates.iter().filter(|(other, _)| *other != id) {
                    for there in gate.readbacks() {
                        let there = words(there);
                        let own = said.iter().filter(|word| !there.contains(word)).count();
                        assert!(
                            own >= 3,
                            "{}: “{id}” has only {own} words that “{other}” lacks",
                            procedure.id
                        );
                    }
                }
            }
        }
    }
}

/// A sentence of eight seconds has about twenty words (150 words a minute, common practice, no source).
#[test]
fn steps_are_short_enough_to_be_kept_in_mind() {
    for procedure in shipped() {
        for step in all_steps(&procedure) {
            let count = words(&step.text).len();
            assert!(count <= 16, "{} {}: {count} words", procedure.id, step.id);
            if let Some(short) = &step.short {
                assert!(words(short).len() <= count, "{} {}", procedure.id, step.id);
            }
        }
    }
}

#[test]
fn readings_have_few_enough_values_to_be_heard() {
    for procedure in shipped() {
        let mut limited = 0;
        for (id, reading) in &procedure.readings {
            let scale = 10f64.powi(i32::from(reading.places()));
            let values = (reading.most.to_f64() - reading.least.to_f64()) * scale;
            assert!(values <= 400.0, "{} {id}: {values} values", procedure.id);
            limited += usize::from(reading.limits().is_some());
        }
        assert!(limited >= 1, "{}", procedure.id);
    }
}

#[test]
fn every_part_on_disk_is_used() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let read = |path: &Path| std::fs::read_to_string(path).unwrap();
    let jobs: String = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|it| it == "toml"))
        .map(|path| read(&path))
        .collect();
    for entry in std::fs::read_dir(folder.join("parts")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap();
        assert!(
            jobs.contains(&format!("include = \"parts/{name}\"")),
            "no job includes parts/{name}"
        );
    }
}
