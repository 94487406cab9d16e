//! What can be seen of a job at a glance: the same facts that it says aloud, in parts, for whoever draws them.
//! Looking changes nothing.

use super::Job;
use super::state::Phase;
use super::torque::warning_of_wrench;
use crate::Command;
use crate::lines::Lines;
use crate::procedure::{Action, Drive, Gate, Signal, Step, Variant};
use crate::quantity::{Choice, NoWrench, Pattern, SpokenTorque, TorqueSpec, TorqueValue, Warning};
use crate::{Language, Moment, Tone};

/// Where a job stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Place<'a> {
    /// A question before the steps waits for its answer.
    Choosing(&'a Variant),
    /// Things are laid out.
    LayingOut,
    /// A hold point or check holds the job.
    Gate(&'a Gate),
    /// A step is being worked.
    Step(&'a Step),
    /// All is made safe, and the job waits for a part.
    WaitingForPart,
    /// After a pause its reason is asked, before anything else is told.
    AskingWhy,
    /// All steps are done; the job waits to be closed.
    End,
    /// The job is closed.
    Closed,
}

/// The torque of the fasteners at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct TorqueSeen<'a> {
    /// The language of its words.
    pub language: Language,
    /// What is told: on a mark of the wrench that suits, else in the technician's unit.
    pub told: SpokenTorque,
    /// The torque to tighten to, a running torque that was measured included.
    pub wanted: TorqueSpec,
    /// What is still to be added on the wrench and wasn't measured yet, by name.
    pub still_to_add: Option<String>,
    /// What was added, in words.
    pub added: Option<String>,
    /// What to set in each pass; empty where there is one only.
    pub passes: Vec<TorqueValue>,
    /// The pass that is being worked, from 0, once the fasteners are called out.
    pub pass: Option<usize>,
    /// A further turn in degrees, and whether it goes beyond the yield point.
    pub angle: Option<(u16, bool)>,
    /// The technician's wrench, or why none suits; `None` where no wrench is known.
    pub wrench: Option<Result<Choice<'a>, NoWrench>>,
}

/// The order of tightening of the fasteners at hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PatternSeen {
    /// How the next one is chosen.
    pub pattern: Pattern,
    /// How many there are.
    pub count: u16,
    /// The number of the one that was called out, while one is.
    pub next: Option<u16>,
    /// How many have had this pass.
    pub done: u16,
}

impl Job {
    /// Where it stands.
    pub fn place(&self) -> Place<'_> {
        if self.asks_why() {
            return Place::AskingWhy;
        }
        let gate = self.holding().and_then(|id| self.procedure.gates.get(id));
        match self.core.phase {
            Phase::Closed(_) => Place::Closed,
            Phase::LayingOut(_) => Place::LayingOut,
            Phase::Waiting => Place::WaitingForPart,
            Phase::Choosing(number) => match self.procedure.variants.get(number) {
                Some(variant) => Place::Choosing(variant),
                None => Place::LayingOut,
            },
            Phase::Working | Phase::MakingSafe => match (gate, self.step()) {
                (Some(gate), _) => Place::Gate(gate),
                (None, Some(step)) => Place::Step(step),
                (None, None) => Place::End,
            },
        }
    }

    /// What to do here, in words: a question, what to lay out, what to look at before a gate, the step.
    pub fn place_in_words(&self) -> String {
        match self.place() {
            Place::Gate(gate) => self.filled(&gate.ask, None),
            Place::Step(step) => self.filled(&step.text, step.fastener.as_ref()),
            Place::AskingWhy => self.lines().why_pause(),
            Place::Choosing(_)
            | Place::LayingOut
            | Place::WaitingForPart
            | Place::End
            | Place::Closed => self.place_without_step(),
        }
    }

    /// Number of the step at hand among those that apply, and how many there are; `None` before the steps, after
    /// them, and in extra steps, which aren't counted.
    pub fn step_number(&self) -> Option<(usize, usize)> {
        match self.place() {
            Place::Gate(_) | Place::Step(_) => {}
            Place::Choosing(_)
            | Place::LayingOut
            | Place::WaitingForPart
            | Place::AskingWhy
            | Place::End
            | Place::Closed => return None,
        }
        (self.core.frames.len() == 1)
            .then(|| self.number())
            .flatten()
    }

    /// The warning of the step at hand.
    pub fn warning(&self) -> Option<(Signal, String)> {
        let step = self.step()?;
        let warning = step.warning.as_ref()?;
        Some((
            warning.signal,
            self.filled(&warning.text, step.fastener.as_ref()),
        ))
    }

    /// The drive of the fasteners at hand.
    pub fn drive(&self) -> Option<Drive> {
        self.group_here()?.drive
    }

    /// The torque of the fasteners at hand, where this step tightens them.
    pub fn torque(&self) -> Option<TorqueSeen<'_>> {
        if !matches!(self.step()?.action, Action::Tighten(_)) {
            return None;
        }
        let group = self.group_here()?;
        let wanted = self.torque_spec(group)?;
        let add = self.still_to_add(group);
        let passes: Vec<TorqueValue> = (0..group.passes.len())
            .filter_map(|pass| self.pass_torque(group, pass, None))
            .collect();
        let on = self.core.tightening.map(|at| at.pass);
        Some(TorqueSeen {
            language: self.procedure.language,
            told: self.setting(wanted),
            wanted,
            still_to_add: (!add.is_empty()).then(|| add.trim_start().to_owned()),
            added: self.added(group),
            pass: on.filter(|pass| *pass < group.passes.len()),
            passes: if passes.len() > 1 { passes } else { Vec::new() },
            angle: group.angle.map(|angle| (angle, group.to_yield)),
            wrench: self.choice(wanted, None),
        })
    }

    /// The order in which the fasteners at hand are tightened, where this step tightens several in one.
    pub fn pattern(&self) -> Option<PatternSeen> {
        if !matches!(self.step()?.action, Action::Tighten(_)) {
            return None;
        }
        let group = self.group_here()?;
        let pattern = group.pattern?;
        let at = self.core.tightening;
        let on = at.filter(|at| at.pass < group.passes.len());
        let next = on.and_then(|at| {
            pattern
                .order(group.count)
                .get(usize::from(at.done))
                .copied()
        });
        Some(PatternSeen {
            pattern,
            count: group.count,
            next,
            done: on.map_or(0, |at| at.done),
        })
    }

    /// What isn't in place: each thing's name, and how it is left.
    pub fn off(&self) -> Vec<(String, String)> {
        let things =
            self.core.ledger.iter().map(|((_, id), standing)| {
                (self.name_of(id), self.standing_deferred(id, *standing))
            });
        things.collect()
    }

    /// The waits that run: what for, and when they are over. Those that are over are left out.
    pub fn waits(&self) -> Vec<(String, Moment)> {
        let running = self
            .transient
            .timers
            .iter()
            .filter(|timer| timer.due > self.now);
        let mut waits: Vec<_> = running
            .map(|timer| (self.timed(&timer.of), timer.due))
            .collect();
        waits.sort_by_key(|(_, due)| *due);
        waits
    }

    /// Whether only "carry on" and "stop" are listened for.
    pub fn held(&self) -> bool {
        self.core.held
    }

    /// The question of the assistant's own that waits for yes or no, as it was asked.
    pub fn question(&self) -> Option<&str> {
        if !self.question_open() {
            return None;
        }
        let asked = self.transient.last_answer.iter().rev();
        let mut asked = asked.filter(|(tone, _)| *tone == Tone::Question);
        asked.next().map(|(_, text)| text.as_str())
    }

    /// All that can be said now, in words, as "what are my options" tells it: what helps right here first.
    pub fn can_say(&self) -> Vec<String> {
        let listen = self.listen();
        let mut can: Vec<String> = Vec::new();
        if let Some(readback) = &listen.readback {
            can.push(readback.words.clone());
        }
        if let Some(number) = &listen.number {
            can.push(self.lines().number_in(number.unit.as_str()));
        }
        let own = listen.phrases.iter();
        let own = own.filter(|phrase| {
            let answers = matches!(phrase.command, Command::ThatOne { .. });
            // One of the commands says it of any part.
            let named = matches!(phrase.command, Command::PartMissing { .. });
            answers || !(named || phrase.command.is_question())
        });
        can.extend(own.map(|phrase| phrase.words.clone()));
        let mut commands = listen.commands;
        commands.sort_by_key(|command| self.how_remote(command));
        let words = commands.iter();
        can.extend(words.filter_map(|it| super::offers::usual_words(it, self.lines())));
        can
    }
}

impl TorqueSeen<'_> {
    /// What speaks against the wrench, in sentences.
    pub fn warnings(&self) -> Vec<String> {
        let Some(Ok(choice)) = &self.wrench else {
            return Vec::new();
        };
        let grave = choice.warnings.iter().filter(|warning| match warning {
            Warning::CalibrationOverdue { .. } | Warning::ToleranceNotHeld { .. } => true,
            Warning::CalibrationUnknown => false,
        });
        grave
            .map(|warning| warning_of_wrench(&choice.wrench.name, warning, Lines(self.language)))
            .collect()
    }
}
