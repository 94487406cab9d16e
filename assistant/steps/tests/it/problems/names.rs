//! Names of things, and names in texts.

use super::{Files, SOUND, mistake, points_at, problems};
use steps::Procedure;
use steps::procedure::Code;

#[test]
fn unknown_fact() {
    let text = mistake(
        r#"needs = ["supported"]

[[step]]"#,
        r#"needs = ["suported"]

[[step]]"#,
        Code::Unknown,
        r#""suported""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn duplicate_id() {
    let text = mistake(
        r#"id = "cover-on""#,
        r#"id = "cover-off""#,
        Code::Duplicate,
        r#""cover-off""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn item_and_group_of_one_name() {
    let job = SOUND.replace("cover-bolts", "cover");
    let text = points_at(&Files::job(job), Code::Duplicate, r#""cover""#);
    insta::assert_snapshot!(text);
}

#[test]
fn name_that_is_none() {
    let text = mistake(
        r#"id = "measure""#,
        r#"id = "Measure it""#,
        Code::Name,
        r#""Measure it""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn name_that_nothing_fills_in() {
    let text = mistake(
        "Tighten the {fasteners} to {torque}.",
        "Tighten the {fasteners} to {tork}.",
        Code::Unknown,
        r#""Tighten the {fasteners} to {tork}.""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn torque_in_a_step_without_a_fastener() {
    let text = mistake(
        "Lift the cover off.",
        "Lift the cover off, {torque}.",
        Code::Unknown,
        r#""Lift the cover off, {torque}.""#,
    );
    insta::assert_snapshot!(text);
}

#[test]
fn unknown_option() {
    let text = mistake(
        r#"when = { side = "left" }"#,
        r#"when = { side = "front" }"#,
        Code::Unknown,
        r#""front""#,
    );
    insta::assert_snapshot!(text);
}

/// A part that is included twice takes its names from the include.
#[test]
fn a_part_can_be_included_twice_under_names_of_its_own() {
    let part = r#"format = 1
id = "corner"
[[item]]
id = "{corner}-cap"
name = "{corner} cap"
[[step]]
id = "{corner}-cap-off"
action = "remove"
item = "{corner}-cap"
text = "Take the {corner} cap off."
[[step]]
id = "{corner}-cap-on"
action = "refit"
item = "{corner}-cap"
text = "Put the {corner} cap on."
"#;
    let twice = |first: &str, second: &str| {
        let include = |corner: &str| {
            format!("[[step]]\ninclude = \"parts/corner\"\nwith = {{ corner = \"{corner}\" }}\n")
        };
        let job = format!("{SOUND}\n{}{}", include(first), include(second));
        Files::job(job).with("parts/corner", part)
    };
    let procedure = Procedure::load("job", &twice("left", "right")).unwrap();
    assert_eq!(procedure.items.len(), 3);
    assert_eq!(procedure.steps.len(), 11);
    assert_eq!(procedure.steps[9].text, "Take the right cap off.");
    let again = problems(&twice("left", "left"));
    assert!(again.problems.iter().all(|it| it.code == Code::Duplicate));
    assert_eq!(again.problems.len(), 3);
}
