//! Values from a vehicle's sheet: where they go, what a sheet lacks, what has no source.

use crate::problems::{Files, drawn};
use crate::shipped_procedures::Folder;
use crate::talks::talking::{START, said};
use std::sync::Arc;
use steps::procedure::{ByVariant, Code, Problems, Vehicle};
use steps::{Certainty, Command, Effect, Input, Job, Procedure, Settings};

/// The sheets that come with the program, and the procedures that each is for.
const SHIPPED: [(&str, &[&str]); 5] = [
    (
        "van-two",
        &["front-brakes", "front-half-shaft", "wheel-bearing"],
    ),
    (
        "van-four",
        &["front-brakes", "front-half-shaft", "wheel-bearing"],
    ),
    (
        "van-seven",
        &["front-brakes", "front-half-shaft", "wheel-bearing"],
    ),
    ("blue-trailer", &["trailer-hub"]),
    ("work-boat", &["outboard-gear-oil"]),
];

const JOB: &str = r#"format = 1
id = "job"
title = "A cover"
vehicle = "test trailer"
values = "Invented."
minutes = 10

[[variant]]
id = "make"
ask = "Which make of cover?"
options = [{ id = "cast", say = "cast" }, { id = "pressed", say = "pressed" }]

[[from_sheet]]
name = "bolt-count"
means = "number of cover bolts"
practice = 4

[[from_sheet]]
name = "bolt-torque"
means = "torque of a cover bolt"
practice = "25 N·m"

[[from_sheet]]
name = "bolt-passes"
means = "passes of the cover bolts"
practice = [50, 100]

[[from_sheet]]
name = "gap-limit"
means = "gap at most"
practice = "2.0 mm"

[[from_sheet]]
name = "seal"
means = "seal of a pressed cover"
practice = "paper"
when = { make = "pressed" }

[[fastener]]
id = "bolts"
name = "cover bolt"
count = "{bolt-count}"
drive = { shape = "hex", size = "13 mm" }
torque = "{bolt-torque}"
passes = "{bolt-passes}"

[[reading]]
id = "gap"
name = "gap"
unit = "mm"
least = "0.0"
most = "5.0"
max = "{gap-limit}"

[[step]]
id = "unscrew"
action = "remove"
fastener = "bolts"
text = "Unscrew the {count} {fasteners} of the {make} cover."

[[step]]
id = "seal"
action = "do"
text = "Cut a seal of {seal}."
when = { make = "pressed" }

[[step]]
id = "measure"
action = "measure"
reading = "gap"
text = "Measure the gap, {gap-limit} at most."

[[step]]
id = "tighten"
action = "tighten"
fastener = "bolts"
text = "Tighten the {fasteners} to {torque}."

[[make_safe]]
id = "tag"
action = "do"
text = "Tag the trailer."
"#;

const SHEET: &str = r#"format = 1
id = "trailer-nine"
names = ["trailer nine", "the old trailer"]
vehicle = "trailer of the Saltmarsh ferry depot"
values = "Invented for this test."
fits = ["job"]
entered_by = "the office"

[options]
make = "cast"

[document.data]
title = "Data sheet"
edition = "2"

[value]
bolt-count = { is = 6, from = "data", page = "3" }
bolt-torque = { is = "30 N·m" }
bolt-passes = { is = [40, 100], from = "data", page = "table 4" }
gap-limit = { is = "1.5 mm", from = "data", page = "3", approved_by = "the foreman", approved_is = "1.5 mm", approved_source = "Data sheet, edition 2, page 3" }
"#;

fn with(sheet: &str) -> Files {
    Files::job(JOB).with("vehicles/trailer-nine", sheet)
}

fn loaded(files: &Files) -> Procedure {
    Procedure::load_with("job", Some("trailer-nine"), files)
        .unwrap_or_else(|e| panic!("{}", drawn(&e)))
}

fn refused(sheet: &str) -> Problems {
    Procedure::load_with("job", Some("trailer-nine"), &with(sheet))
        .expect_err("a sheet with a mistake in it was accepted")
}

fn changed(from: &str, to: &str) -> String {
    assert!(SHEET.contains(from), "{from}");
    SHEET.replacen(from, to, 1)
}

/// There is just this one problem, and its label lies under these words.
fn points_at(problems: &Problems, code: Code, words: &str) {
    let [problem] = &problems.problems[..] else {
        panic!("not one problem: {}", drawn(problems));
    };
    assert_eq!(problem.code, code, "{problem}");
    let start = problem.place.offset();
    assert_eq!(
        &problem.file.inner()[start..start + problem.place.len()],
        words
    );
}

#[test]
fn every_kind_of_value_comes_from_the_sheet() {
    let it = loaded(&with(SHEET));
    let bolts = &it.fasteners.values().next().unwrap();
    assert_eq!(bolts.count, 6);
    assert_eq!(
        bolts.torque,
        Some(ByVariant::Always("30 N·m".parse().unwrap()))
    );
    assert_eq!(bolts.passes.len(), 2);
    let gap = it.readings.values().next().unwrap();
    assert_eq!(gap.max, Some("1.5".parse().unwrap()));
    let texts: Vec<&str> = it.steps.iter().map(|step| step.text.as_str()).collect();
    assert_eq!(
        texts,
        [
            "Unscrew the {count} {fasteners} of the cast cover.",
            "Measure the gap, 1.5 mm at most.",
            "Tighten the {fasteners} to {torque}.",
        ]
    );
    // What the sheet settles isn't asked about.
    assert!(it.variants.is_empty());
    assert_eq!(
        it.vehicle,
        "trailer nine, trailer of the Saltmarsh ferry depot"
    );
    assert_eq!(it.values, "Invented. Invented for this test.");
    let values = &it.sheet.as_ref().unwrap().values;
    let told: Vec<_> = values
        .iter()
        .map(|(name, it)| (name.as_str(), it.is.as_str(), it.source.as_deref()))
        .collect();
    assert_eq!(
        told,
        [
            ("bolt-count", "6", Some("Data sheet, edition 2, page 3")),
            (
                "bolt-passes",
                "40, 100",
                Some("Data sheet, edition 2, table 4")
            ),
            ("bolt-torque", "30 N·m", None),
            ("gap-limit", "1.5 mm", Some("Data sheet, edition 2, page 3")),
        ]
    );
    assert_eq!(values["gap-limit"].approved.as_deref(), Some("the foreman"));
}

#[test]
fn without_a_sheet_the_values_are_those_for_practice() {
    let it = Procedure::load("job", &with(SHEET)).unwrap();
    assert_eq!(it.sheet, None);
    assert_eq!(it.variants.len(), 1);
    assert_eq!(it.fasteners.values().next().unwrap().count, 4);
    let plain = JOB.replace("practice = \"25 N·m\"\n", "");
    let files = Files::job(plain).with("vehicles/trailer-nine", SHEET);
    let problems = Procedure::load("job", &files).expect_err("there is no torque");
    points_at(&problems, Code::Sheet, "\"bolt-torque\"");
    loaded(&files);
}

#[test]
fn the_record_has_the_sheet_and_its_text_in_the_hash() {
    let (one, other) = (
        loaded(&with(SHEET)),
        loaded(&with(&changed("30 N·m", "31 N·m"))),
    );
    assert!(one.texts.contains_key("vehicles/trailer-nine"));
    assert_ne!(one.sha256, other.sha256);
    assert_eq!(
        steps::procedure::sheet_named("vehicles/trailer-nine"),
        Some("trailer-nine")
    );
}

#[test]
fn all_that_a_sheet_lacks_is_told_at_once() {
    let sheet = changed("bolt-torque = { is = \"30 N·m\" }\n", "");
    let sheet = sheet.replace(
        "bolt-count = { is = 6, from = \"data\", page = \"3\" }\n",
        "",
    );
    let problems = refused(&sheet);
    insta::assert_snapshot!(drawn(&problems));
    assert_eq!(problems.problems.len(), 2);
}

#[test]
fn a_wrong_value_is_drawn_in_the_sheet() {
    for (from, to, code, words) in [
        ("\"30 N·m\"", "\"30 Nn\"", Code::Value, "\"30 Nn\""),
        (
            "is = \"1.5 mm\", from = \"data\", page = \"3\", approved_by = \"the foreman\", approved_is = \"1.5 mm\", approved_source = \"Data sheet, edition 2, page 3\"",
            "is = \"1.5 in\"",
            Code::Value,
            "\"1.5 in\"",
        ),
        ("\"1.5 mm\", f", "\"1.4 mm\", f", Code::Sheet, "\"1.4 mm\""),
        (
            "edition 2, page 3",
            "edition 1, page 3",
            Code::Sheet,
            "\"1.5 mm\"",
        ),
        (", approved_is = \"1.5 mm\"", "", Code::Sheet, "\"1.5 mm\""),
        (
            "by = \"the foreman\"",
            "by = \"The office\"",
            Code::Sheet,
            "\"1.5 mm\"",
        ),
        ("[40, 100]", "[40, 90]", Code::Passes, "[40, 90]"),
        ("is = 6,", "is = 0,", Code::Value, "0"),
        (
            "make = \"cast\"",
            "make = \"forged\"",
            Code::Sheet,
            "\"forged\"",
        ),
        (
            "from = \"data\", page = \"table",
            "from = \"book\", page = \"table",
            Code::Unknown,
            "\"book\"",
        ),
        (
            "fits = [\"job\"]",
            "fits = [\"jobs\"]",
            Code::Sheet,
            "\"trailer-nine\"",
        ),
        (
            "\"trailer nine\"",
            "\"trailer 9\"",
            Code::Name,
            "\"trailer 9\"",
        ),
        ("format = 1", "format = 2", Code::Format, "2"),
    ] {
        points_at(&refused(&changed(from, to)), code, words);
    }
    let problems = refused(&changed("\"30 N·m\"", "\"1.5 N·m 3\""));
    insta::assert_snapshot!(drawn(&problems));
}

#[test]
fn a_number_where_a_text_belongs_is_a_mistake() {
    for (from, to) in [("is = 6,", "is = \"six\","), ("is = \"30 N·m\"", "is = 30")] {
        let problems = refused(&changed(from, to));
        points_at(
            &problems,
            Code::Format,
            to.trim_start_matches("is = ").trim_end_matches(','),
        );
    }
}

#[test]
fn a_vehicle_has_what_its_type_has() {
    let of_type = SHEET.replace(
        "id = \"trailer-nine\"\nnames = [\"trailer nine\", \"the old trailer\"]\n",
        "id = \"old-trailers\"\n",
    );
    let own = "format = 1\nid = \"trailer-nine\"\nnames = [\"trailer nine\"]\ntype = \"old-trailers\"\n\n[value]\nbolt-torque = { is = \"28 N·m\", from = \"data\", page = \"9\" }\n";
    let files = with(own).with("vehicles/old-trailers", of_type.as_str());
    let it = loaded(&files);
    let bolts = it.fasteners.values().next().unwrap();
    assert_eq!(
        bolts.torque,
        Some(ByVariant::Always("28 N·m".parse().unwrap()))
    );
    assert_eq!(bolts.count, 6);
    assert!(!bolts.unsourced);
    let vehicle = Vehicle::load("trailer-nine", &files).unwrap();
    assert_eq!(vehicle.names, ["trailer nine"]);
    assert!(vehicle.fits.contains("job"));

    let round = of_type.replace(
        "id = \"old-trailers\"\n",
        "id = \"old-trailers\"\ntype = \"trailer-nine\"\n",
    );
    let files = with(own).with("vehicles/old-trailers", round);
    let problems = Procedure::load_with("job", Some("trailer-nine"), &files).unwrap_err();
    points_at(&problems, Code::Includes, "\"trailer-nine\"");
}

#[test]
fn a_misnamed_value_is_not_passed_over_for_that_of_the_type() {
    let of_type = SHEET.replace(
        "id = \"trailer-nine\"\nnames = [\"trailer nine\", \"the old trailer\"]\n",
        "id = \"old-trailers\"\n",
    );
    let own = "format = 1\nid = \"trailer-nine\"\nnames = [\"trailer nine\"]\ntype = \"old-trailers\"\n\n[value]\nbolt-torqe = { is = \"28 N·m\" }\n";
    let files = with(own).with("vehicles/old-trailers", of_type);
    let problems = Procedure::load_with("job", Some("trailer-nine"), &files).unwrap_err();
    points_at(&problems, Code::Sheet, "\"28 N·m\"");
}

#[test]
fn a_value_cannot_take_the_name_of_something_else() {
    for name in ["make", "torque", "bolt-count"] {
        let job = JOB.replace("name = \"gap-limit\"", &format!("name = \"{name}\""));
        let problems = Procedure::load("job", &Files::job(job)).unwrap_err();
        assert!(
            problems
                .problems
                .iter()
                .any(|it| it.code == Code::Duplicate),
            "{}",
            drawn(&problems)
        );
    }
}

#[test]
fn that_a_value_has_no_source_is_said_once() {
    let mut job = Job::new(Arc::new(loaded(&with(SHEET))), Settings::default());
    let mut told = Vec::new();
    let next = || said(Command::Next, Certainty::Sure);
    let read = || {
        said(
            Command::Reading {
                value: "1.0".parse().unwrap(),
            },
            Certainty::Sure,
        )
    };
    let yes = || said(Command::Yes, Certainty::Sure);
    let mut inputs = vec![Input::Begin];
    inputs.extend((0..6).map(|_| next()));
    inputs.extend([
        read(),
        yes(),
        said(Command::WhatTorque, Certainty::Sure),
        said(Command::Back, Certainty::Sure),
    ]);
    for input in inputs {
        for effect in job.take(input, START) {
            if let Effect::Say(sentence) = effect {
                told.push(sentence.text);
            }
        }
    }
    let warned: Vec<_> = told.iter().filter(|it| it.contains("no source")).collect();
    assert_eq!(
        warned,
        [
            "The vehicle's sheet gives no source for: torque of a cover bolt. Check each before you use it.",
            "Cover bolts: the vehicle's sheet gives no source for one of these values. Check it before you use it.",
        ],
        "{told:#?}"
    );
}

#[test]
fn every_shipped_sheet_makes_a_sound_procedure_of_each_that_it_is_for() {
    for (sheet, fits) in SHIPPED {
        let vehicle = Vehicle::load(sheet, &Folder).unwrap_or_else(|e| panic!("{}", drawn(&e)));
        let told: Vec<&str> = vehicle.fits.iter().map(String::as_str).collect();
        assert_eq!(told, fits, "{sheet}");
        for name in fits {
            let examined = Procedure::examine_with(name, Some(sheet), &Folder);
            let found: Vec<String> = examined
                .findings
                .into_iter()
                .filter(|it| it.code.severity() != steps::procedure::Severity::Advice)
                .filter(|it| it.accepted.is_none())
                .map(|it| format!("{:?}", miette::Report::new(it)))
                .collect();
            assert!(found.is_empty(), "{sheet}, {name}: {}", found.join("\n"));
            let it = examined.procedure.unwrap();
            assert!(it.fasteners.values().all(|group| !group.unsourced));
            let asked: Vec<&str> = it.variants.iter().map(|it| it.id.as_str()).collect();
            assert!(!asked.contains(&"rim"), "{sheet}, {name}");
        }
    }
}
