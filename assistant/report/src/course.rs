//! How one job went: how long each part of it took, what was asked meanwhile, what was refused.
//!
//! # How long did a step take?
//!
//! From the end of the part before it to its own end, without pauses: the time during which the program didn't run, the
//! job was held, or it waited for a part. A record doesn't know its procedure's steps, only what ended: a step reported
//! done, a gate opened, a reading confirmed. Quartiles follow method 7 of Hyndman and Fan.
//!
//! # What is unknown?
//!
//! A clock that is set back takes nothing away; by more than a minute, it leaves the part's time unknown. So does a silence
//! of more than two hours, unless the procedure waits: the machine may have slept, or the clock been set forward, and
//! nobody can tell that from work. Two hours are common practice, no source.

use crate::labour::{Labour, Pause};
use record::{Archive, Event, JobId, RecordError, Report, WholeRecord};
use serde::Serialize;
use std::collections::BTreeSet;
use std::fmt;
use steps::procedure::Procedure;
use steps::{Command, Entry, Id, Input, Mode, Moment, Outcome, PauseReason};

/// A clock may be set back by so many milliseconds without making a time unknown.
const CLOCK_SLACK: u64 = 60_000;

/// The longest silence that is taken for work, in milliseconds.
const MAX_SILENCE: u64 = 2 * 3_600_000;

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
    /// How long it took, without pauses, as far as that is known.
    pub milliseconds: u64,
    /// Whether it took longer by a time that nobody knows.
    pub unknown: bool,
    /// Whether the vehicle was being made safe.
    pub making_safe: bool,
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
    /// Its time by phases, and its pauses.
    pub labour: Labour,
}

impl Course {
    /// How a job went. With its procedure, waits and phases are known.
    ///
    /// # Errors
    /// When there is no such job, or its record isn't whole.
    pub fn read(
        archive: &Archive,
        id: &JobId,
        procedure: Option<&Procedure>,
    ) -> Result<Self, RecordError> {
        Ok(Self::of(&archive.whole(id)?, procedure))
    }

    pub(crate) fn of(record: &WholeRecord, procedure: Option<&Procedure>) -> Self {
        let lines = record.lines.iter();
        let lines = lines.map(|line| (line.seq, line.at, &line.entry));
        let course = Self::begun(record.job.clone(), record.procedure.clone(), record.mode);
        course.followed(&record.events, lines, procedure)
    }

    pub(crate) fn of_report(record: &Report) -> Self {
        let lines = record.lines.iter();
        let lines = lines.map(|line| (line.seq, line.at, &line.entry));
        let course = Self::begun(record.job.clone(), record.procedure.clone(), record.mode);
        course.followed(&record.events, lines, record.full_procedure.as_deref())
    }

    fn begun(job: JobId, procedure: Id, mode: Mode) -> Self {
        Self {
            job,
            procedure,
            mode,
            opened: Moment(0),
            outcome: None,
            stages: Vec::new(),
            labour: Labour::default(),
        }
    }

    fn followed<'a>(
        mut self,
        events: &[(Moment, Event)],
        lines: impl Iterator<Item = (u64, Moment, &'a Entry)>,
        procedure: Option<&Procedure>,
    ) -> Self {
        self.opened = events.first().map_or(Moment(0), |(at, _)| *at);
        let mut follower = Follower {
            clock: Clock::new(self.opened),
            waits: procedure.map(waits).unwrap_or_default(),
            ..Follower::default()
        };
        let mut lines = lines.peekable();
        for (seq, (at, event)) in events.iter().enumerate() {
            match event {
                Event::Input { input } => follower.meanwhile.questions.extend(question(input)),
                Event::Closed { outcome } => self.outcome = Some(*outcome),
                _opening_or_taking_up => {}
            }
            follower.reads(*at, event);
            while let Some((_, at, entry)) = lines.next_if(|(of, ..)| *of == seq as u64) {
                self.stages.extend(follower.follow(at, entry));
            }
        }
        self.labour = Labour::of(&self.stages, &follower.pauses, procedure);
        self
    }
}

/// The steps that are waits.
fn waits(procedure: &Procedure) -> BTreeSet<Id> {
    let branches = procedure.branches.values();
    let branches = branches.flat_map(|branch| &branch.steps);
    let all = procedure.steps.iter().chain(&procedure.make_safe);
    let waits = all
        .chain(branches)
        .filter(|step| step.action.wait().is_some());
    waits.map(|step| step.id.clone()).collect()
}

/// Goes through a job's entries.
#[derive(Debug, Default)]
struct Follower {
    clock: Clock,
    waits: BTreeSet<Id>,
    meanwhile: Meanwhile,
    making_safe: bool,
    /// Since when the job waits for a part, and what was worked before.
    waiting: Option<(Moment, Lap)>,
    pauses: Vec<Pause>,
}

impl Follower {
    /// An entry of the journal was made then.
    fn reads(&mut self, at: Moment, event: &Event) {
        let away = self.waiting.is_some()
            || matches!(
                event,
                Event::TakenUp { .. }
                    | Event::Input {
                        input: Input::Resumed
                    }
            );
        self.clock.reads(at, away);
    }

    /// Follows what came onto the record, which may end a part.
    fn follow(&mut self, at: Moment, entry: &Entry) -> Option<Stage> {
        if let Entry::Resumed { away_seconds } = entry {
            // While the job waits for a part, that is the pause.
            if self.waiting.is_none() {
                self.pause(Some(*away_seconds).filter(|_| !self.clock.set_back));
            }
        } else if let Entry::HeldOn { seconds } = entry {
            self.pause(*seconds);
        } else if let Entry::PausedFor { reason } = entry {
            if let Some(last) = self.pauses.last_mut() {
                last.reason = Some(*reason);
            }
        } else if let Entry::PartMissing { .. } | Entry::Abandoning = entry {
            self.making_safe = true;
            self.waited(at);
        } else if let Entry::Waiting { .. } = entry {
            self.waiting = Some((at, self.clock.lap()));
        } else if let Entry::PartArrived = entry {
            self.making_safe = false;
            self.waited(at);
        } else if let Entry::GateRefused { .. } = entry {
            self.meanwhile.refusals += 1;
        } else if let Some(part) = Part::ended_by(entry) {
            return Some(self.ended(part, entry));
        }
        None
    }

    fn pause(&mut self, seconds: Option<u64>) {
        let milliseconds = seconds.map(|it| it.saturating_mul(1000));
        self.clock.stood_still(milliseconds.unwrap_or_default());
        if milliseconds != Some(0) {
            self.pauses.push(Pause {
                reason: None,
                milliseconds,
            });
        }
    }

    /// The job waits for a part no longer.
    fn waited(&mut self, until: Moment) {
        if let Some((since, before)) = self.waiting.take() {
            self.pauses.push(Pause {
                reason: Some(PauseReason::Part),
                milliseconds: until.0.checked_sub(since.0),
            });
            self.clock.lap = before;
        }
    }

    fn ended(&mut self, part: Part, entry: &Entry) -> Stage {
        let Meanwhile {
            questions,
            refusals,
        } = std::mem::take(&mut self.meanwhile);
        let lap = self.clock.lap();
        let waits = matches!(&part, Part::Step(id) if self.waits.contains(id));
        let (milliseconds, unknown) = match waits {
            true => (lap.worked.saturating_add(lap.silent), lap.unknown),
            false => (lap.worked, lap.unknown || lap.silent > 0),
        };
        Stage {
            part,
            milliseconds,
            unknown,
            making_safe: self.making_safe,
            questions,
            refusals,
            out_of_limits: matches!(entry, Entry::Read { within: false, .. }),
        }
    }
}

/// What happened since the last part's end.
#[derive(Debug, Default)]
struct Meanwhile {
    questions: Vec<&'static str>,
    refusals: u32,
}

/// The time since the last part's end, in milliseconds.
#[derive(Debug, Clone, Copy, Default)]
struct Lap {
    worked: u64,
    /// Silences too long to be taken for work.
    silent: u64,
    /// Whether the clock was set back.
    unknown: bool,
}

/// Adds up the time since the last part's end.
#[derive(Debug, Default)]
struct Clock {
    last: Moment,
    /// Whether the newest entry was made before the one before it.
    set_back: bool,
    lap: Lap,
}

impl Clock {
    fn new(at: Moment) -> Self {
        Self {
            last: at,
            ..Self::default()
        }
    }

    /// `away` tells that the time until then was, or may have been, no work.
    fn reads(&mut self, at: Moment, away: bool) {
        let passed = at.0.saturating_sub(self.last.0);
        let Lap {
            worked,
            silent,
            unknown,
        } = &mut self.lap;
        match passed > MAX_SILENCE && !away {
            true => *silent = silent.saturating_add(passed),
            false => *worked = worked.saturating_add(passed),
        }
        self.set_back = at.0.saturating_add(CLOCK_SLACK) < self.last.0;
        *unknown |= self.set_back && !away;
        self.last = at;
    }

    fn stood_still(&mut self, milliseconds: u64) {
        let silent = self.lap.silent.min(milliseconds);
        self.lap.silent -= silent;
        self.lap.worked = self.lap.worked.saturating_sub(milliseconds - silent);
    }

    fn lap(&mut self) -> Lap {
        std::mem::take(&mut self.lap)
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
        | Command::PartMissing { .. }
        | Command::PartHere
        | Command::PauseReason { .. }
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
