//! A part is missing: the job is made safe, waits, and asks everything again once the part is here.

use crate::talks::talking::Talk;
use steps::job::Place;
use steps::{Command, Entry, Id, Input, Outcome, Settings};

/// An invented job: a cover that comes off under a lock, with a gasket that is never used twice.
const TEXT: &str = r#"
format = 1
id = "cover"
title = "Pump cover"
vehicle = "ferry depot pump"
values = "Invented."
minutes = 20

[lay_out]
parts = ["lid gasket"]

[[fact]]
id = "isolated"
means = "the pump is isolated"
[[gate]]
id = "isolated"
fact = "isolated"
signal = "danger"
ask = "Lock the switch off and try to start the pump."
readback = "Switch locked, start button tried, nothing ran."

[[item]]
id = "cover"
name = "pump cover"
[[item]]
id = "gasket"
name = "lid gasket"
once_only = true

[[step]]
id = "isolate"
action = "hold"
gate = "isolated"
[[step]]
id = "cover-off"
action = "remove"
item = "cover"
text = "Lift the cover off."
needs = ["isolated"]
[[step]]
id = "gasket-off"
action = "remove"
item = "gasket"
text = "Peel the gasket off."
needs = ["isolated"]
[[step]]
id = "gasket-on"
action = "refit"
item = "gasket"
text = "Lay the new gasket on."
needs = ["isolated"]
[[step]]
id = "cover-on"
action = "refit"
item = "cover"
text = "Put the cover on."
needs = ["isolated"]
[[make_safe]]
id = "safe-isolated"
action = "hold"
gate = "isolated"
[[make_safe]]
id = "tag"
action = "do"
text = "Tag the switch."
"#;

fn readback() -> Command {
    Command::Readback {
        gate: Id::new("isolated"),
        colour: None,
    }
}

fn missing(thing: Option<&str>) -> Command {
    let thing = thing.map(Id::new);
    Command::PartMissing { thing }
}

/// With cover and gasket off, at the step that needs the new one.
fn at_the_gasket() -> Talk {
    let mut talk = Talk::about("cover", TEXT, Settings::default());
    talk.say(Command::LaidOut);
    talk.say(readback());
    talk.say(Command::Next);
    let told = talk.say(Command::Next);
    assert_eq!(told, "Lay the new gasket on.");
    talk
}

/// The same, made safe and waiting.
fn waiting() -> Talk {
    let mut talk = at_the_gasket();
    talk.say(missing(Some("gasket")));
    talk.say(Command::Yes);
    talk.say(readback());
    talk.say(Command::Next);
    talk
}

fn facts(talk: &Talk) -> usize {
    talk.job.facts().count()
}

#[test]
fn the_vehicle_is_made_safe_before_the_job_waits() {
    let mut talk = at_the_gasket();
    assert_eq!(
        talk.say(missing(Some("gasket"))),
        "The job will wait for this part: lid gasket. First we make everything safe. Yes or no?"
    );
    let told = talk.say(Command::Yes);
    assert!(told.starts_with("Not in place: pump cover off; lid gasket off."));
    // What was confirmed for the work doesn't count for leaving it.
    assert_eq!(facts(&talk), 0);
    assert_eq!(talk.job.holding(), Some(&Id::new("isolated")));
    let told = talk.say(readback());
    assert!(told.ends_with("Tag the switch."), "{told}");
    assert_eq!(
        talk.say(Command::Next),
        "Not in place: pump cover off; lid gasket off. The record says so. | The job is waiting for this part: lid \
         gasket. Once you have it, say: the part is here."
    );
    assert_eq!(talk.job.place(), Place::WaitingForPart);
    assert_eq!(talk.job.outcome(), None);
    let entries = &talk.written[talk.written.len() - 3..];
    assert!(
        matches!(
            entries,
            [Entry::Done { .. }, Entry::Waiting { outstanding }, Entry::Voided { .. }] if outstanding.len() == 2
        ),
        "{entries:?}"
    );
    assert_eq!(facts(&talk), 0);
    let named = talk.written.iter().find_map(|entry| match entry {
        Entry::PartMissing { part } => Some(part.as_deref()),
        _other => None,
    });
    assert_eq!(named, Some(Some("lid gasket")));
}

#[test]
fn nothing_moves_the_job_while_it_waits() {
    let mut talk = waiting();
    for command in [
        Command::Next,
        Command::Okay,
        Command::Back,
        Command::Finish,
        Command::LaidOut,
        Command::WhereAmI,
        missing(None),
    ] {
        let told = talk.say(command.clone());
        assert!(
            told.ends_with("say: the part is here."),
            "{command:?}: {told}"
        );
    }
    talk.say(readback());
    assert_eq!(facts(&talk), 0, "there is no gate here");
    assert!(talk.job.waits_for_part());
}

#[test]
fn once_the_part_is_here_every_gate_is_asked_again() {
    let mut talk = waiting();
    let told = talk.minutes_later(3 * 24 * 60).say(Command::PartHere);
    assert!(
        told.starts_with(
            "Resuming the job: Pump cover. | Not in place: pump cover off; lid gasket off."
        ),
        "{told}"
    );
    assert!(told.contains("Lock the switch off"), "{told}");
    assert_eq!(facts(&talk), 0);
    assert_eq!(talk.job.step(), None);
    let told = talk.say(readback());
    assert!(told.ends_with("Lay the new gasket on."), "{told}");
    assert!(!talk.job.waits_for_part());
    talk.say(Command::Next);
    talk.say(Command::Next);
    talk.say(Command::Finish);
    assert_eq!(talk.job.outcome(), Some(Outcome::Finished));
}

#[test]
fn a_fact_confirmed_for_leaving_it_safe_does_not_count_for_the_work() {
    let mut talk = at_the_gasket();
    talk.say(missing(None));
    talk.say(Command::Yes);
    talk.say(readback());
    assert_eq!(facts(&talk), 1);
    // The part turns up before all is made safe.
    let told = talk.say(Command::PartHere);
    assert!(
        told.contains("No longer confirmed: the pump is isolated."),
        "{told}"
    );
    assert_eq!(facts(&talk), 0);
    assert_eq!(talk.job.holding(), Some(&Id::new("isolated")));
}

#[test]
fn a_job_that_waits_is_resumed_and_still_waits() {
    let mut talk = waiting();
    let told = talk.minutes_later(600).input(Input::Resumed);
    assert!(told.ends_with("say: the part is here."), "{told}");
    assert!(talk.job.waits_for_part());
    let told = talk.say(Command::PartHere);
    assert!(told.contains("Lock the switch off"), "{told}");
}

#[test]
fn a_job_that_waits_can_be_given_up_and_is_made_safe_anew() {
    let mut talk = waiting();
    talk.say(Command::Abandon);
    let told = talk.say(Command::Yes);
    assert!(told.contains("Lock the switch off"), "{told}");
    talk.say(readback());
    talk.say(Command::Next);
    assert_eq!(talk.job.outcome(), Some(Outcome::Abandoned));
}

#[test]
fn while_things_are_laid_out_there_is_nothing_to_make_safe() {
    let mut talk = Talk::about("cover", TEXT, Settings::default());
    talk.say(missing(None));
    assert_eq!(
        talk.say(Command::Yes),
        "The job is waiting for a part. Once you have it, say: the part is here."
    );
    let told = talk.say(Command::PartHere);
    assert!(told.contains("Parts to lay out: lid gasket"), "{told}");
    talk.say(missing(None));
    talk.say(Command::Yes);
    talk.say(Command::Abandon);
    talk.say(Command::Yes);
    assert_eq!(talk.job.outcome(), Some(Outcome::Abandoned));
}

#[test]
fn it_is_not_listened_for_at_a_gate() {
    let offered = |talk: &Talk| {
        let listen = talk.job.listen();
        let named = listen.phrases.into_iter().map(|phrase| phrase.command);
        let all = listen.commands.into_iter().chain(named);
        let about_parts =
            |command: &Command| matches!(command, Command::PartMissing { .. } | Command::PartHere);
        all.filter(about_parts).collect::<Vec<_>>()
    };
    let mut talk = Talk::about("cover", TEXT, Settings::default());
    let anywhere = [missing(None), missing(Some("gasket"))];
    assert_eq!(offered(&talk), anywhere);
    talk.say(Command::LaidOut);
    assert_eq!(talk.job.holding(), Some(&Id::new("isolated")));
    assert_eq!(offered(&talk), []);
    talk.say(readback());
    assert_eq!(offered(&talk), anywhere);
    talk.say(missing(None));
    talk.say(Command::Yes);
    assert_eq!(offered(&talk), [], "a gate holds while it is made safe");
    talk.say(readback());
    assert_eq!(offered(&talk), [Command::PartHere]);
    assert_eq!(offered(&waiting()), [Command::PartHere]);
}

#[test]
fn no_changes_nothing() {
    let mut talk = at_the_gasket();
    let before = talk.job.digest();
    talk.say(missing(None));
    assert_eq!(talk.say(Command::No), "Lay the new gasket on.");
    assert_eq!(talk.job.digest(), before);
    assert_eq!(
        talk.say(Command::PartHere),
        "As far as I know, no part is missing."
    );
}
