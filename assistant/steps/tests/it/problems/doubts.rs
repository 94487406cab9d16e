//! Torques that don't suit their thread: drawn, and no mistake.

use super::{Files, SOUND, changed, drawn, mistake};
use steps::Procedure;
use steps::procedure::{Code, Finding};

/// The doubts about the small procedure with this thread, strength and torque for its cover bolts.
fn doubts(keys: &str) -> Vec<Finding> {
    let job = changed("torque = \"25 N·m\"", keys);
    let (_, doubts) = Procedure::load_for_its_author("job", &Files::job(job))
        .unwrap_or_else(|problems| panic!("{}", drawn(&problems)));
    doubts
}

/// There is just the one doubt, and its label lies under these very words.
fn doubted(keys: &str, words: &str) -> String {
    let doubts = doubts(keys);
    let [doubt] = &doubts[..] else {
        let all: Vec<_> = doubts.iter().map(|doubt| drawn(doubt)).collect();
        panic!("not one doubt about {keys}: {}", all.join("\n"));
    };
    let start = doubt.place.offset();
    assert_eq!(&doubt.file.inner()[start..start + doubt.place.len()], words);
    drawn(doubt)
}

fn undoubted(keys: &str) {
    let doubts = doubts(keys);
    let all: Vec<_> = doubts.iter().map(|doubt| drawn(doubt)).collect();
    assert!(doubts.is_empty(), "{keys}: {}", all.join("\n"));
}

#[test]
fn nothing_is_doubted_where_nothing_can_be_judged() {
    for keys in [
        "torque = \"25 N·m\"",
        "torque = \"2500 N·m\"",
        "thread = \"M8\"\ntorque = \"2500 N·m\"",
        "class = \"8.8\"\ntorque = \"2500 N·m\"",
        // A pipe thread.
        "thread = \"G 1/4\"\nclass = \"8.8\"\ntorque = \"30 N·m\"",
    ] {
        undoubted(keys);
    }
}

/// By hand, T = K·d·F with ISO 898-1: M8 8.8 has 36.6 mm² × 580 MPa = 21.2 kN of proof load; 25 N·m at 0.20 is
/// 15.6 kN, 74 %.
#[test]
fn usual_torques_are_not_doubted() {
    for keys in [
        "thread = \"M8\"\nclass = \"8.8\"\ntorque = \"25 N·m\"",
        "thread = \"M8\"\nclass = \"8\"\ntorque = \"25 N·m\"",
        "thread = \"M8\"\nclass = \"8.8\"\ntorque = \"221 lbf·in\"",
        "thread = \"5/16-18\"\nclass = \"grade 5\"\ntorque = \"18 lbf·ft\"",
        "thread = \"M8\"\nclass = \"8.8\"\ntorque = \"25 N·m\"\nthreadlocker = \"medium strength\"",
        "thread = \"M8\"\nclass = \"8.8\"\ntorque = \"25 N·m\"\nlubrication = \"oil\"",
    ] {
        undoubted(keys);
    }
}

/// A torque that only seats, before a turn by angle, elastic or to yield, may be low.
#[test]
fn torque_then_angle_is_not_doubted() {
    for keys in [
        "thread = \"M10\"\nclass = \"10.9\"\ntorque = \"20 N·m\"\nangle = 90",
        "thread = \"M10\"\nclass = \"10.9\"\ntorque = \"20 N·m\"\nangle = 180\nonce_only = true",
        "thread = \"M12\"\nclass = \"10.9\"\ntorque = \"30 N·m\"\nangle = 180\nonce_only = true",
    ] {
        undoubted(keys);
    }
}

#[test]
fn a_torque_then_angle_that_is_far_off_is_doubted() {
    let text = doubted(
        "thread = \"M10\"\nclass = \"10.9\"\ntorque = \"20 lbf·in\"\nangle = 90",
        "\"20 lbf·in\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn inch_pounds_taken_for_foot_pounds() {
    let text = doubted(
        "thread = \"M6\"\nclass = \"8.8\"\ntorque = \"89 lbf·ft\"",
        "\"89 lbf·ft\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn foot_pounds_taken_for_inch_pounds() {
    let text = doubted(
        "thread = \"M12\"\nclass = \"8.8\"\ntorque = \"62 lbf·in\"",
        "\"62 lbf·in\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn newton_metres_taken_for_foot_pounds() {
    let text = doubted(
        "thread = \"M8\"\nclass = \"8.8\"\nnut_factor = 0.2\ntorque = \"25 lbf·ft\"",
        "\"25 lbf·ft\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn foot_pounds_taken_for_newton_metres() {
    let text = doubted(
        "thread = \"M12\"\nclass = \"8.8\"\nlubrication = \"dry\"\ntorque = \"30 N·m\"",
        "\"30 N·m\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_torque_that_no_unit_explains() {
    let text = doubted(
        "thread = \"1/2-13 UNC\"\nclass = \"grade 8\"\ntorque = \"190 lbf·ft\"",
        "\"190 lbf·ft\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn each_value_of_a_variant_is_judged() {
    let text = doubted(
        "thread = \"M8\"\nclass = \"8.8\"\n\
         torque_by = { variant = \"side\", values = { left = \"25 N·m\", right = \"250 N·m\" } }",
        "\"250 N·m\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_reason_ends_the_doubt_and_must_be_needed() {
    let low = "thread = \"M27x1.5\"\nclass = \"10\"\ntorque = \"245 N·m\"";
    let reason = "unusual_because = \"The bearing sets it.\"";
    doubted(low, "\"245 N·m\"");
    undoubted(&format!("{low}\n{reason}"));
    let text = doubted(
        &format!("thread = \"M8\"\nclass = \"8.8\"\ntorque = \"25 N·m\"\n{reason}"),
        "\"The bearing sets it.\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_thread_or_a_mark_that_cannot_be() {
    let thread = doubted(
        "thread = \"M8x12.5\"\nclass = \"8.8\"\ntorque = \"25 N·m\"",
        "\"M8x12.5\"",
    );
    let mark = doubted(
        "thread = \"M8\"\nclass = \"88\"\ntorque = \"25 N·m\"",
        "\"88\"",
    );
    let other = doubted(
        "thread = \"M8\"\nclass = \"grade 5\"\ntorque = \"25 N·m\"",
        "\"grade 5\"",
    );
    insta::assert_snapshot!([thread, mark, other].join("\n"));
}

#[test]
fn two_units_that_are_two_torques() {
    undoubted("torque = \"140 N·m\"\ntorque_also = \"103 lbf·ft\"");
    let text = mistake(
        "torque = \"25 N·m\"",
        "torque = \"140 N·m\"\ntorque_also = \"140 lbf·ft\"",
        Code::TorqueDisagrees,
        "\"140 lbf·ft\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_nut_factor_that_cannot_be() {
    let text = mistake(
        "torque = \"25 N·m\"",
        "thread = \"M8\"\nclass = \"8.8\"\nnut_factor = 2.0\ntorque = \"25 N·m\"",
        Code::Value,
        "2.0",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn an_amount_that_is_none() {
    let text = mistake(
        "text = \"Put the cover on.\"",
        "text = \"Put the cover on.\"\nuses = [{ what = \"sealant\", amount = \"2 pints\" }]",
        Code::Value,
        "\"2 pints\"",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_step_that_takes_two_days() {
    let text = mistake(
        "text = \"Put the cover on.\"",
        "text = \"Put the cover on.\"\ntakes_minutes = 2880",
        Code::Value,
        "2880",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn a_doubt_is_no_reason_to_refuse() {
    let job = changed(
        "torque = \"25 N·m\"",
        "thread = \"M8\"\nclass = \"8.8\"\ntorque = \"250 N·m\"",
    );
    assert!(Procedure::load("job", &Files::job(job)).is_ok());
    assert!(Procedure::load("job", &Files::job(SOUND)).is_ok());
}
