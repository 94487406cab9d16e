//! How one job went: how long each part of it took, what was asked meanwhile, what was refused.
//!
//! # How long did a step take?
//!
//! From the end of the part before it to its own end, without the time during which the program didn't run. A clock
//! that is set back takes nothing away. A record doesn't know its procedure's steps, only what ended: a step reported
//! done, a gate opened, a reading confirmed. Quartiles follow method 7 of Hyndman and Fan.

use record::{Archive, Event, JobId, Line, RecordError, WholeRecord};
use serde::Serialize;
use std::fmt;
use steps::{Command, Entry, Id, Input, Mode, Moment, Outcome};

/// A part of a job that the record tells the end of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind", content = "id")]
pub enum Part {
    /// A step, told done.
    Step(Id),
    /// A hold point, until its gate opened.
    Gate(Id),
    /// A value, until it was measured and confirmed.
    Reading(Id),
}

impl Part {
    /// The part that this entry ends.
    fn ended_by(entry: &Entry) -> Option<Self> {
        if let Entry::Done { step, .. } | Entry::Answered { step, .. } = entry {
            Some(Self::Step(step.clone()))
        } else if let Entry::GateOpened { gate, .. } = entry {
            Some(Self::Gate(gate.clone()))
        } else if let Entry::Read { reading, .. } = entry {
            Some(Self::Reading(reading.clone()))
        } else {
            None
        }
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Step(id) => write!(f, "{id}"),
            Self::Gate(id) => write!(f, "hold point {id}"),
            Self::Reading(id) => write!(f, "reading {id}"),
        }
    }
}

/// One part of one job, from the end of the part before to its own end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stage {
    /// Which part.
    pub part: Part,
    /// How long it took, without the time in which the program didn't run.
    pub milliseconds: u64,
    /// What was asked meanwhile, in order.
    pub questions: Vec<&'static str>,
    /// How often a gate stayed closed meanwhile.
    pub refusals: u32,
    /// Whether it is a reading that came out of its limits.
    pub out_of_limits: bool,
}

/// How one job went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Course {
    /// The job.
    pub job: JobId,
    /// The procedure.
    pub procedure: Id,
    /// Work or rehearsal.
    pub mode: Mode,
    /// When it was opened.
    pub opened: Moment,
    /// How it ended; `None` while it is open.
    pub outcome: Option<Outcome>,
    /// Its parts as they were worked. One that was gone back to is there again.
    pub stages: Vec<Stage>,
}

impl Course {
    /// How a job went.
    ///
    /// # Errors
    /// When there is no such job, or its record isn't whole.
    pub fn read(archive: &Archive, id: &JobId) -> Result<Self, RecordError> {
        Ok(Self::of(&archive.whole(id)?))
    }

    fn of(record: &WholeRecord) -> Self {
        let mut course = Self {
            job: record.job.clone(),
            procedure: record.procedure.clone(),
            mode: record.mode,
            opened: record.events.first().map_or(Moment(0), |(at, _)| *at),
            outcome: None,
            stages: Vec::new(),
        };
        let mut lines = record.lines.iter().peekable();
        let mut clock = Clock::new(course.opened);
        let mut meanwhile = Meanwhile::default();
        for (seq, (at, event)) in record.events.iter().enumerate() {
            match event {
                Event::Input { input } => meanwhile.questions.extend(question(input)),
                Event::Closed { outcome } => course.outcome = Some(*outcome),
                _opening_or_taking_up => {}
            }
            clock.reads(*at);
            while let Some(line) = lines.next_if(|line| line.seq == seq as u64) {
                course.follow(line, &mut clock, &mut meanwhile);
            }
        }
        course
    }

    fn follow(&mut self, line: &Line, clock: &mut Clock, meanwhile: &mut Meanwhile) {
        if let Entry::Resumed { away_seconds } = &line.entry {
            clock.stood_still(away_seconds.saturating_mul(1000));
        } else if let Entry::GateRefused { .. } = &line.entry {
            meanwhile.refusals += 1;
        } else if let Some(part) = Part::ended_by(&line.entry) {
            let Meanwhile {
                questions,
                refusals,
            } = std::mem::take(meanwhile);
            self.stages.push(Stage {
                part,
                milliseconds: clock.lap(),
                questions,
                refusals,
                out_of_limits: matches!(line.entry, Entry::Read { within: false, .. }),
            });
        }
    }
}

/// What happened since the last part's end.
#[derive(Debug, Default)]
struct Meanwhile {
    questions: Vec<&'static str>,
    refusals: u32,
}

/// Adds up the time since the last part's end. A clock that is set back adds nothing, rather than taking
/// away what was worked before.
#[derive(Debug)]
struct Clock {
    last: Moment,
    worked: u64,
}

impl Clock {
    fn new(at: Moment) -> Self {
        Self {
            last: at,
            worked: 0,
        }
    }

    fn reads(&mut self, at: Moment) {
        self.worked = self.worked.saturating_add(at.0.saturating_sub(self.last.0));
        self.last = at;
    }

    fn stood_still(&mut self, milliseconds: u64) {
        self.worked = self.worked.saturating_sub(milliseconds);
    }

    fn lap(&mut self) -> u64 {
        std::mem::take(&mut self.worked)
    }
}

/// The question that an input is, in a few words. What wasn't understood counts as one: the technician
/// wanted something that the procedure had no words for.
fn question(input: &Input) -> Option<&'static str> {
    match input {
        Input::Said { command, .. } => asked(command),
        Input::NotUnderstood { .. } => Some("(not understood)"),
        Input::Begin | Input::Woke | Input::Resumed => None,
    }
}

fn asked(command: &Command) -> Option<&'static str> {
    Some(match command {
        Command::SayAgain => "say again",
        Command::Slower => "slower",
        Command::Manner { .. } => "speak otherwise",
        Command::TellMeMore => "tell me more",
        Command::WhereAmI => "where am I",
        Command::WhatsNext => "what's next",
        Command::WhatSize => "what size",
        Command::WhatTorque => "what torque",
        Command::InUnit { .. } => "in another unit",
        Command::WrenchSetting => "wrench setting",
        Command::WithAdapter => "with adapter",
        Command::WhichPass => "which pass",
        Command::WhatLoad => "what load",
        Command::WaitsLeft => "waits left",
        Command::HowLongLeft => "how long is left",
        Command::HowMany => "how many",
        Command::WhatTool => "what tool",
        Command::Threads => "dry or oiled",
        Command::Reuse => "use again or not",
        Command::About { .. } | Command::AboutAny { .. } | Command::ThatOne { .. } => {
            "another fastener"
        }
        Command::After { .. } => "what comes after",
        Command::ReadStep { .. } => "another step",
        Command::PartsLeft => "parts left",
        Command::NoRoom => "no room for the torque wrench",
        Command::Skip => "skip it",
        Command::Why => "why",
        Command::ReadTheWarning => "read the warning",
        Command::WhatsOff => "what's off",
        Command::NextFastener => "which fastener next",
        Command::Help => "help",
        Command::Trouble | Command::Helper { .. } => "trouble",
        Command::Start { .. }
        | Command::Choose { .. }
        | Command::Next
        | Command::Okay
        | Command::Back
        | Command::LaidOut
        | Command::Note
        | Command::Dictation { .. }
        | Command::Yes
        | Command::No
        | Command::NotYet
        | Command::NotSo
        | Command::TakeBack
        | Command::HoldOn
        | Command::CarryOn
        | Command::Stop
        | Command::Finish
        | Command::Abandon
        | Command::Reading { .. }
        | Command::Readback { .. }
        | Command::Defer { .. }
        | Command::TakeOver { .. }
        | Command::SignOff { .. } => return None,
    })
}
