//! Taking back what was just said.
//!
//! People notice a slip right after they have spoken: "no, wait, it moved". For [`CORRECTION_WINDOW`] after
//! something was kept, a correction undoes it. A gate's fact becomes untrue again and the gate asks anew; until
//! the window is over, the job stays at the gate and announces nothing that needs the fact. A reading, a note, a
//! handover or a step that carries a warning is undone as if it had not been told.

use super::state::{Core, Known, Transient};
use super::{Job, Out};
use crate::codes::VoidReason;
use crate::procedure::Action;
use crate::{Command, Effect, Entry, Heard, Id, Moment, TakenBack, Tone};
use serde::Serialize;
use std::hash::Hash;
use std::time::Duration;

/// How long a correction is listened for. A sound tells at once that a gate has opened; what else is said of it waits until
/// the window is over, so that nobody has to speak over it.
///
/// People leave a second of silence before somebody speaks (G. Jefferson, "Preliminary notes on a possible metric which
/// provides for a 'standard maximum' silence of approximately one second in conversation", 1989). A second more is for
/// looking once more at what was just called safe, and one for whoever is slow; neither is measured.
pub const CORRECTION_WINDOW: Duration = Duration::from_secs(3);

/// What was just kept and can still be taken back.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Recent {
    /// A gate was opened; the step behind it hasn't been announced yet.
    Gate { gate: Id, until: Moment },
    /// Something else; the job as it was before.
    Other {
        what: TakenBack,
        until: Moment,
        before: Box<Snapshot>,
    },
}

impl Recent {
    /// What of it tells states apart, for [`Job::gate_key`]. The job as it was is left out: it is a state of its own, and
    /// taking something back leads there, less what became untrue.
    pub(super) fn gate_key(&self) -> impl Hash + '_ {
        match self {
            Self::Gate { gate, .. } => (Some(gate), None),
            Self::Other { what, .. } => (None, Some(what)),
        }
    }
}

/// A job as it was.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Snapshot {
    core: Core,
    known: Known,
    transient: Transient,
}

#[cfg(test)]
impl Snapshot {
    /// As if the sentences were others.
    pub(super) fn reword(&mut self) {
        for (_, text) in &mut self.transient.last_answer {
            text.push_str(" And so on.");
        }
    }
}

impl Job {
    /// The gate that was opened so recently that it may still be taken back.
    pub(super) fn gate_just_opened(&self) -> Option<&Id> {
        match &self.recent {
            Some(Recent::Gate { gate, .. }) => Some(gate),
            Some(Recent::Other { .. }) | None => None,
        }
    }

    /// Whether something may be taken back now.
    pub fn may_take_back(&self) -> bool {
        self.recent.is_some()
    }

    /// Whether this takes back what was just said. At a gate a plain "no" or "wait" does; elsewhere they may answer
    /// the question that came next.
    pub fn is_correction(&self, command: &Command) -> bool {
        match &self.recent {
            Some(Recent::Gate { .. }) => matches!(
                command,
                Command::TakeBack
                    | Command::No
                    | Command::NotYet
                    | Command::NotSo
                    | Command::HoldOn
                    | Command::Back
            ),
            Some(Recent::Other { .. }) => *command == Command::TakeBack,
            None => false,
        }
    }

    pub(super) fn snapshot(&self) -> Option<Box<Snapshot>> {
        self.settings.corrections.then(|| {
            Box::new(Snapshot {
                core: self.core.clone(),
                known: self.known.clone(),
                transient: self.transient.clone(),
            })
        })
    }

    /// Remembers what an input led to, if it can be taken back. Whatever else has changed the job since ends the window of
    /// what was kept before.
    pub(super) fn remember(&mut self, before: Option<Box<Snapshot>>, out: &Out) {
        let Some(before) = before else {
            return;
        };
        let changed = before.core != self.core;
        let moved = before.core.frames != self.core.frames || before.core.phase != self.core.phase;
        let warned = warned_step(&before, self);
        let what = out.effects.iter().find_map(|effect| match effect {
            Effect::Write(Entry::Read { reading, .. }) => Some(TakenBack::Reading {
                reading: reading.clone(),
            }),
            Effect::Write(Entry::Noted { .. }) => Some(TakenBack::Note),
            Effect::Write(Entry::TakenOver { person, .. }) => Some(TakenBack::TakeOver {
                person: person.clone(),
            }),
            Effect::Write(Entry::Done { step, .. }) if Some(step) == warned.as_ref() => {
                Some(TakenBack::Step { step: step.clone() })
            }
            _other => None,
        });
        match (what, &self.recent) {
            (Some(what), _) => {
                self.recent = Some(Recent::Other {
                    what,
                    until: self.now.after(CORRECTION_WINDOW),
                    before,
                });
            }
            (None, Some(Recent::Other { .. })) if changed => self.recent = None,
            // Somebody gave the job up, say: nobody stands at that gate any more.
            (None, Some(Recent::Gate { .. })) if moved => self.recent = None,
            (None, _) => {}
        }
    }

    /// Takes back what was just kept, and asks again.
    pub(super) fn take_back(&mut self, heard: &Heard, out: &mut Out) {
        let words = &heard.words;
        match self.recent.take() {
            Some(Recent::Gate { gate, .. }) => {
                let fact = self.procedure.gates.get(&gate).map(|it| it.fact.clone());
                if let Some(fact) = fact {
                    let words = words.clone();
                    self.void(&fact, VoidReason::TakenBack { words }, out);
                }
                self.core.pending = None;
                self.asked = None;
            }
            Some(Recent::Other { what, before, .. }) => {
                // The step at hand may have been begun; and what became untrue meanwhile stays untrue.
                self.leave(out);
                let still_true = self.core.facts.clone();
                self.core = before.core;
                self.core.facts.retain(|fact| still_true.contains(fact));
                self.core.pending = None;
                self.known = before.known;
                self.transient = before.transient;
                out.write(Entry::TakenBack {
                    what,
                    words: words.clone(),
                });
            }
            None => {
                out.say(Tone::Answer, self.lines().nothing_to_take_back());
                return;
            }
        }
        out.say(Tone::Answer, self.lines().taken_back());
        self.tell_place(out);
    }

    /// What is said while a gate that was just opened can still be closed again. Returns true if nothing more is to
    /// be done about it.
    pub(super) fn said_after_opening(&mut self, command: &Command, out: &mut Out) -> bool {
        let Some(opened) = self.gate_just_opened() else {
            return false;
        };
        match command {
            // The step comes by itself in a moment.
            Command::Next => true,
            Command::Yes => self.core.pending.is_none(),
            Command::Readback { gate, .. } if gate == opened => {
                out.say(Tone::Answer, self.lines().heard_and_recorded());
                true
            }
            _other => false,
        }
    }

    /// Ends the window once its time has come, unless a question is open: then goes on behind the gate.
    pub(super) fn end_correction_window(&mut self, out: &mut Out) {
        let (Some(Recent::Gate { until, .. } | Recent::Other { until, .. }), None) =
            (&self.recent, &self.core.pending)
        else {
            return;
        };
        if *until > self.now || self.core.held {
            return;
        }
        if let Some(Recent::Gate { gate, .. }) = self.recent.take() {
            self.asked = None;
            self.go_on_behind(&gate, out);
        }
    }

    /// Goes on behind a gate that has opened.
    pub(super) fn go_on_behind(&mut self, gate: &Id, out: &mut Out) {
        out.say(Tone::Answer, self.lines().heard_and_recorded());
        let at_its_own_hold = self
            .current()
            .is_some_and(|step| step.action == Action::Hold(gate.clone()));
        if at_its_own_hold {
            self.advance(out);
        } else {
            self.tell_place(out);
        }
    }

    /// When the window ends.
    pub(super) fn correction_window_ends(&self) -> Option<Moment> {
        match &self.recent {
            Some(Recent::Gate { until, .. } | Recent::Other { until, .. }) => Some(*until),
            None => None,
        }
    }
}

/// The step that was at hand before, where it carries a warning.
fn warned_step(before: &Snapshot, job: &Job) -> Option<Id> {
    let frame = before.core.frames.last()?;
    let step = job.list(&frame.list).get(frame.at)?;
    step.warning.as_ref().map(|_| step.id.clone())
}
