//! Facts, gates and their readbacks.

use super::{Files, changed, drawn, mistake, problems};
use steps::procedure::Code;

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
