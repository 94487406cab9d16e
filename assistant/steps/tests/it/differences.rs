//! Two versions of a procedure, told in the trade's words.

use std::collections::BTreeMap;
use std::path::Path;
use steps::Procedure;
use steps::procedure::{Library, ReadError, differences};

struct Folder;

impl Library for Folder {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
        std::fs::read(folder.join(format!("{name}.toml"))).map_err(|_| ReadError::Missing)
    }
}

const BATTERY: &str = include_str!("../../../../procedures/starter-battery.toml");

/// The battery job with passages changed, and the shipped parts.
struct Changed(BTreeMap<String, String>);

impl Library for Changed {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        match self.0.get(name) {
            Some(text) => Ok(text.clone().into_bytes()),
            None => Folder.read(name),
        }
    }
}

/// What is told where each `from` becomes its `to`.
fn told(changes: &[(&str, &str)]) -> Vec<(bool, String)> {
    let mut text = BATTERY.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    let load = |library: &dyn Library| match Procedure::load("starter-battery", library) {
        Ok(procedure) => procedure,
        Err(problems) => panic!("{:?}", miette::Report::new(problems)),
    };
    let old = load(&Folder);
    let new = load(&Changed(BTreeMap::from([(
        "starter-battery".to_owned(),
        text,
    )])));
    let all = differences(&old, &new);
    all.into_iter().map(|it| (it.at_gate, it.told)).collect()
}

fn one(from: &str, to: &str) -> (bool, String) {
    let all = told(&[(from, to)]);
    let [one] = &all[..] else {
        panic!("not one difference: {all:#?}");
    };
    one.clone()
}

#[test]
fn the_same_procedure_has_no_differences() {
    assert_eq!(told(&[]), []);
    // A comment is none.
    assert_eq!(told(&[("# ---- the job", "# ---- the work")]), []);
}

#[test]
fn a_torque_is_told_with_both_values() {
    assert_eq!(
        one("torque = \"14 N·m\"", "torque = \"16 N·m\""),
        (
            false,
            "fastener group “hold-down-bolt”: torque 14 N·m → 16 N·m".to_owned()
        )
    );
}

#[test]
fn limits_counts_sizes_and_words_are_told() {
    for (from, to, expected) in [
        (
            "min = \"13.8\"",
            "min = \"13.5\"",
            "reading “charging-voltage”: limits from 13.8 to 14.8 V → from 13.5 to 14.8 V",
        ),
        (
            "size = \"13 mm\"",
            "size = \"12 mm\"",
            "fastener group “hold-down-bolt”: size 13 mm hex → 12 mm hex",
        ),
        (
            "text = \"Stop the engine.\"",
            "text = \"Stop the engine by its key.\"",
            "step “engine-stop”: words Stop the engine. → Stop the engine by its key.",
        ),
    ] {
        assert_eq!(one(from, to), (false, expected.to_owned()));
    }
}

#[test]
fn whatever_is_at_a_hold_point_comes_first_and_is_marked() {
    let all = told(&[
        ("torque = \"14 N·m\"", "torque = \"16 N·m\""),
        (
            "needs = [\"isolated\", \"poles-right\", \"held-down\"]",
            "needs = [\"isolated\", \"poles-right\"]",
        ),
        (
            "I pulled hard, battery stood like a rock.",
            "I pulled hard, battery stood like a tree.",
        ),
        ("good_for_minutes = 30", "good_for_minutes = 45"),
    ]);
    assert_eq!(
        all.iter().filter(|(at_gate, _)| *at_gate).count(),
        3,
        "{all:#?}"
    );
    assert!(all[..3].iter().all(|(at_gate, _)| *at_gate), "{all:#?}");
    let told: Vec<&str> = all.iter().map(|(_, told)| told.as_str()).collect();
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn steps_added_taken_out_and_moved_are_told_apart() {
    let note = "[[step]]\nid = \"code-note\"\naction = \"do\"\ntext = \"Write the radio code and the time on the job sheet.\"\nshort = \"Radio code on the sheet.\"\nwhy = \"Without current they are lost, and some radios lock.\"\ntakes_minutes = 2\n\n";
    let end = "# ---- if there is trouble";
    let (at_gate, moved) = only(&[(note, ""), (end, &format!("{note}{end}"))]);
    assert_eq!(moved, "step “code-note” moved: now after “old-battery”");
    assert!(!at_gate);
    let (_, gone) = only(&[(note, "")]);
    assert!(
        gone.starts_with("step “code-note” taken out: Write the radio code"),
        "{gone}"
    );
    let hold = "[[step]]\nid = \"clamps-firm-hold\"\naction = \"hold\"\ngate = \"clamps-firm\"\n\n";
    let (at_gate, gone) = only(&[(hold, "")]);
    assert!(
        at_gate && gone.starts_with("step “clamps-firm-hold” taken out"),
        "{gone}"
    );
}

fn only(changes: &[(&str, &str)]) -> (bool, String) {
    let all = told(changes);
    assert_eq!(all.len(), 1, "{all:#?}");
    all[0].clone()
}

#[test]
fn what_a_word_sounds_like_is_told() {
    let (at_gate, told) = one(
        "[lay_out]",
        "[sounds_like]\nundertray = \"under-tray\"\n\n[lay_out]",
    );
    assert!(!at_gate);
    insta::assert_snapshot!(told);
}
