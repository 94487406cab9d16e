//! Quantities, and the ledger.

use super::{Files, SOUND, changed, drawn, mistake, problems};
use steps::procedure::Code;

#[test]
fn torque_without_unit() {
    let text = mistake(
        r#"torque = "25 N·m""#,
        r#"torque = "25""#,
        Code::Value,
        r#""25""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn count_of_nought() {
    let text = mistake("count = 4", "count = 0", Code::Value, "0");
    insta::assert_snapshot!(text);
}

#[test]
fn a_part_number_without_a_number() {
    let text = mistake(
        "count = 4",
        "count = 4\npart_number = \" \"",
        Code::Value,
        "\" \"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_part_with_a_key_that_none_has() {
    let listed = r#"{ what = "seal", number = "SD 1" }"#;
    let head = "minutes = 10";
    let text = mistake(
        head,
        &format!("{head}\nlay_out = {{ parts = [{listed}] }}"),
        Code::Format,
        &format!("[{listed}]"),
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_phase_that_begins_before_the_one_before_it() {
    let phases = |from: &str| {
        format!(
            "[[phase]]\nname = \"One\"\nfrom = \"cover-on\"\n[[phase]]\nname = \"Two\"\nfrom = \"{from}\"\n"
        )
    };
    let first = "[[make_safe]]";
    let earlier = format!("{}{first}", phases("cover-off"));
    insta::assert_snapshot!(mistake(first, &earlier, Code::Value, "\"cover-off\""));
    let unknown = format!("{}{first}", phases("cover-of"));
    insta::assert_snapshot!(mistake(first, &unknown, Code::Unknown, "\"cover-of\""));
}

#[test]
fn turned_by_an_angle_and_tightened_again() {
    let with = "torque = \"25 N·m\"\nangle = 90\nagain_after = \"30 minutes\"";
    let text = mistake("torque = \"25 N·m\"", with, Code::Passes, "\"30 minutes\"");
    insta::assert_snapshot!(text);
}

#[test]
fn tightened_without_a_torque() {
    let problems = problems(&Files::job(changed("torque = \"25 N·m\"\n", "")));
    let [problem] = &problems.problems[..] else {
        panic!("{}", drawn(&problems));
    };
    let start = problem.place.offset();
    let tighten = SOUND.rfind("\"cover-bolts\"").unwrap() - "torque = \"25 N·m\"\n".len();
    assert_eq!(start, tighten, "the group's name in the step that tightens");
    insta::assert_snapshot!(drawn(&problems));
}

#[test]
fn limits_out_of_order() {
    let text = mistake("max = \"2.0\"", "max = \"7.0\"", Code::Value, r#""5.0""#);
    insta::assert_snapshot!(text);
}

#[test]
fn key_that_the_action_cannot_have() {
    let text = mistake(
        "item = \"cover\"\ntext = \"Lift the cover off.\"",
        "item = \"cover\"\nminutes = 5\ntext = \"Lift the cover off.\"",
        Code::StrayKey,
        "5",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn item_never_refitted() {
    let text = mistake(
        "[[step]]\nid = \"cover-on\"\naction = \"refit\"\nitem = \"cover\"\ntext = \"Put the cover on.\"\nneeds = [\"cover-bare\"]\n",
        "",
        Code::NotRefitted,
        r#""cover-off""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn bolts_run_in_but_never_tightened() {
    let text = mistake(
        "action = \"tighten\"",
        "action = \"refit\"",
        Code::NotRefitted,
        r#""unscrew""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn refitted_without_having_come_off() {
    let text = mistake(
        "action = \"remove\"\nitem = \"cover\"\ntext = \"Lift the cover off.\"",
        "action = \"inspect\"\ntext = \"Look at the cover.\"",
        Code::NeverOff,
        r#""cover-on""#,
    );
    insta::assert_snapshot!(text);
}
