//! Doubts that the author accepts.

use super::{Files, SOUND, changed, drawn, points_at};
use steps::Procedure;
use steps::procedure::{Code, Finding};

const REASON: &str = "The gasket sets this torque, not the thread.";

/// An acceptance as it is written.
fn accepts(code: &str, at: &str, reason: &str) -> String {
    format!("\n[[accepted]]\ncode = \"{code}\"\nat = \"{at}\"\nreason = \"{reason}\"\n")
}

/// The small procedure with an unusual torque, and this behind it.
fn unusual(accepted: &str) -> Vec<Finding> {
    let job = changed(
        "torque = \"25 N·m\"",
        "thread = \"M8\"\nclass = \"8.8\"\ntorque = \"250 N·m\"",
    );
    Procedure::examine("job", &Files::job(job + accepted)).findings
}

#[test]
fn an_accepted_doubt_is_shown_with_its_reason() {
    let [doubt] = &unusual("")[..] else {
        panic!("not one doubt");
    };
    assert_eq!(doubt.accepted, None);
    assert_eq!(doubt.about, ["cover-bolts"]);
    let [doubt] = &unusual(&accepts("torque-unusual", "cover-bolts", REASON))[..] else {
        panic!("not one doubt");
    };
    assert_eq!(doubt.accepted.as_deref(), Some(REASON));
    insta::assert_snapshot!(drawn(doubt));
}

#[test]
fn a_doubt_elsewhere_is_not_accepted() {
    let findings = unusual(&accepts("torque-unusual", "cover", REASON));
    let codes: Vec<Code> = findings.iter().map(|it| it.code).collect();
    assert_eq!(codes, [Code::TorqueUnusual, Code::AcceptedStale]);
    assert!(findings.iter().all(|it| it.accepted.is_none()));
}

#[test]
fn a_part_accepts_for_each_time_that_it_is_included() {
    let part = "format = 1\nid = \"bolted\"\n\n[[fastener]]\nid = \"{it}-bolts\"\nname = \"{it} bolt\"\ncount = 2\n\
        thread = \"M8\"\nclass = \"8.8\"\ntorque = \"250 N·m\"\n";
    let accepted = accepts("torque-unusual", "{it}-bolts", REASON);
    let include =
        |it| format!("\n[[step]]\ninclude = \"parts/bolted\"\nwith = {{ it = \"{it}\" }}\n");
    let job = SOUND.to_owned() + &include("lid") + &include("door");
    let files = Files::job(job).with("parts/bolted", part.to_owned() + &accepted);
    let findings = Procedure::examine("job", &files).findings;
    let all: Vec<_> = findings.iter().map(|it| drawn(it)).collect();
    assert!(!findings.is_empty(), "nothing found");
    assert!(
        findings.iter().all(|it| it.accepted.is_some()),
        "{}",
        all.join("\n")
    );
    // For one of the two isn't for both.
    let for_one = part.to_owned() + &accepts("torque-unusual", "lid-bolts", REASON);
    let files = Files::job(SOUND.to_owned() + &include("lid") + &include("door"))
        .with("parts/bolted", for_one);
    let findings = Procedure::examine("job", &files).findings;
    assert!(findings.iter().any(|it| it.accepted.is_none()));
}

#[test]
fn a_mistake_a_hold_point_and_no_reason_are_not_accepted() {
    let refused = |code, at, reason, words| {
        let job = SOUND.to_owned() + &accepts(code, at, reason);
        points_at(&Files::job(job), Code::AcceptedWrongly, words)
    };
    let mistake = refused("not-refitted", "cover-off", REASON, "\"not-refitted\"");
    let gate = refused("torque-unusual", "supported", REASON, "\"supported\"");
    let reason = refused("torque-unusual", "cover-bolts", "because", "\"because\"");
    insta::assert_snapshot!([mistake, gate, reason].join("\n"));
}

#[test]
fn a_code_that_does_not_exist_is_told_with_those_like_it() {
    let job = SOUND.to_owned() + &accepts("torque-unusal", "cover-bolts", REASON);
    let text = points_at(&Files::job(job), Code::Unknown, "\"torque-unusal\"");
    insta::assert_snapshot!(text);
}
