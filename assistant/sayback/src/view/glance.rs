//! What the glance page shows of a job, made from the job itself: the same things that it says aloud, in parts.

use page::glance::{
    GateShown, Glance, HeardShown, JobShown, OffShown, PatternName, PatternShown, PlaceShown,
    QuestionShown, SaidShown, ShapeShown, SizeShown, StepKind, StepShown, TimerShown, TorqueShown,
    WarningShown, WrenchShown,
};
use std::f64::consts::TAU;
use steps::job::{PatternSeen, Place, TorqueSeen};
use steps::procedure::{Action, Drive, Step, Weight};
use steps::quantity::{Depth, DriveShape, Pattern, Size, TorqueUnit, TorqueValue};
use steps::{Job, Mode, Moment};
use uom::si::length::millimeter;
use uom::si::torque::newton_meter;

/// What was heard and said last, which the job itself doesn't know.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Last {
    pub heard: Option<HeardShown>,
    pub said: Option<SaidShown>,
    /// Whether the voice was muted.
    pub muted: bool,
}

/// The glance at a job that is called `name` on record.
pub fn glance(job: &Job, name: &str, last: &Last, now: Moment) -> Glance {
    let place = job.place();
    Glance {
        version: 0,
        at_ms: now.0,
        job: Some(job_shown(job, name)),
        step: Some(step_shown(job, &place)),
        warning: job.warning().map(|(signal, text)| WarningShown {
            signal: signal.into(),
            text,
        }),
        gate: gate_shown(job, &place),
        question: question_shown(job, &place),
        size: job.drive().map(|drive| size_shown(drive, &place)),
        torque: job.torque().map(|torque| torque_shown(&torque)),
        pattern: job.pattern().map(|pattern| pattern_shown(&pattern)),
        off: job
            .off()
            .into_iter()
            .map(|(what, state)| OffShown { what, state })
            .collect(),
        timers: job
            .waits()
            .into_iter()
            .map(|(what, ends)| TimerShown {
                what,
                ends_at_ms: ends.0,
            })
            .collect(),
        heard: last.heard.clone(),
        said: last.said.clone(),
        say_now: job.can_say(),
        held: job.held(),
        muted: last.muted,
    }
}

fn job_shown(job: &Job, name: &str) -> JobShown {
    JobShown {
        name: name.to_owned(),
        title: job.procedure().title.clone(),
        vehicle: job.procedure().vehicle.clone(),
        rehearsal: job.settings().mode == Mode::Rehearsal,
        recordings: job.settings().mode == Mode::Recordings,
        by: job.by().map(str::to_owned),
        unit: Some(job.settings().unit.to_string()),
        outcome: job.outcome().map(Into::into),
    }
}

fn step_shown(job: &Job, place: &Place<'_>) -> StepShown {
    StepShown {
        number: job.step_number().map(|(number, _)| number),
        of: job.step_number().map(|(_, of)| of),
        text: job.place_in_words(),
        kind: match place {
            Place::Choosing(_) => StepKind::Choose,
            Place::LayingOut => StepKind::LayOut,
            Place::Gate(gate) => match gate.weight {
                Weight::HoldPoint => StepKind::HoldPoint,
                Weight::Check => StepKind::Check,
            },
            Place::Step(step) => StepKind::from(&step.action),
            Place::WaitingForPart => StepKind::Wait,
            Place::AskingWhy => StepKind::Ask,
            Place::End | Place::Closed => StepKind::End,
        },
    }
}

fn gate_shown(job: &Job, place: &Place<'_>) -> Option<GateShown> {
    let gate = match place {
        Place::Gate(gate) => gate,
        Place::Choosing(_)
        | Place::LayingOut
        | Place::Step(_)
        | Place::WaitingForPart
        | Place::AskingWhy
        | Place::End
        | Place::Closed => return None,
    };
    let fact = job.procedure().facts.get(&gate.fact);
    let language = job.procedure().language;
    Some(GateShown {
        readback: gate.readback_written.clone(),
        varying_word: job.colour_asked().map(|colour| colour.word(language)),
        ask: job.place_in_words(),
        means: fact.map(|fact| fact.means.clone()).unwrap_or_default(),
        signal: gate.is_hold_point().then(|| gate.signal.into()),
        check: !gate.is_hold_point(),
    })
}

/// What waits for an answer: the assistant's own question goes before that of the procedure.
fn question_shown(job: &Job, place: &Place<'_>) -> Option<QuestionShown> {
    let yes_or_no = |text: String| QuestionShown {
        text,
        answers: ["yes", "no"].map(str::to_owned).to_vec(),
        number: None,
    };
    let open = |text: String, number| QuestionShown {
        text,
        answers: Vec::new(),
        number,
    };
    if let Some(asked) = job.question() {
        return Some(yes_or_no(asked.to_owned()));
    }
    if job.listen().dictation {
        return Some(open("Go ahead with the note.".to_owned(), None));
    }
    match place {
        Place::Choosing(variant) => Some(QuestionShown {
            text: variant.ask.clone(),
            answers: variant
                .options
                .iter()
                .map(|(_, words)| words.clone())
                .collect(),
            number: None,
        }),
        Place::Step(step) => match &step.action {
            Action::Ask { .. } => Some(yes_or_no(job.place_in_words())),
            Action::Measure(id) => job.procedure().readings.get(id).map(|reading| {
                let number = format!("{} to {} {}", reading.least, reading.most, reading.unit);
                open(job.place_in_words(), Some(number))
            }),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Tighten(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Hold(_) => None,
        },
        Place::AskingWhy => Some(open(job.place_in_words(), None)),
        Place::LayingOut | Place::Gate(_) | Place::WaitingForPart | Place::End | Place::Closed => {
            None
        }
    }
}

fn size_shown(drive: Drive, place: &Place<'_>) -> SizeShown {
    let tools = match place {
        Place::Step(Step { tools, .. }) => tools.as_slice(),
        Place::Choosing(_)
        | Place::LayingOut
        | Place::Gate(_)
        | Place::WaitingForPart
        | Place::AskingWhy
        | Place::End
        | Place::Closed => &[],
    };
    let deep = match drive.depth {
        Some(Depth::Deep) => Some("deep socket".to_owned()),
        Some(Depth::Standard) | None => None,
    };
    SizeShown {
        label: drive.size.to_string(),
        shape: match drive.shape {
            DriveShape::Hex => ShapeShown::Hex,
            DriveShape::HexSocket => ShapeShown::HexSocket,
            DriveShape::TwelvePoint => ShapeShown::TwelvePoint,
            DriveShape::SixLobe => ShapeShown::SixLobe,
            DriveShape::Slotted => ShapeShown::Slotted,
        },
        shape_name: drive.shape.name().to_owned(),
        across_flats_mm: match drive.size {
            Size::Millimetres(width) => Some(width.to_f64()),
            Size::InchFraction(..) => drive.size.length().map(|it| it.get::<millimeter>()),
            Size::Number(_) => None,
        },
        also: deep.into_iter().chain(tools.iter().cloned()).collect(),
    }
}

fn torque_shown(torque: &TorqueSeen<'_>) -> TorqueShown {
    let target = torque.wanted.target();
    // What is told in this unit is shown in it, so that eye and ear get the same number.
    let told = [Some(torque.told.set), torque.told.source];
    let in_unit = |unit: TorqueUnit| -> TorqueValue {
        let told = told.into_iter().flatten().find(|told| told.unit == unit);
        told.unwrap_or_else(|| target.on_a_scale_of(unit).set)
    };
    let (low, high) = (torque.wanted.low(), torque.wanted.high());
    let warnings = torque.warnings();
    let wrench = match &torque.wrench {
        Some(Ok(choice)) => {
            let scale = choice.wrench.scale;
            Some(WrenchShown {
                name: choice.wrench.name.clone(),
                unit: scale.unit().to_string(),
                least: scale.lowest().value.to_f64(),
                most: scale.highest().value.to_f64(),
                setting: choice.setting.set.value.to_f64(),
                warning: (!warnings.is_empty()).then(|| warnings.join(" ")),
            })
        }
        Some(Err(_)) | None => None,
    };
    let no_wrench = match &torque.wrench {
        Some(Err(none)) => Some(format!("None of your torque wrenches suits. {none}.")),
        Some(Ok(_)) | None => None,
    };
    TorqueShown {
        told: torque.told.to_string(),
        newton_metre: in_unit(TorqueUnit::NewtonMetre).to_string(),
        foot_pound: in_unit(TorqueUnit::PoundFoot).to_string(),
        value_newton_metre: target.quantity().get::<newton_meter>(),
        limits: (low != high).then(|| format!("{}–{high}", low.value)),
        added: torque.still_to_add.clone().or_else(|| torque.added.clone()),
        wrench,
        no_wrench,
        passes: torque.passes.iter().map(ToString::to_string).collect(),
        pass: torque.pass.map(|pass| pass + 1),
        angle: torque.angle.map(|(degrees, to_yield)| match to_yield {
            true => format!("{degrees}°, beyond its yield"),
            false => format!("{degrees}°"),
        }),
    }
}

fn pattern_shown(pattern: &PatternSeen) -> PatternShown {
    let count = pattern.count;
    let place = |number: u16| {
        let angle = TAU * f64::from(number) / f64::from(count.max(1));
        PlaceShown {
            x: angle.sin(),
            y: -angle.cos(),
        }
    };
    PatternShown {
        name: match pattern.pattern {
            Pattern::CrissCross => PatternName::CrissCross,
            Pattern::Star => PatternName::Star,
            Pattern::InTurn => PatternName::InTurn,
        },
        count,
        order: pattern.pattern.order(count),
        places: (0..count).map(place).collect(),
        next: pattern.next,
        done: pattern.done,
    }
}
