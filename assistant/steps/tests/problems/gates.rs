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
