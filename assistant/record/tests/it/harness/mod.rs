//! A small job in the invented scenario, and ways through it. All values are invented.
#![allow(dead_code, reason = "each test uses some of it")]

use record::{Archive, JobId, JournaledJob, RecordError};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use steps::{Certainty, Command, Decimal, Heard, Input, Mode, Moment, Procedure, Settings};

pub const TEXT: &str = r#"
format = 1
id = "trailer-wheel"
title = "Trailer wheel"
vehicle = "boat trailer of the Saltmarsh ferry depot"
values = "All values are invented."
minutes = 30
variant = [{ id = "side", ask = "Which side, left or right?", options = [{ id = "left", say = "left" }, { id = "right", say = "right" }] }]

[[fact]]
id = "supported"
means = "the trailer stands on stands"

[[gate]]
id = "supported"
fact = "supported"
signal = "danger"
ask = "A trailer that falls kills. Shove it: it must not move."
readback = "Trailer rests on two stands and stays put."
good_for_minutes = 240
decoys = ["trailer rests on the jack and stays put"]

[[item]]
id = "wheel"
name = "wheel"

[[fastener]]
id = "wheel-nuts"
name = "wheel nut"
count = 5
thread = "M12x1.5"
class = "10"
drive = { shape = "hex", size = "19 mm" }
torque = "110 N·m"
passes = [50, 100]
pattern = "star"
lubrication = "dry"

[[reading]]
id = "depth"
name = "tread depth"
unit = "mm"
least = "0"
most = "20"
min = "1.6"

[[step]]
id = "hold"
action = "hold"
gate = "supported"

[[step]]
id = "depth"
action = "measure"
reading = "depth"
text = "Measure the tread's depth."

[[step]]
id = "loosen"
action = "loosen"
fastener = "wheel-nuts"
text = "Loosen the wheel nuts."
needs = ["supported"]

[[step]]
id = "off"
action = "remove"
item = "wheel"
text = "Lift the wheel off."
needs = ["supported"]

[[step]]
id = "on"
action = "refit"
item = "wheel"
text = "Hang the wheel on."
needs = ["supported"]

[[step]]
id = "tighten"
action = "tighten"
fastener = "wheel-nuts"
text = "Tighten the wheel nuts."

[[make_safe]]
id = "lower"
action = "do"
text = "Lower the trailer onto its wheels."
"#;

/// A procedure from text.
pub fn procedure(text: &str) -> Arc<Procedure> {
    let library = BTreeMap::from([("trailer-wheel", text)]);
    match Procedure::load("trailer-wheel", &library) {
        Ok(procedure) => Arc::new(procedure),
        Err(problems) => panic!("{:?}", miette(&problems)),
    }
}

fn miette(problems: &steps::procedure::Problems) -> Vec<String> {
    problems
        .problems
        .iter()
        .map(|it| format!("{} ({}) {}", it.message, it.label, it.remedy))
        .collect()
}

/// 2026-03-02T09:00:00Z.
pub const NINE: u64 = 1_772_442_000_000;

pub fn at(seconds: u64) -> Moment {
    Moment(NINE + 1000 * seconds)
}

pub fn said(command: Command, words: &str) -> Input {
    Input::Said {
        command,
        heard: Heard {
            words: words.into(),
            certainty: Certainty::Sure,
            evidence: Some(r#"{"margin":3.5}"#.into()),
            sound: None,
        },
    }
}

/// The whole job: a premature "next" and a wrong readback at the gate, a reading out of limits, a note.
pub fn whole_job() -> Vec<Input> {
    let next = || said(Command::Next, "next");
    vec![
        said(
            Command::Choose {
                variant: "side".into(),
                option: "left".into(),
            },
            "left",
        ),
        next(),
        Input::NotUnderstood {
            heard: Heard {
                words: "it stands somehow".into(),
                certainty: Certainty::Doubtful,
                evidence: None,
                sound: None,
            },
        },
        said(
            Command::Readback {
                gate: "supported".into(),
                colour: None,
            },
            "trailer rests on two stands and stays put",
        ),
        said(
            Command::Reading {
                value: "1.4".parse::<Decimal>().unwrap(),
            },
            "one point four",
        ),
        said(Command::Yes, "yes"),
        said(Command::Note, "note"),
        said(
            Command::Dictation {
                words: "inner rim is bent".into(),
            },
            "inner rim is bent",
        ),
        next(),
        next(),
        next(),
        next(),
        said(Command::Finish, "finish"),
    ]
}

pub fn begin(archive: &Archive, mode: Mode) -> JournaledJob {
    let settings = Settings {
        mode,
        ..Settings::default()
    };
    JournaledJob::begin(archive, procedure(TEXT), settings, at(0))
        .unwrap()
        .0
}

/// Works a whole job, an input every ten seconds.
pub fn work(archive: &Archive, mode: Mode) -> Result<JobId, RecordError> {
    let mut worked = begin(archive, mode);
    for (number, input) in whole_job().into_iter().enumerate() {
        worked.take(input, at(10 * (number as u64 + 1)))?;
    }
    Ok(worked.id().clone())
}

/// The journal's file, opened as somebody would who wants to alter it.
pub fn forger(folder: &Path) -> rusqlite::Connection {
    let connection = rusqlite::Connection::open(folder.join(record::sqlite::FILE)).unwrap();
    connection
        .execute_batch("DROP TRIGGER entries_stay; DROP TRIGGER entries_stay_the_same;")
        .unwrap();
    connection
}

/// Says why a test can't run on this machine. In CI that is a failure: a proof that didn't run proves nothing.
///
/// # Panics
/// Where the environment has `CI`.
pub fn skip(why: &str) {
    assert!(std::env::var_os("CI").is_none(), "{why}");
    println!("skipped: {why}");
}
