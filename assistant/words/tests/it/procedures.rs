//! The shipped procedures: whatever they ask for can be said, and nothing in them means two things.

use std::collections::BTreeMap;
use std::path::Path;
use steps::{Command, Language, Listen, Lobby, NumberWanted, PhraseFor, Procedure, Readback};
use words::now::{Stake, StateGrammar};
use words::wording::spoken;

/// All files under `procedures/`, by the name that a procedure includes them by.
fn library() -> BTreeMap<String, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let mut files = BTreeMap::new();
    for (folder, before) in [(root.clone(), ""), (root.join("parts"), "parts/")] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path
                .extension()
                .is_some_and(|extension| extension == "toml")
            {
                let stem = path.file_stem().unwrap().to_str().unwrap();
                files.insert(
                    format!("{before}{stem}"),
                    std::fs::read_to_string(&path).unwrap(),
                );
            }
        }
    }
    files
}

fn shipped() -> Vec<Procedure> {
    let library = library();
    let jobs: Vec<_> = library.keys().filter(|name| !name.contains('/')).collect();
    assert!(!jobs.is_empty());
    jobs.iter()
        .map(|name| Procedure::load(name, &library).unwrap_or_else(|e| panic!("{e:?}")))
        .collect()
}

#[test]
fn each_gate_hears_its_own_readback_and_none_of_its_decoys() {
    for procedure in shipped() {
        assert!(!procedure.gates.is_empty());
        for (id, gate) in &procedure.gates {
            let listen = Listen {
                commands: Command::ALL_PLAIN.to_vec(),
                readback: Some(Readback {
                    gate: id.clone(),
                    words: gate.readback.clone(),
                    alternatives: gate.alternatives.clone(),
                    colour: None,
                    decoys: gate.decoys.clone(),
                }),
                ..Listen::default()
            };
            let now = StateGrammar::compile(&listen).unwrap();
            let opens = Ok(Command::Readback {
                gate: id.clone(),
                colour: None,
            });
            assert_eq!(now.parse(&gate.readback), opens);
            assert_eq!(now.parse(&gate.readback_written), opens);
            for readback in gate.readbacks() {
                assert_eq!(now.parse(readback), opens);
            }
            let decoys: Vec<_> = now.phrases().iter().filter(|phrase| phrase.decoy).collect();
            assert!(
                decoys.len() >= 20 + gate.decoys.len(),
                "{id}: {}",
                decoys.len()
            );
            for decoy in decoys {
                let means = now.parse(&decoy.words);
                assert!(
                    matches!(means, Err(_) | Ok(Command::NotSo)),
                    "{}",
                    decoy.words
                );
            }
            // Nor does any other gate's readback of the same job.
            for other in procedure
                .gates
                .values()
                .filter(|other| other.readback != gate.readback)
            {
                for readback in other.readbacks() {
                    assert!(now.parse(readback).is_err(), "{readback}");
                }
            }
        }
    }
}

#[test]
fn each_reading_and_helper_and_item_can_be_said_beside_every_command() {
    for procedure in shipped() {
        let branches = procedure.branches.iter().flat_map(|(branch, it)| {
            it.say.iter().map(|words| PhraseFor {
                words: words.clone(),
                command: Command::Helper {
                    branch: branch.clone(),
                },
            })
        });
        let items = procedure.items.iter().map(|(item, it)| PhraseFor {
            words: format!("defer the {}", it.name),
            command: Command::Defer { item: item.clone() },
        });
        let phrases: Vec<_> = branches.chain(items).collect();
        let plain = Listen {
            commands: Command::ALL_PLAIN.to_vec(),
            phrases,
            ..Listen::default()
        };
        StateGrammar::compile(&plain).unwrap_or_else(|error| panic!("{}: {error}", procedure.id));
        for (id, reading) in &procedure.readings {
            let number = NumberWanted {
                least: reading.least,
                most: reading.most,
                places: reading.places(),
                unit: reading.unit.clone(),
            };
            let listen = Listen {
                number: Some(number),
                ..plain.clone()
            };
            let now =
                StateGrammar::compile(&listen).unwrap_or_else(|error| panic!("{id}: {error}"));
            assert!(
                now.phrases()
                    .iter()
                    .any(|phrase| phrase.stake == Stake::Number)
            );
            for value in [reading.least, reading.most] {
                let said = format!("{value} {}", reading.unit);
                assert_eq!(now.parse(&said), Ok(Command::Reading { value }), "{said}");
                assert_eq!(
                    now.parse(&spoken(Language::English, &said)),
                    Ok(Command::Reading { value }),
                    "{said}"
                );
            }
        }
    }
}

#[test]
fn each_job_can_be_started_by_its_name() {
    let procedures = shipped();
    let now = StateGrammar::compile(&Lobby::new(&procedures).listen()).unwrap();
    for procedure in &procedures {
        let start = Ok(Command::Start {
            procedure: procedure.id.clone(),
        });
        assert_eq!(now.parse(&format!("Start {}.", procedure.title)), start);
        assert_eq!(now.parse(&format!("start the {}", procedure.title)), start);
    }
}

#[test]
fn every_sentence_of_every_job_is_words_alone() {
    for procedure in shipped() {
        let all = procedure.steps.iter().chain(&procedure.make_safe);
        for step in all.chain(procedure.branches.values().flat_map(|branch| &branch.steps)) {
            let texts = [
                Some(&step.text),
                step.more.as_ref(),
                step.why.as_ref(),
                step.short.as_ref(),
            ];
            for text in texts.into_iter().flatten() {
                let said = spoken(Language::English, text);
                assert!(
                    !said.chars().any(|c| c.is_numeric() || "·°%/".contains(c)),
                    "{said}"
                );
            }
        }
    }
}
