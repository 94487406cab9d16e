//! What goes onto the record holds no sentence of the program.

use crate::talks::talking::said;
use crate::talks::{job, waiting};
use std::collections::BTreeMap;
use std::sync::Arc;
use steps::{
    Certainty, Command, Effect, Entry, Heard, Input, Job, Language, Moment, Procedure, Settings,
};

/// A job by this text, told in a language.
fn begun(name: &str, text: &str, language: Language) -> Job {
    let header = format!("format = 1\nlanguage = \"{}\"", language.code());
    let text = text.replacen("format = 1", &header, 1);
    let library = BTreeMap::from([(name.to_owned(), text)]);
    let procedure = Procedure::load(name, &library).expect("the test's procedure is right");
    let settings = Settings {
        colours: true,
        corrections: true,
        ..Settings::default()
    };
    Job::new(Arc::new(procedure), settings)
}

/// Something that can be said now, chosen by `dice`; most often what gets on.
fn next(job: &Job, dice: usize) -> Input {
    let listen = job.listen();
    let sure = |command| said(command, Certainty::Sure);
    if dice.is_multiple_of(97) {
        return Input::Resumed;
    }
    if dice.is_multiple_of(5) {
        let phrases = listen.phrases.iter().map(|it| it.command.clone());
        let all: Vec<Command> = listen.commands.iter().cloned().chain(phrases).collect();
        return match all.get(dice / 5 % (all.len() + 1)) {
            Some(command) => sure(command.clone()),
            None => Input::NotUnderstood {
                heard: Heard::typed("something else"),
            },
        };
    }
    if job.asks() {
        return sure(Command::Yes);
    }
    if let Some(readback) = listen.readback {
        let certainty = match dice % 4 {
            0 => Certainty::Doubtful,
            1 => Certainty::Typed,
            _ => Certainty::Sure,
        };
        let (gate, colour) = (readback.gate, readback.colour);
        return said(Command::Readback { gate, colour }, certainty);
    }
    if let Some(number) = listen.number {
        let value = if dice.is_multiple_of(2) {
            number.least
        } else {
            number.most
        };
        return sure(Command::Reading { value });
    }
    // Questions leave no entries.
    let phrases = listen.phrases.iter();
    let mut phrases = phrases.filter(|phrase| !phrase.command.is_question());
    match phrases.nth(dice % 7) {
        Some(phrase) => sure(phrase.command.clone()),
        None => sure(Command::Next),
    }
}

#[test]
fn the_same_job_in_another_language_leaves_the_same_entries() {
    let mut kinds = BTreeMap::new();
    for (name, text) in [("cover", job::TEXT), ("box", waiting::BOX)] {
        for seed in 0..40_usize {
            let mut english = begun(name, text, Language::English);
            let mut spanish = begun(name, text, Language::Spanish);
            let (mut now, mut dice) = (Moment(1_700_000_000_000), seed * 7919 + 13);
            let mut input = Input::Begin;
            for _ in 0..120 {
                let written = |job: &mut Job| -> Vec<serde_json::Value> {
                    let effects = job.take(input.clone(), now).into_iter();
                    let entries = effects.filter_map(|effect| match effect {
                        Effect::Write(Entry::Opened { .. }) => None,
                        Effect::Write(entry) => Some(serde_json::to_value(entry).unwrap()),
                        _ => None,
                    });
                    entries.collect()
                };
                let (told, again) = (written(&mut english), written(&mut spanish));
                assert_eq!(told, again);
                assert_eq!(english.digest(), spanish.digest());
                for entry in told {
                    *kinds.entry(entry["entry"].to_string()).or_insert(0) += 1;
                }
                dice = (dice * 1_103_515_245 + 12_345) % 2_147_483_648;
                now = Moment(now.0 + [900, 5_000, 70_000][dice / 8 % 3]);
                input = next(&english, dice / 16);
            }
        }
    }
    for kind in [
        "done",
        "tightened",
        "gate-refused",
        "voided",
        "read",
        "deferred",
        "closed",
    ] {
        assert!(kinds.contains_key(&format!("\"{kind}\"")), "{kinds:?}");
    }
}
