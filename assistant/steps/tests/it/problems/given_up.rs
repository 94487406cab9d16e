//! What `make_safe` may leave behind, and what it asks for.

use super::{Files, SOUND, drawn};
use steps::Procedure;
use steps::procedure::Code;

/// The codes found with these steps added to what makes safe.
fn found(make_safe: &str) -> Vec<Code> {
    let job = SOUND.to_owned() + make_safe;
    let findings = Procedure::examine("job", &Files::job(job)).findings;
    findings.iter().map(|it| it.code).collect()
}

const LOWER: &str = r#"
[[make_safe]]
id = "down"
action = "do"
text = "Lower the trailer."
voids = ["supported"]
"#;

const BOLTS_BACK: &str = r#"
[[make_safe]]
id = "bolts-back"
action = "refit"
fastener = "cover-bolts"
text = "Run the bolts in."
when_off = "cover-bolts"
"#;

#[test]
fn letting_down_with_something_off_is_doubted_and_drawn() {
    let findings = Procedure::examine("job", &Files::job(SOUND.to_owned() + LOWER)).findings;
    let [doubt] = &findings[..] else {
        panic!("not one doubt: {findings:?}");
    };
    assert_eq!(doubt.code, Code::MakeSafeOff);
    assert_eq!(doubt.about, ["down"]);
    insta::assert_snapshot!(drawn(doubt));
}

#[test]
fn what_goes_back_first_or_may_wait_is_not_doubted() {
    assert_eq!(found(&(BOLTS_BACK.to_owned() + LOWER)), []);
    // After it is too late, and for one option isn't for both.
    assert_eq!(found(&(LOWER.to_owned() + BOLTS_BACK)), [Code::MakeSafeOff]);
    let for_left = BOLTS_BACK.to_owned() + "when = { side = \"left\" }\n";
    assert_eq!(found(&(for_left + LOWER)), [Code::MakeSafeOff]);
    let waits = SOUND.replace("count = 4", "count = 4\nmay_wait = true");
    let findings = Procedure::examine("job", &Files::job(waits + LOWER)).findings;
    assert!(findings.is_empty(), "{findings:?}");
}

#[test]
fn a_doubt_about_it_can_be_accepted() {
    let accepted = "\n[[accepted]]\ncode = \"make-safe-off\"\nat = \"down\"\n\
        reason = \"Without its cover the trailer stands as safely.\"\n";
    let job = SOUND.to_owned() + LOWER + accepted;
    let findings = Procedure::examine("job", &Files::job(job)).findings;
    assert!(findings.iter().all(|it| it.accepted.is_some()));
    assert_eq!(findings.len(), 1);
}

/// Where nothing is sure, a step that makes safe brings the hold point of what it needs.
#[test]
fn a_step_that_makes_safe_is_asked_for_its_facts_before() {
    let hold = |off: &str| {
        format!("\n[[make_safe]]\nid = \"hold\"\naction = \"hold\"\ngate = \"cover-bare\"\n{off}")
    };
    let wipe = |off: &str| {
        format!(
            "\n[[make_safe]]\nid = \"wipe\"\naction = \"do\"\ntext = \"Wipe it.\"\n\
             needs = [\"cover-bare\", \"supported\"]\n{off}"
        )
    };
    let off = "when_off = \"cover\"\n";
    assert_eq!(found(&wipe("")), [Code::FactUnasked]);
    // The gate of the one needs the other.
    assert_eq!(found(&(hold("") + &wipe(""))), []);
    assert_eq!(found(&(hold("") + &wipe(off))), []);
    assert_eq!(found(&(hold(off) + &wipe(off))), []);
    assert_eq!(found(&(hold(off) + &wipe(""))), [Code::FactUnasked]);
}
