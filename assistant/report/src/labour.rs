//! How long a job took by the phases of its procedure, and what it was put down for.

use crate::course::{Part, Stage};
use std::time::Duration;
use steps::procedure::{Action, Procedure};
use steps::{Id, PauseReason};

/// Time in which the vehicle was made safe, to give the job up or to wait for a part.
const MAKING_SAFE: &str = "Making safe";

/// Of a procedure that has no phases.
const WHOLE_JOB: &str = "The whole job";

/// A job's time.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Labour {
    /// In the order of the procedure; those that were worked.
    pub phases: Vec<PhaseTime>,
    /// By their reason.
    pub pauses: Vec<PauseTime>,
}

/// How long a phase took, without pauses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhaseTime {
    pub name: String,
    /// As far as it is known.
    pub milliseconds: u64,
    /// Whether it took longer by a time that nobody knows.
    pub unknown: bool,
    /// What the procedure estimates, where it does.
    pub estimate: Option<Duration>,
}

/// The pauses for one reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PauseTime {
    /// `None` where nobody gave one.
    pub reason: Option<PauseReason>,
    /// How many there were.
    pub times: u32,
    /// How long they were together, as far as that is known.
    pub milliseconds: u64,
    /// How many of them were of a length that nobody knows.
    pub unknown: u32,
}

/// A time in which the job was put down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Pause {
    pub reason: Option<PauseReason>,
    /// `None` where nobody knows.
    pub milliseconds: Option<u64>,
}

/// Where a part of a job belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    /// The phase of this number.
    Phase(usize),
    MakingSafe,
}

impl Labour {
    pub(crate) fn of(stages: &[Stage], pauses: &[Pause], procedure: Option<&Procedure>) -> Self {
        let named = procedure.map(|it| it.phases.as_slice()).unwrap_or_default();
        let mut phases: Vec<PhaseTime> = named
            .iter()
            .map(|phase| PhaseTime::none_yet(&phase.name, phase.estimate))
            .collect();
        if phases.is_empty() {
            phases.push(PhaseTime::none_yet(
                WHOLE_JOB,
                procedure.map(|it| it.usual_time),
            ));
        }
        let mut making_safe = PhaseTime::none_yet(MAKING_SAFE, None);
        let mut worked = vec![false; phases.len()];
        let mut made_safe = false;
        for (stage, place) in stages.iter().zip(places(stages, procedure)) {
            match place {
                Place::Phase(number) => {
                    phases[number].add(stage);
                    worked[number] = true;
                }
                Place::MakingSafe => {
                    making_safe.add(stage);
                    made_safe = true;
                }
            }
        }
        let worked = phases.into_iter().zip(worked);
        let phases = worked.filter_map(|(phase, worked)| worked.then_some(phase));
        Self {
            phases: phases.chain(made_safe.then_some(making_safe)).collect(),
            pauses: by_reason(pauses),
        }
    }
}

impl PhaseTime {
    fn none_yet(name: &str, estimate: Option<Duration>) -> Self {
        Self {
            name: name.to_owned(),
            milliseconds: 0,
            unknown: false,
            estimate,
        }
    }

    fn add(&mut self, stage: &Stage) {
        self.milliseconds = self.milliseconds.saturating_add(stage.milliseconds);
        self.unknown |= stage.unknown;
    }
}

/// Where each part belongs: to the phase of its step. A part that isn't one of the job's own steps, such as extra steps or
/// a gate that is asked again, belongs to what it led on to.
fn places(stages: &[Stage], procedure: Option<&Procedure>) -> Vec<Place> {
    let mut last = None;
    let own = stages.iter().map(|stage| {
        if stage.making_safe {
            return Some(Place::MakingSafe);
        }
        let procedure = procedure?;
        let at = step_of(procedure, &stage.part);
        // A gate whose hold was passed before is asked again for a later step.
        let at = at.filter(|at| !matches!(stage.part, Part::Gate(_)) || Some(*at) > last)?;
        last = Some(at);
        Some(Place::Phase(phase_at(procedure, at)))
    });
    let mut places: Vec<Option<Place>> = own.collect();
    let mut next = None;
    for place in places.iter_mut().rev() {
        match place {
            Some(Place::Phase(_)) => next = *place,
            Some(Place::MakingSafe) => {}
            None => *place = next,
        }
    }
    // What leads on to nothing belongs to what was worked before.
    let mut before = Place::Phase(0);
    let place = |place: Option<Place>| {
        if let Some(phase @ Place::Phase(_)) = place {
            before = phase;
        }
        place.unwrap_or(before)
    };
    places.into_iter().map(place).collect()
}

/// The job's own step that a part is.
fn step_of(procedure: &Procedure, part: &Part) -> Option<usize> {
    procedure.steps.iter().position(|step| match part {
        Part::Step(id) => *id == step.id,
        Part::Gate(gate) => step.action.holds_at() == Some(gate),
        Part::Reading(reading) => step.action == Action::Measure(reading.clone()),
    })
}

/// The number of the phase that a step is in.
fn phase_at(procedure: &Procedure, at: usize) -> usize {
    let begins = |from: &Id| procedure.steps.iter().position(|step| step.id == *from);
    let begun = procedure.phases.iter().map(|phase| begins(&phase.from));
    let begun = begun.take_while(|from| from.is_none_or(|from| from <= at));
    begun.count().saturating_sub(1)
}

fn by_reason(pauses: &[Pause]) -> Vec<PauseTime> {
    let reasons = PauseReason::ALL.map(Some).into_iter().chain([None]);
    let of = |reason: Option<PauseReason>| {
        let mut time = PauseTime {
            reason,
            times: 0,
            milliseconds: 0,
            unknown: 0,
        };
        for pause in pauses.iter().filter(|pause| pause.reason == reason) {
            time.times += 1;
            match pause.milliseconds {
                Some(known) => time.milliseconds = time.milliseconds.saturating_add(known),
                None => time.unknown += 1,
            }
        }
        (time.times > 0).then_some(time)
    };
    reasons.filter_map(of).collect()
}
