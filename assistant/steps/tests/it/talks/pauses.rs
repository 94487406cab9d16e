//! Why a job was put down is asked once, and nothing hangs on the answer.

use crate::talks::job::TEXT;
use crate::talks::talking::Talk;
use steps::job::Place;
use steps::{Command, Entry, Id, Input, PauseReason, Settings};

const ASKED: &str =
    "What was the pause for: a part, a tool, help, a break or another job? Or skip it.";

fn readback() -> Command {
    Command::Readback {
        gate: Id::new("isolated"),
        colour: None,
    }
}

/// Past the first gate.
fn working() -> Talk {
    let settings = Settings {
        pauses: true,
        ..Settings::default()
    };
    let mut talk = Talk::about("cover", TEXT, settings);
    talk.say(Command::Next);
    talk.say(readback());
    assert!(talk.job.step().is_some(), "{:?}", talk.job.place());
    talk
}

fn held_for(talk: &mut Talk, minutes: u64) -> String {
    talk.say(Command::HoldOn);
    talk.minutes_later(minutes).say(Command::CarryOn)
}

#[test]
fn a_short_hold_is_recorded_and_not_asked_about() {
    let mut talk = working();
    let told = held_for(&mut talk, 4);
    assert!(!told.contains(ASKED), "{told}");
    assert_eq!(
        talk.written.last(),
        Some(&Entry::HeldOn { seconds: Some(240) })
    );
}

#[test]
fn a_long_hold_is_asked_about_once() {
    for reason in PauseReason::ALL {
        let mut talk = working();
        let step = talk.job.step().cloned();
        assert_eq!(held_for(&mut talk, 6), ASKED);
        assert_eq!(talk.job.place(), Place::AskingWhy);
        let told = talk.say(Command::PauseReason { reason });
        assert!(told.starts_with("Noted. | "), "{told}");
        assert_eq!(talk.written.last(), Some(&Entry::PausedFor { reason }));
        assert_eq!(talk.job.step().cloned(), step);
        let told = talk.say(Command::PauseReason { reason });
        assert_eq!(told, "I haven't asked you anything.");
    }
}

#[test]
fn a_job_that_was_left_open_is_asked_about_before_its_gate() {
    let mut talk = working();
    let told = talk.minutes_later(600).input(Input::Resumed);
    assert!(told.ends_with(ASKED), "{told}");
    // No words of a gate are listened for, so that none can be taken for an answer.
    let listen = talk.job.listen();
    assert_eq!(listen.readback, None);
    assert!(listen.phrases.is_empty() && listen.commands.contains(&Command::Stop));
    let told = talk.say(Command::PauseReason {
        reason: PauseReason::Break,
    });
    assert!(told.contains("Lock the switch off"), "{told}");
    assert!(talk.job.listen().readback.is_some());
}

#[test]
fn whatever_else_is_said_skips_it_and_does_nothing() {
    for command in [
        Command::Skip,
        Command::CarryOn,
        Command::Next,
        Command::Okay,
        Command::Yes,
        Command::No,
        Command::Back,
        Command::Finish,
        Command::Abandon,
        readback(),
    ] {
        let mut talk = working();
        talk.minutes_later(600).input(Input::Resumed);
        let told = talk.say(command.clone());
        assert!(told.contains("Lock the switch off"), "{command:?}: {told}");
        assert_eq!(talk.job.facts().count(), 0, "{command:?}");
        assert_eq!(talk.job.holding(), Some(&Id::new("isolated")));
        assert!(
            !talk
                .written
                .iter()
                .any(|it| matches!(it, Entry::PausedFor { .. })),
            "{command:?}"
        );
    }
}

#[test]
fn a_clock_that_was_set_back_leaves_the_length_unknown() {
    let mut talk = working();
    talk.say(Command::HoldOn);
    talk.now.0 -= 40_000;
    assert_eq!(talk.say(Command::CarryOn), ASKED);
    assert_eq!(talk.written.last(), Some(&Entry::HeldOn { seconds: None }));
}

#[test]
fn an_older_job_is_asked_nothing() {
    let mut talk = Talk::about("cover", TEXT, Settings::default());
    talk.say(Command::Next);
    let told = held_for(&mut talk, 60);
    assert!(!told.contains(ASKED), "{told}");
    let told = talk.minutes_later(600).input(Input::Resumed);
    assert!(!told.contains(ASKED), "{told}");
}
