//! Somebody who talks with a job.

use std::collections::BTreeMap;
use std::sync::Arc;
use steps::{Certainty, Command, Effect, Entry, Heard, Input, Job, Moment, Procedure, Settings};

/// 14 November 2023.
pub const START: Moment = Moment(1_700_000_000_000);

/// A talk with a job, and what it wrote down.
pub struct Talk {
    pub job: Job,
    pub now: Moment,
    pub written: Vec<Entry>,
    /// When the job wants to be woken.
    pub wake: Option<Moment>,
}

impl Talk {
    /// Begins a job by the procedure of this name and text.
    pub fn about(name: &str, text: &str, settings: Settings) -> Self {
        let library = BTreeMap::from([(name, text)]);
        let procedure = Procedure::load(name, &library).expect("the test's procedure is right");
        let mut talk = Self {
            job: Job::new(Arc::new(procedure), settings),
            now: START,
            written: Vec::new(),
            wake: None,
        };
        talk.input(Input::Begin);
        talk
    }

    /// What is said to this, sentence by sentence.
    pub fn input(&mut self, input: Input) -> String {
        let mut said = Vec::new();
        for effect in self.job.take(input, self.now) {
            match effect {
                Effect::Say(sentence) => said.push(sentence.text),
                Effect::Write(entry) => self.written.push(entry),
                Effect::Hush => said.push("(hush)".into()),
                Effect::Manner(manner) => said.push(format!("(speaks otherwise: {manner:?})")),
                Effect::Wake(at) => self.wake = Some(at),
            }
        }
        said.join(" | ")
    }

    /// What is said to a command that is heard so.
    pub fn how(&mut self, command: Command, certainty: Certainty) -> String {
        self.input(said(command, certainty))
    }

    pub fn say(&mut self, command: Command) -> String {
        self.how(command, Certainty::Sure)
    }

    pub fn minutes_later(&mut self, minutes: u64) -> &mut Self {
        self.now = Moment(self.now.0 + minutes * 60_000);
        self
    }

    /// Reads a value off and confirms it.
    pub fn read(&mut self, value: &str) -> String {
        self.say(Command::Reading {
            value: value.parse().unwrap(),
        });
        self.say(Command::Yes)
    }
}

/// A command that is heard so.
pub fn said(command: Command, certainty: Certainty) -> Input {
    let heard = Heard {
        words: "…".into(),
        certainty,
        evidence: None,
        sound: None,
    };
    Input::Said { command, heard }
}
