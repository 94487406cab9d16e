//! Listing, showing and checking procedures.

use super::harness::{Bay, run, sayback, text};
use sayback::library::Shelf;
use std::process::Command;

#[test]
fn procedures_are_listed_by_the_name_that_is_typed() {
    let list = sayback(["procedures"]).exits(0);
    let names: Vec<&str> = list
        .out
        .lines()
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert_eq!(names, Shelf::Shipped.names().unwrap());
    for name in names {
        sayback(["procedure", name]).exits(0);
    }
}

#[test]
fn procedures_in_json_have_their_keys() {
    let list = sayback(["procedures", "--json"]).exits(0).json();
    let list = list.as_array().unwrap();
    assert_eq!(list.len(), Shelf::Shipped.names().unwrap().len());
    for it in list {
        for key in ["id", "title", "vehicle", "values", "sha256"] {
            assert!(!it[key].as_str().unwrap().is_empty(), "{key} of {it}");
        }
        for key in ["minutes", "steps", "gates"] {
            assert!(it[key].as_u64().unwrap() > 0, "{key} of {it}");
        }
        assert_eq!(it["sha256"].as_str().unwrap().len(), 64);
    }
}

#[test]
fn a_procedure_is_shown_with_its_tools_torques_and_hold_points() {
    for name in ["front-brakes", "front-half-shaft", "trailer-hub"] {
        let shown = sayback(["procedure", name]).exits(0).out;
        let it = Shelf::Shipped.load(name).unwrap();
        for tool in it.lay_out.tools.iter().chain(&it.lay_out.protection) {
            assert!(shown.contains(tool), "{name}: {tool}");
        }
        for gate in it.gates.values() {
            let weight = gate.weight.name().to_uppercase();
            let held = format!("{weight}, say: {}", gate.readback_written);
            assert!(shown.contains(&held), "{name}: {held}");
        }
        for torque in it.fasteners.values().flat_map(|group| &group.torque) {
            for value in torque.all() {
                assert!(shown.contains(&value.to_string()), "{name}: {value}");
            }
        }
        let last = format!("\n{:>3}  ", it.steps.len());
        assert!(shown.contains(&last), "{name}: {last}");
        // What is chosen when the job begins stands with all its options.
        for variant in &it.variants {
            let open = format!("{{{}}}", variant.id);
            assert!(!shown.contains(&open), "{name}: {open}");
        }
    }
}

#[test]
fn a_step_sheet_is_written_by_the_ending_of_its_name_and_never_over_another() {
    let bay = Bay::new();
    for (name, begins) in [
        ("brakes.pdf", "%PDF-"),
        ("brakes.html", "<!DOCTYPE html>"),
        ("brakes.md", "# Front brake pads and discs"),
    ] {
        let file = bay.path(name);
        let words = ["procedure", "front-brakes", "--export", text(&file)];
        sayback(words).exits(0);
        let bytes = std::fs::read(&file).unwrap();
        assert!(bytes.starts_with(begins.as_bytes()), "{name}");
        sayback(words).exits(1).tells("--overwrite");
        sayback([
            "procedure",
            "front-brakes",
            "--sheet",
            text(&file),
            "--overwrite",
        ])
        .exits(0);
        assert_eq!(std::fs::read(&file).unwrap(), bytes);
    }
    let file = bay.path("brakes.doc");
    sayback(["procedure", "front-brakes", "--export", text(&file)])
        .exits(1)
        .tells(".md");
    assert!(!file.exists());
}

/// The list is read by Python's `csv`, which knows nothing of ours.
#[test]
fn the_purchase_list_has_the_numbers_of_the_vehicle() {
    const READ: &str = "import csv, json, sys\n\
        text = open(sys.argv[1], newline='', encoding='utf-8').read()\n\
        assert text.count('\\n') == text.count('\\r\\n'), 'RFC 4180 ends each line with CRLF'\n\
        print(json.dumps(list(csv.DictReader(text.splitlines(True), strict=True))))";
    let bay = Bay::new();
    let rows = |words: &[&str], name: &str| -> Vec<serde_json::Value> {
        let file = bay.path(name);
        let words = ["procedure"].iter().chain(words);
        let words: Vec<&str> = words.copied().chain(["--parts", text(&file)]).collect();
        assert_eq!(sayback(&words).exits(0).out.trim(), text(&file));
        sayback(&words).exits(1).tells("--overwrite");
        let read = run(Command::new("python3").args(["-c", READ, text(&file)])).exits(0);
        read.json().as_array().unwrap().clone()
    };
    for (vehicle, disc) in [("van two", "SD 40-110"), ("van seven", "SD 70-110")] {
        let rows = rows(
            &["front-brakes", "--vehicle", vehicle],
            &format!("{vehicle}.csv"),
        );
        let of = |what: &str| rows.iter().find(|row| row["what"] == what).unwrap();
        let left = of("left brake disc");
        assert_eq!(left["part_number"], disc);
        assert_eq!(left["quantity"], "1");
        assert_eq!(left["always_new"], "yes");
        assert_eq!(left["core_return"], "no");
        assert_eq!(left["procedure"], "front-brakes");
        assert!(left["vehicle"].as_str().unwrap().starts_with(vehicle));
        assert_eq!(of("brake grease")["kind"], "consumable");
    }
    let battery = rows(&["starter-battery"], "battery.csv");
    assert_eq!(battery[0]["core_return"], "yes");
    let grease = battery.iter().find(|row| row["what"] == "post grease");
    assert_eq!(grease.unwrap()["quantity"], "5 g");
}

#[test]
fn a_procedure_in_json_has_its_steps_gates_and_torques() {
    let it = sayback(["procedure", "front-half-shaft", "--json"])
        .exits(0)
        .json();
    let steps = it["steps"].as_array().unwrap();
    for step in steps {
        for key in ["id", "text", "needs", "voids", "torque"] {
            assert!(step.get(key).is_some(), "{key} of {step}");
        }
    }
    let axle_nut = steps
        .iter()
        .find(|step| step["id"] == "axle-nut-tighten")
        .unwrap();
    assert_eq!(axle_nut["torque"][0], "245 N·m");
    for gate in it["gates"].as_array().unwrap() {
        for key in ["id", "fact", "readback"] {
            assert!(!gate[key].as_str().unwrap().is_empty(), "{key} of {gate}");
        }
    }
}

#[test]
fn a_name_that_no_procedure_has_says_where_the_names_are() {
    let bay = Bay::new();
    for ran in [
        sayback(["procedure", "rear-half-shaft"]),
        sayback(["procedure", "rear-half-shaft", "--json"]),
        bay.sayback(&["rehearse", "rear-half-shaft"]),
        bay.sayback(&["work", "rear-half-shaft"]),
    ] {
        let ran = ran
            .exits(1)
            .tells("rear-half-shaft")
            .tells("sayback procedures");
        assert_eq!(ran.out, "");
    }
    assert!(!bay.records().exists(), "nothing is on record");
}

#[test]
fn a_folder_of_procedures_that_is_missing_is_named() {
    let bay = Bay::new();
    let folder = bay.path("nowhere");
    let ran = sayback(["procedures", "--procedures", text(&folder)])
        .exits(1)
        .tells("nowhere");
    assert_eq!(ran.out, "");
}

#[test]
fn a_shipped_procedure_passes_the_check() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../procedures");
    for name in ["front-brakes", "front-half-shaft", "trailer-hub"] {
        let ran = sayback(["check", &format!("{folder}/{name}.toml")]).exits(0);
        assert!(!ran.err.contains(['×', '⚠']), "{}", ran.err);
        assert!(ran.out.contains("nothing to put right"), "{}", ran.out);
    }
}

/// A job of one's own with a mistake or two: nothing to be afraid of, it is drawn where it is.
const FAULTY: &str = r#"format = 1
id = "pump"
title = "Pump cover"
vehicle = "ferry depot pump"
values = "Invented."
minutes = 20

[[fastener]]
id = "bolts"
name = "cover bolt"
count = 0
drive = { shape = "hex", size = "13 mm" }
torque = "25"

[[step]]
id = "cover-on"
action = "tighten"
fastener = "bolts"
needs = ["isolated"]
text = "Tighten the {count} {fasteners} to {torque}."
"#;

#[test]
fn a_faulty_procedure_is_drawn_at_the_wrong_words() {
    let bay = Bay::new();
    let file = bay.file("pump.toml", FAULTY);
    let ran = sayback(["check", text(&file)]).exits(1);
    assert_eq!(ran.out, "");
    insta::assert_snapshot!("check_faulty", ran.err);
}

/// 25 lbf·ft where the source has 25 N·m, and a nut factor that the source gives.
const SLIPPED: &str = r#"format = 1
id = "pump"
title = "Pump cover"
vehicle = "ferry depot pump"
values = "Invented."
minutes = 20

[[fastener]]
id = "bolts"
name = "cover bolt"
count = 4
thread = "M8"
class = "8.8"
nut_factor = 0.2
drive = { shape = "hex", size = "13 mm" }
torque = "25 lbf·ft"
once_only = true

[[step]]
id = "loosen"
action = "loosen"
fastener = "bolts"
text = "Loosen the {count} {fasteners}."
takes_minutes = 5

[[step]]
id = "tighten"
action = "tighten"
fastener = "bolts"
text = "Tighten the {count} {fasteners} to {torque}."
consumables = [{ what = "thread sealant", amount = "5 ml" }]

[[step]]
id = "fill"
action = "do"
text = "Fill the pump."
consumables = [{ what = "coolant", amount = "1 l" }, { what = "thread sealant", amount = "1 ml" }]

[[make_safe]]
id = "tag"
action = "do"
text = "Tag the pump."
"#;

#[test]
fn a_likely_slip_is_drawn_and_no_failure() {
    let bay = Bay::new();
    let file = bay.file("pump.toml", SLIPPED);
    let ran = sayback(["check", text(&file)])
        .exits(0)
        .prints("nothing to put right, 1 thing to look at again");
    insta::assert_snapshot!("check_slipped", ran.err);
}

#[test]
fn what_is_used_up_new_and_how_long_it_takes_is_shown() {
    let bay = Bay::new();
    bay.file("pump.toml", SLIPPED);
    let folder = bay.path("");
    let shown = |more: &[&str]| {
        let words = ["procedure", "pump", "--procedures", text(&folder)];
        sayback([&words, more].concat()).exits(0)
    };
    insta::assert_snapshot!("procedure_pump", shown(&[]).out);
    // NIST SP 811, Appendix B: the US quart is 0.946352946 l.
    shown(&["--amounts-in", "US qt"]).prints("coolant, 1.06 US qt");
    let json = shown(&["--json"]).json();
    assert_eq!(json["supplies"][0]["amount"], "6 ml");
    assert_eq!(json["steps"][0]["minutes_left"], 15);
    sayback(["procedure", "pump", "--amounts-in", "pint"])
        .exits(2)
        .tells("US pt");
}

#[test]
fn one_faulty_procedure_does_not_hide_the_others() {
    let bay = Bay::new();
    bay.file("pump.toml", FAULTY);
    let shipped = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../procedures/trailer-hub.toml"
    );
    bay.file("trailer-hub.toml", std::fs::read(shipped).unwrap());
    let folder = bay.path("");
    let ran = sayback(["procedures", "--procedures", text(&folder)])
        .exits(1)
        .prints("trailer-hub")
        .tells("pump")
        .tells("sayback check");
    assert!(!ran.out.contains("pump"), "{}", ran.out);
}

#[test]
fn a_file_that_cannot_be_checked_says_why() {
    let bay = Bay::new();
    sayback(["check", text(&bay.path("nowhere.toml"))])
        .exits(1)
        .tells("nowhere");
    let other = bay.file("pump.txt", FAULTY);
    sayback(["check", text(&other)]).exits(1).tells("toml");
    let folder = bay.path("folder.toml");
    std::fs::create_dir(&folder).unwrap();
    sayback(["check", text(&folder)]).exits(1).tells("folder");
    let bytes = bay.file("bytes.toml", [0xff, 0xfe, 0x00]);
    sayback(["check", text(&bytes)]).exits(1).tells("UTF-8");
    let empty = bay.file("empty.toml", "");
    sayback(["check", text(&empty)]).exits(1).tells("format");
}
