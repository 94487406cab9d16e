//! Rules of wording: what is doubted, and what isn't.

use super::{Files, SOUND, changed, drawn};
use steps::Procedure;
use steps::procedure::{Code, seconds_to_say};

/// The codes found where the cover is lifted off with these words.
fn found(text: &str) -> Vec<Code> {
    let job = changed("Lift the cover off.", text);
    let findings = Procedure::examine("job", &Files::job(job)).findings;
    findings.iter().map(|it| it.code).collect()
}

#[test]
fn plain_orders_are_not_doubted() {
    assert!(
        Procedure::examine("job", &Files::job(SOUND))
            .findings
            .is_empty()
    );
    for text in [
        "Lift the cover off.",
        "Bring the cover to the bench.",
        "Swing the cover aside, then down.",
        "Tighten the wing nut by hand.",
        "Tag the trailer: warning lamp, not for the road.",
        "Fill to 2.5 l.",
        "Check that the cover is whole.",
        "Wipe the torque-wrench and the bench.",
        "Set the torque wrench to its lowest mark.",
        "Torque wrench back into its box.",
        "Write the torque on the tag.",
    ] {
        assert_eq!(found(text), [], "{text}");
    }
}

#[test]
fn words_that_are_no_plain_order_are_doubted() {
    for (text, code) in [
        ("The cover comes off.", Code::NoOrder),
        ("You lift the cover off.", Code::NoOrder),
        ("Lifting the cover off.", Code::NoOrder),
        ("Lift the cover off and then wipe it.", Code::TwoActions),
        ("Lift the cover off. Wipe it.", Code::TwoActions),
        ("Lift the cover off; wipe it.", Code::TwoActions),
        (
            "Lift the cover off, beware of its edge.",
            Code::CautionInText,
        ),
        ("Tighten the plug.", Code::TorqueUnsaid),
        ("Torque the plug.", Code::TorqueUnsaid),
        ("Wipe and torque the plug.", Code::TorqueUnsaid),
        (
            "Torque the plug with the torque wrench.",
            Code::TorqueUnsaid,
        ),
        ("Measure the gap.", Code::LimitUnsaid),
        ("Check the end float of the hub.", Code::LimitUnsaid),
    ] {
        assert_eq!(found(text), [code], "{text}");
    }
}

#[test]
fn a_caution_in_the_action_is_drawn_under_its_words() {
    let job = changed(
        "Lift the cover off.",
        "Lift the cover off, it can crush your toes.",
    );
    let findings = Procedure::examine("job", &Files::job(job)).findings;
    let [doubt] = &findings[..] else {
        panic!("not one doubt");
    };
    insta::assert_snapshot!(drawn(doubt));
}

/// The longest option of a variant counts, and the torque with its figures.
#[test]
fn what_is_filled_in_is_said_too() {
    let job = SOUND.replace(
        "say = \"left\"",
        "say = \"on the left, seen by somebody who stands a long way in front of the trailer on the quay and looks back at its hubs\"",
    );
    let findings = Procedure::examine("job", &Files::job(job)).findings;
    let codes: Vec<Code> = findings.iter().map(|it| it.code).collect();
    assert_eq!(codes, [Code::TooLong]);
    assert!(seconds_to_say("Tighten to 140 N·m.") > seconds_to_say("Tighten to it."));
}

#[test]
fn a_reading_without_limits_is_doubted_unless_it_is_worked_with() {
    let without = SOUND.replace("max = \"2.0\"\n", "");
    let codes = |job: &str| -> Vec<Code> {
        let findings = Procedure::examine("job", &Files::job(job)).findings;
        findings.iter().map(|it| it.code).collect()
    };
    assert_eq!(codes(&without), [Code::LimitUnsaid]);
    let drag = without
        .replace("unit = \"mm\"", "unit = \"N·m\"")
        .replace("count = 4", "count = 4\nrunning = \"gap\"");
    assert_eq!(codes(&drag), []);
}
