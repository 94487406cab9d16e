//! Mistakes in procedures are told at the wrong words. The printed texts are under `snapshots/`.

mod accepted;
mod any_text;
mod codes;
mod doubts;
mod files;
mod gates;
mod given_up;
mod names;
mod reviews;
mod sounds_like;
mod values;
mod wording;

use miette::{GraphicalReportHandler, GraphicalTheme};
use std::collections::BTreeMap;
use steps::Procedure;
use steps::procedure::{Code, Library, Problems, ReadError};

/// A small procedure without mistakes, for tests that then make one.
const SOUND: &str = r#"format = 1
id = "job"
title = "A small job"
vehicle = "test trailer"
values = "Invented."
minutes = 10

[[variant]]
id = "side"
ask = "Which side?"
options = [{ id = "left", say = "left" }, { id = "right", say = "right" }]

[[fact]]
id = "supported"
means = "the trailer rests on stands"

[[gate]]
id = "supported"
fact = "supported"
ask = "Shove it."
readback = "Stands carry it and shoving moved nothing."

[[fact]]
id = "cover-bare"
means = "the cover is bare"

[[gate]]
id = "cover-bare"
fact = "cover-bare"
ask = "Look at the cover."
readback = "Cover wiped bare, no dirt left there."
needs = ["supported"]

[[item]]
id = "cover"
name = "cover"

[[fastener]]
id = "cover-bolts"
name = "cover bolt"
count = 4
drive = { shape = "hex", size = "13 mm" }
torque = "25 N·m"

[[reading]]
id = "gap"
name = "gap"
unit = "mm"
least = "0.0"
most = "5.0"
max = "2.0"

[[step]]
id = "supported-hold"
action = "hold"
gate = "supported"

[[step]]
id = "unscrew"
action = "remove"
fastener = "cover-bolts"
text = "Unscrew the {count} {fasteners} on the {side}."
needs = ["supported"]

[[step]]
id = "cover-off"
action = "remove"
item = "cover"
text = "Lift the cover off."

[[step]]
id = "measure"
action = "measure"
reading = "gap"
text = "Measure the gap."
when = { side = "left" }

[[step]]
id = "cover-bare-hold"
action = "hold"
gate = "cover-bare"

[[step]]
id = "cover-on"
action = "refit"
item = "cover"
text = "Put the cover on."
needs = ["cover-bare"]

[[step]]
id = "tighten"
action = "tighten"
fastener = "cover-bolts"
text = "Tighten the {fasteners} to {torque}."

[[make_safe]]
id = "tag"
action = "do"
text = "Tag the trailer."
"#;

/// Files by name; bytes, so that they needn't be text.
#[derive(Default)]
pub struct Files(BTreeMap<String, Vec<u8>>);

impl Files {
    pub fn job(text: impl Into<Vec<u8>>) -> Self {
        Self::default().with("job", text)
    }

    pub fn with(mut self, name: &str, text: impl Into<Vec<u8>>) -> Self {
        self.0.insert(name.to_owned(), text.into());
        self
    }
}

impl Library for Files {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        self.0.get(name).cloned().ok_or(ReadError::Missing)
    }
}

/// The sound procedure with one passage changed.
fn changed(from: &str, to: &str) -> String {
    assert!(SOUND.contains(from), "{from}");
    SOUND.replacen(from, to, 1)
}

fn problems(files: &Files) -> Problems {
    Procedure::load("job", files).expect_err("a procedure with a mistake in it was accepted")
}

pub fn drawn(problems: &dyn miette::Diagnostic) -> String {
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor());
    let mut text = String::new();
    handler
        .with_width(100)
        .render_report(&mut text, problems)
        .unwrap();
    text.lines()
        .map(|line| line.trim_end().to_owned() + "\n")
        .collect()
}

/// There is just the one problem, of this kind, and its label lies under these very words.
fn points_at(files: &Files, code: Code, words: &str) -> String {
    let problems = problems(files);
    let [problem] = &problems.problems[..] else {
        panic!("not one problem: {}", drawn(&problems));
    };
    assert_eq!(problem.code, code, "{problem}");
    let start = problem.place.offset();
    let label = &problem.file.inner()[start..start + problem.place.len()];
    assert_eq!(label, words);
    drawn(&problems)
}

fn mistake(from: &str, to: &str, code: Code, words: &str) -> String {
    points_at(&Files::job(changed(from, to)), code, words)
}

#[test]
fn the_sound_procedure_is_accepted() {
    let procedure = Procedure::load("job", &Files::job(SOUND)).unwrap();
    assert_eq!(procedure.steps.len(), 7);
}
