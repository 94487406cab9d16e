//! Waits, loads on stands, running torque and what comes again after settling, in plain words.

use crate::talks::talking::{START, Talk};
use std::collections::BTreeMap;
use steps::codes::{InWords, Kept, RunningTorque, WantedTorque};
use steps::{Command, Entry, Input, Language, Moment, Outcome, Procedure, Settings};

/// An invented gearbox.
pub(super) const BOX: &str = r#"
format = 1
id = "box"
title = "Gearbox cover"
vehicle = "ferry depot van"
values = "Invented."
minutes = 60

[[fact]]
id = "supported"
means = "the van rests on stands"
[[gate]]
id = "supported"
fact = "supported"
signal = "danger"
ask = "Shove the van."
readback = "Both stands carry it and nothing moved."
load = { mass = "1800 kg", axle_share = "55 %", rating = "3 t each", rating_from = "plate", usable = "80 %" }

[[fastener]]
id = "lock-nuts"
name = "lock nut"
count = 4
torque = "60 ± 5 N·m"
passes = [50, 100]
running = "drag"
[[fastener]]
id = "studs"
name = "stud"
count = 2
torque = "45 N·m"
again_after = "50 km"
[[fastener]]
id = "gasket-bolts"
name = "gasket bolt"
count = 6
torque = "25 N·m"
again_after = "20 minutes"

[[reading]]
id = "drag"
name = "running torque"
unit = "N·m"
least = "0.0"
most = "80.0"
[[reading]]
id = "warmth"
name = "temperature of the cover"
unit = "°C"
least = "-20"
most = "60"

[[reading]]
id = "gap"
name = "gap of the cover"
unit = "in"
least = "0.000"
most = "0.500"
max = "0.050"

[[step]]
id = "warmth-measure"
action = "measure"
reading = "warmth"
text = "Measure the temperature of the cover."
[[step]]
id = "sealant"
action = "wait"
temperature = "warmth"
table = [{ at = "5 °C", minutes = 1440 }, { at = "20 °C", minutes = 360 }, { at = "40 °C", minutes = 60 }]
runs_on = true
text = "Let the sealant cure."
[[step]]
id = "soak"
action = "wait"
minutes = 10
runs_on = true
text = "Let the thread soak in oil."
[[step]]
id = "under"
action = "do"
text = "Reach under the van."
needs = ["supported"]
[[step]]
id = "drag-measure"
action = "measure"
reading = "drag"
text = "Measure the torque that turns a lock nut."
[[step]]
id = "lock-on"
action = "tighten"
fastener = "lock-nuts"
text = "Tighten the {fasteners} to {torque}."
[[step]]
id = "studs-on"
action = "tighten"
fastener = "studs"
text = "Tighten the {fasteners} to {torque}."
[[step]]
id = "gasket-on"
action = "tighten"
fastener = "gasket-bolts"
text = "Tighten the {fasteners} to {torque}."
[[step]]
id = "soaked"
action = "wait"
until = "soak"
text = "Wait until the thread has soaked."
[[step]]
id = "gasket-again"
action = "tighten"
fastener = "gasket-bolts"
again = true
text = "Tighten the {fasteners} again to {torque}."
[[step]]
id = "cured"
action = "wait"
until = "sealant"
text = "Wait until the sealant has cured."
[[step]]
id = "gap-measure"
action = "measure"
reading = "gap"
text = "Measure the gap of the cover."
[[make_safe]]
id = "tag"
action = "do"
text = "Tag the van."
"#;

fn begun() -> Talk {
    Talk::about("box", BOX, Settings::default())
}

/// At 20 °C, with a running torque of 8 N·m, up to a step.
fn at(step: &str) -> Talk {
    let mut talk = begun();
    let mut said = 0;
    while talk.job.step().is_none_or(|it| it.id.as_str() != step) {
        said += 1;
        assert!(said < 40, "nobody gets to {step}");
        match talk.job.step().map(|it| it.id.to_string()).as_deref() {
            Some("warmth-measure") => talk.read("20"),
            Some("drag-measure") => talk.read("8.0"),
            Some("cured") => talk.minutes_later(350).say(Command::Next),
            Some("gap-measure") => talk.read("0.045"),
            Some("soaked") => talk.minutes_later(10).say(Command::Next),
            None => talk.say(Command::Readback {
                gate: "supported".into(),
                colour: None,
            }),
            Some(_) => talk.say(Command::Next),
        };
    }
    talk
}

#[test]
fn a_cure_takes_what_the_sources_table_says_for_the_temperature_read() {
    let mut talk = begun();
    let told = talk.read("20");
    assert!(
        told.ends_with("Let the sealant cure. | At 20 °C that takes 6 hours."),
        "{told}"
    );
    // By hand: half-way from 20 to 40 °C, (360 + 60) / 2 = 210 minutes.
    let told = begun().read("30");
    assert!(
        told.ends_with("At 30 °C that takes 3 hours and 30 minutes."),
        "{told}"
    );
}

#[test]
fn without_a_time_in_the_table_the_wait_is_left_only_on_the_record() {
    let mut talk = begun();
    talk.read("-5");
    let asked = talk.say(Command::Next);
    assert!(
        asked.contains("gives no time for -5 °C, only from 5 to 40 °C")
            && asked.contains("on the record? Yes or no?"),
        "{asked}"
    );
    talk.say(Command::No);
    assert_eq!(talk.job.step().unwrap().id.as_str(), "sealant");
    talk.say(Command::Next);
    talk.say(Command::Yes);
    assert!(
        talk.written
            .iter()
            .any(|entry| matches!(entry, Entry::CutShort { .. }))
    );
}

#[test]
fn waits_run_beside_the_work_and_each_is_told_when_due_and_on_request() {
    let mut talk = at("sealant");
    assert_eq!(
        talk.say(Command::Next),
        "The wait isn't over. 6 hours left. | Let the thread soak in oil."
    );
    talk.say(Command::Next);
    assert_eq!(talk.wake, Some(Moment(START.0 + 10 * 60_000)));
    talk.minutes_later(4);
    assert_eq!(
        talk.say(Command::WaitsLeft),
        "Let the thread soak in oil: 6 minutes left. Let the sealant cure: 5 hours and 56 minutes left."
    );
    talk.minutes_later(6);
    assert_eq!(
        talk.input(Input::Woke),
        "Time's up: Let the thread soak in oil."
    );
    assert_eq!(talk.wake, Some(Moment(START.0 + 360 * 60_000)));
    assert!(
        talk.say(Command::WaitsLeft)
            .starts_with("Let the thread soak in oil: over.")
    );
}

#[test]
fn what_runs_on_is_waited_for_where_it_must_be_over() {
    let mut talk = at("cured");
    let asked = talk.say(Command::Next);
    assert!(
        asked.starts_with("5 hours and 50 minutes still to wait."),
        "{asked}"
    );
    talk.say(Command::No);
    talk.minutes_later(360);
    let told = talk.input(Input::Woke);
    assert!(told.contains("Time's up. Say next to go on."), "{told}");
    talk.say(Command::Next);
    assert_eq!(talk.say(Command::WaitsLeft), "There's no wait running.");
}

#[test]
fn the_load_on_the_stands_is_told_with_whose_figures_it_rests_on() {
    let mut talk = at("soak");
    talk.say(Command::Next);
    assert!(talk.job.listen().commands.contains(&Command::WhatLoad));
    // By hand: 1800 kg × 0.55 / 2 = 495 kg, rounded up to 500; 3000 kg × 0.8 = 2400 kg.
    assert_eq!(
        talk.say(Command::WhatLoad),
        "Load on each stand: 500 kg of 1800 kg for the vehicle, the procedure's figure. \
         Rated 3000 kg each, the plate's figure: 2400 kg for each. By these figures the stands will hold. \
         The stands go under the maker's lifting points."
    );
    assert_eq!(talk.job.facts().count(), 0, "asking opens no gate");
}

#[test]
fn stands_that_are_too_weak_by_the_authors_own_figures_are_refused() {
    let weak = BOX.replace("3 t each", "600 kg a pair");
    let library = BTreeMap::from([("box", weak.as_str())]);
    let problems = Procedure::load("box", &library).unwrap_err();
    assert!(
        problems.problems[0]
            .message
            .contains("The stands are too weak"),
        "{problems:?}"
    );
}

#[test]
fn a_running_torque_is_added_where_the_source_says_so() {
    let mut talk = at("drag-measure");
    let told = talk.read("8.0");
    assert!(
        told.contains("The lock nuts get 68 N·m, 8 N·m running torque added.")
            && told.ends_with("Tighten the lock nuts to 68 N·m."),
        "{told}"
    );
    assert_eq!(
        talk.say(Command::WhatTorque),
        "68 N·m. In 2 passes: 38 N·m, then 68 N·m. With 8 N·m running torque added. Allowed: 63 to 73 N·m."
    );
    talk.say(Command::Next);
    let wanted = talk.written.iter().find_map(|entry| match entry {
        Entry::Tightened { wanted, .. } => Some(wanted.clone()),
        _ => None,
    });
    let wanted = wanted.expect("it was tightened");
    assert_eq!(
        wanted,
        Kept::Data(WantedTorque {
            torque: "68 ± 5 N·m".into(),
            angle: None,
            running: Some(RunningTorque::Added("8 N·m".parse().unwrap())),
        })
    );
    assert_eq!(
        wanted.words(Language::English),
        "68 ± 5 N·m, 8 N·m running torque added"
    );
}

#[test]
fn a_nut_that_binds_is_not_taken() {
    let mut talk = at("drag-measure");
    let told = talk.read("65.0");
    assert!(
        told.contains("must be below the torque itself") && told.contains("fit a new nut"),
        "{told}"
    );
    // It is on record, and the next nut is measured.
    assert_eq!(talk.job.step().unwrap().id.as_str(), "drag-measure");
    assert!(
        talk.written
            .iter()
            .any(|entry| matches!(entry, Entry::Read { within: false, .. }))
    );
}

#[test]
fn what_settles_is_told_kept_outstanding_and_named_at_the_end() {
    let mut talk = at("studs-on");
    assert!(
        talk.say(Command::Next)
            .starts_with("Re-torque the studs after 50 km.")
    );
    talk.say(Command::Next);
    assert_eq!(
        talk.say(Command::WhatsOff),
        "Everything is in place. | Still to come: re-torque the gasket bolts after 20 minutes, to 25 N·m; \
         re-torque the studs after 50 km, to 45 N·m."
    );
    talk.minutes_later(20);
    assert_eq!(
        talk.input(Input::Woke),
        "Time's up. Say next to go on. | It's settled. Tighten the gasket bolts again now."
    );
    talk.say(Command::Next);
    talk.say(Command::Next);
    talk.minutes_later(360);
    talk.say(Command::Next);
    talk.read("0.045");
    let closed = talk.say(Command::Finish);
    assert_eq!(
        closed,
        "The job is finished and recorded. | Still to do: re-torque the studs after 50 km, to 45 N·m. \
         Write it on the key tag."
    );
    assert_eq!(talk.job.outcome(), Some(Outcome::Finished));
    assert!(matches!(
        talk.written.last(),
        Some(Entry::Closed { again, .. }) if again.len() == 1
    ));
}

#[test]
fn a_part_of_an_inch_is_said_back_in_thou_too() {
    let mut talk = at("gap-measure");
    assert_eq!(
        talk.say(Command::Reading {
            value: "0.045".parse().unwrap()
        }),
        "Gap of the cover 0.045 in (45 thou). Is that right?"
    );
    assert!(
        talk.say(Command::Yes)
            .starts_with("Recorded. Within limits, at most 0.050 in.")
    );
}

#[test]
fn a_wait_that_nobody_waits_for_is_pointed_out() {
    let lonely = BOX.replace("until = \"soak\"", "minutes = 1");
    let library = BTreeMap::from([("box", lonely.as_str())]);
    let problems = Procedure::load("box", &library).unwrap_err();
    assert_eq!(
        problems.problems[0].message,
        "no later step waits until “soak” is over"
    );
    let wrong = BOX.replace("until = \"soak\"", "until = \"under\"");
    let library = BTreeMap::from([("box", wrong.as_str())]);
    assert!(Procedure::load("box", &library).is_err());
}
