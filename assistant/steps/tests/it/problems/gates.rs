//! Facts, gates and their readbacks.

use super::{Files, changed, drawn, mistake, problems};
use std::collections::BTreeMap;
use steps::Procedure;
use steps::procedure::{Code, Weight};

#[test]
fn a_danger_that_is_only_a_check() {
    let text = mistake(
        "fact = \"supported\"\nask",
        "fact = \"supported\"\nsignal = \"danger\"\nweight = \"check\"\nask",
        Code::GateWeight,
        "\"check\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_gate_without_a_weight_and_one_of_former_times_ask_as_they_always_did() {
    for (keys, weight) in [
        ("", Weight::Check),
        ("signal = \"warning\"\n", Weight::Check),
        ("signal = \"danger\"\n", Weight::HoldPoint),
        ("signal = \"warning\"\ncolour = true\n", Weight::HoldPoint),
        ("signal = \"danger\"\ncolour = false\n", Weight::HoldPoint),
        (
            "signal = \"warning\"\nweight = \"hold-point\"\n",
            Weight::HoldPoint,
        ),
        ("signal = \"warning\"\nweight = \"check\"\n", Weight::Check),
    ] {
        let text = changed(
            "fact = \"supported\"\nask",
            &format!("fact = \"supported\"\n{keys}ask"),
        );
        let job = Procedure::load("job", &BTreeMap::from([("job", text.as_str())]));
        let gate = &job.expect("it can be used").gates[&"supported".into()];
        assert_eq!(gate.weight, weight, "{keys}");
    }
}

#[test]
fn a_weight_beside_what_was_written_before_there_were_weights() {
    mistake(
        "fact = \"supported\"\nask",
        "fact = \"supported\"\nweight = \"check\"\ncolour = true\nask",
        Code::StrayKey,
        "true",
    );
}

#[test]
fn readback_of_two_gates() {
    let text = mistake(
        "Cover wiped bare, no dirt left there.",
        "Stands carry it, and shoving moved nothing!",
        Code::ReadbackShared,
        r#""Stands carry it, and shoving moved nothing!""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn readback_with_digits() {
    let text = mistake(
        "Cover wiped bare, no dirt left there.",
        "Cover wiped bare in 2 passes.",
        Code::ReadbackForm,
        r#""Cover wiped bare in 2 passes.""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn readback_that_is_too_short() {
    let text = mistake(
        "Cover wiped bare, no dirt left there.",
        "Yes, go on.",
        Code::ReadbackForm,
        r#""Yes, go on.""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn readback_that_changes_with_a_variant() {
    let text = mistake(
        "Cover wiped bare, no dirt left there.",
        "The {side} cover is wiped bare.",
        Code::Unknown,
        r#""The {side} cover is wiped bare.""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn alternatives_open_the_gate_and_are_held_to_the_same_rules() {
    let own = "\"Cover wiped bare, no dirt left there.\"";
    let with = |others: &str| changed(own, &format!("[{own}, {others}]"));
    let job = with("\"The cover is clean all over.\"");
    let job = Procedure::load("job", &BTreeMap::from([("job", job.as_str())]));
    let gate = &job.expect("it can be used").gates[&"cover-bare".into()];
    let readbacks: Vec<&str> = gate.readbacks().collect();
    assert_eq!(
        readbacks,
        [
            "cover wiped bare no dirt left there",
            "the cover is clean all over"
        ]
    );
    for (others, code) in [
        ("\"Go on.\"", Code::ReadbackForm),
        ("\"Cover wiped bare in 2 passes.\"", Code::ReadbackForm),
        (
            "\"Stands carry it and shoving moved nothing.\"",
            Code::ReadbackShared,
        ),
        (own, Code::Duplicate),
    ] {
        let problems = problems(&Files::job(with(others)));
        let codes: Vec<Code> = problems.problems.iter().map(|it| it.code).collect();
        assert_eq!(codes, [code], "{others}");
    }
    let none = problems(&Files::job(changed(own, "[]")));
    assert_eq!(none.problems[0].code, Code::ReadbackForm);
}

#[test]
fn gates_that_need_each_other() {
    let job = changed(
        "readback = \"Stands carry it and shoving moved nothing.\"",
        "readback = \"Stands carry it and shoving moved nothing.\"\nneeds = [\"cover-bare\"]",
    );
    let problems = problems(&Files::job(job));
    let labels: Vec<&str> = problems
        .problems
        .iter()
        .map(|it| {
            assert_eq!(it.code, Code::FactCircle);
            &it.file.inner()[it.place.offset()..it.place.offset() + it.place.len()]
        })
        .collect();
    assert_eq!(labels, [r#""supported""#, r#""cover-bare""#]);
    insta::assert_snapshot!(drawn(&problems));
}

#[test]
fn fact_without_a_gate() {
    let text = mistake(
        "[[item]]",
        "[[fact]]\nid = \"dry\"\nmeans = \"it is dry\"\n\n[[item]]",
        Code::FactGate,
        r#""dry""#,
    );
    insta::assert_snapshot!(text);
}

/// The job asks for a voided fact again at the next step that needs it. It always can: a fact that no gate could make
/// true again, by itself or because its gate needs it, is refused.
#[test]
fn a_voided_fact_that_could_not_be_asked_for_again_is_refused() {
    let voids = "text = \"Lift the cover off.\"\nvoids = [\"supported\"]";
    let job = changed("text = \"Lift the cover off.\"", voids);
    // `supported` is asked for again before the bare cover, whose gate needs it.
    assert!(steps::Procedure::load("job", &Files::job(job.clone())).is_ok());
    let codes = |job: &str| -> Vec<Code> {
        let problems = problems(&Files::job(job)).problems;
        problems.iter().map(|it| it.code).collect()
    };
    let gate =
        &job[job.find("[[gate]]").unwrap()..job.find("[[fact]]\nid = \"cover-bare\"").unwrap()];
    assert!(codes(&job.replacen(gate, "", 1)).contains(&Code::FactGate));
    let needs_itself = gate.replace("ask =", "needs = [\"supported\"]\nask =");
    assert_eq!(
        codes(&job.replacen(gate, &needs_itself, 1)),
        [Code::FactCircle]
    );
    let around = gate.replace("ask =", "needs = [\"cover-bare\"]\nask =");
    assert!(codes(&job.replacen(gate, &around, 1)).contains(&Code::FactCircle));
}
