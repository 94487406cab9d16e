//! Pauses: how long they were, and why, which is asked once when the work goes on.
//!
//! While the reason is asked, no gate's words are listened for, so that none can be mistaken for an answer. Whatever else
//! is said skips the question, and the job tells where it stands.

use super::state::Pending;
use super::{Job, Out};
use crate::pause::{PauseReason, is_worth_asking, length};
use crate::{Command, Entry, Heard, Listen, Moment, Tone};
use std::time::Duration;

impl Job {
    /// Whether the reason of a pause is being asked.
    pub(super) fn asks_why(&self) -> bool {
        self.core.pending == Some(Pending::PauseReason)
    }

    /// "Carry on", after "hold on".
    pub(super) fn carry_on(&mut self, now: Moment, out: &mut Out) {
        self.core.held = false;
        self.core.pending = None;
        let since = self.transient.held_since.take();
        let Some(since) = since.filter(|_| self.settings.pauses) else {
            self.tell_place(out);
            return;
        };
        let held = length(since, now);
        out.write(Entry::HeldOn {
            seconds: held.map(|it| it.as_secs()),
        });
        self.ask_why(held, out);
    }

    /// Asks why the job was put down, where that is worth asking, or tells where it stands. Of a job that waits for a part
    /// it is known.
    pub(super) fn ask_why(&mut self, length: Option<Duration>, out: &mut Out) {
        let asks = self.settings.pauses && self.core.missing.is_none() && is_worth_asking(length);
        match asks {
            true => {
                self.core.pending = Some(Pending::PauseReason);
                out.say(Tone::Question, self.lines().why_pause());
            }
            false => self.tell_place(out),
        }
    }

    /// All that may be said while the reason is asked.
    pub(super) fn reasons_to_say(&self, mut listen: Listen) -> Listen {
        let reasons = PauseReason::ALL.map(|reason| Command::PauseReason { reason });
        listen.commands = reasons.to_vec();
        listen.commands.extend([
            Command::Skip,
            Command::CarryOn,
            Command::SayAgain,
            Command::Help,
            Command::HoldOn,
            Command::Stop,
        ]);
        listen
    }

    /// Takes what is said while the reason is asked. Returns true if nothing more is to be done about it.
    pub(super) fn said_why(&mut self, command: &Command, heard: &Heard, out: &mut Out) -> bool {
        if !self.asks_why() {
            return false;
        }
        match command {
            Command::PauseReason { reason } => {
                out.write(Entry::PausedFor { reason: *reason });
                out.say(Tone::Answer, self.lines().noted());
            }
            // The question stays open, or the job is put down again.
            Command::SayAgain
            | Command::Slower
            | Command::Manner { .. }
            | Command::HoldOn
            | Command::Stop => return false,
            Command::Help => {
                self.help(out);
                return true;
            }
            // Nobody was asked for it yet.
            Command::Readback { .. } => self.said_before_asked(heard, out),
            _skipped => {}
        }
        self.core.pending = None;
        self.tell_place(out);
        true
    }
}
