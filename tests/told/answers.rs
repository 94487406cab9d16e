//! What the shipped jobs answer to "what torque" and "what size", for every wrench.

use sayback::library::Shelf;
use sayback::work::technician::{Talk, take_for_good};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};
use steps::procedure::FastenerGroup;
use steps::quantity::{TorqueUnit, TorqueValue};
use steps::{Certainty, Command, Effect, Heard, Id, Input, Job, Mode, Moment, Procedure, Settings};
use words::now::StateGrammar;

/// The units that torque wrenches are marked in.
pub const WRENCHES: [TorqueUnit; 4] = [
    TorqueUnit::NewtonMetre,
    TorqueUnit::PoundFoot,
    TorqueUnit::PoundInch,
    TorqueUnit::KilogramForceMetre,
];

/// Both answers that a torque may have: the first option of every variant, and the last.
#[derive(Debug, Clone, Copy)]
enum Options {
    First,
    Last,
}

/// A sentence that tells a number, and what the procedure says that number is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Answer {
    /// As it is shown.
    pub sentence: String,
    /// What it must begin with.
    pub begins: String,
    /// Where it is from, for whoever reads a failure.
    pub from: String,
}

/// All that the jobs say, and the answers among it.
pub struct Told {
    /// What each group's torque is called in each unit, and its size: sentence to answer.
    pub answers: BTreeMap<String, Answer>,
    /// Every sentence said on the way.
    pub said: Vec<String>,
}

/// Goes through the shipped jobs with every wrench and every torque, asking at each step.
pub fn told() -> &'static Told {
    static TOLD: OnceLock<Told> = OnceLock::new();
    TOLD.get_or_init(go_through_all)
}

fn go_through_all() -> Told {
    let mut told = Told {
        answers: BTreeMap::new(),
        said: Vec::new(),
    };
    for name in Shelf::Shipped.names().unwrap() {
        let procedure = Arc::new(Shelf::Shipped.load(&name).unwrap());
        let mut asked: Vec<(Id, TorqueValue)> = Vec::new();
        for unit in WRENCHES {
            for options in [Options::First, Options::Last] {
                go_through(&procedure, unit, options, &mut told, &mut asked);
            }
        }
        // Nothing was left out: every group that has a torque, every torque that it may have.
        for (id, group) in &procedure.fasteners {
            for torque in group.torque.iter().flat_map(|torque| torque.all()) {
                let times = asked
                    .iter()
                    .filter(|it| **it == (id.clone(), torque.target()));
                assert!(times.count() >= WRENCHES.len(), "{name}: {id}, {torque}");
            }
        }
    }
    told
}

fn go_through(
    procedure: &Arc<Procedure>,
    unit: TorqueUnit,
    options: Options,
    told: &mut Told,
    asked: &mut Vec<(Id, TorqueValue)>,
) {
    let settings = Settings {
        mode: Mode::Rehearsal,
        unit,
        ..whole_jobs::settings()
    };
    let mut chosen: BTreeMap<Id, Id> = BTreeMap::new();
    for variant in &procedure.variants {
        let option = match options {
            Options::First => variant.options.first(),
            Options::Last => variant.options.last(),
        };
        chosen.insert(variant.id.clone(), option.unwrap().0.clone());
    }
    let mut talk = Talk {
        choose: chosen
            .iter()
            .map(|(variant, option)| (variant.to_string(), option.to_string()))
            .collect(),
        ..Talk::default()
    };
    let mut job = Job::new(procedure.clone(), settings);
    let mut now = Moment(0);
    told.said.extend(sentences(job.take(Input::Begin, now)));
    while let Some(words) = talk.says(&job) {
        ask(&mut job, now, &chosen, unit, told, asked);
        let grammar = StateGrammar::compile(&job.listen()).unwrap();
        let command = grammar.parse(&words).unwrap();
        let effects = take_for_good(&mut job, said(command), &mut now);
        told.said.extend(sentences(effects));
    }
    assert!(job.outcome().is_some(), "{} ends", procedure.id);
}

/// Asks for the torque and the size, where the step has a fastener and nothing else is asked.
fn ask(
    job: &mut Job,
    now: Moment,
    chosen: &BTreeMap<Id, Id>,
    unit: TorqueUnit,
    told: &mut Told,
    asked: &mut Vec<(Id, TorqueValue)>,
) {
    let Some(id) = job.step().and_then(|step| step.fastener.as_ref()).cloned() else {
        return;
    };
    if job.asks() {
        return;
    }
    let from = format!("{}, {id}", job.procedure().id);
    let group = job.procedure().fasteners[&id].clone();
    let mut answer = |command, begins| {
        let sentence = sentences(job.take(said(command), now)).concat();
        told.said.push(sentence.clone());
        let from = from.clone();
        told.answers.insert(
            sentence.clone(),
            Answer {
                sentence,
                begins,
                from,
            },
        );
    };
    if let Some(begins) = size(&group) {
        answer(Command::WhatSize, begins);
    }
    if let Some(torque) = group.torque.as_ref().and_then(|torque| torque.of(chosen)) {
        answer(
            Command::WhatTorque,
            torque.target().on_a_scale_of(unit).to_string(),
        );
        asked.push((id, torque.target()));
    }
}

fn size(group: &FastenerGroup) -> Option<String> {
    let drive = group.drive?;
    Some(format!("{} {}", drive.size, drive.shape.name()))
}

fn said(command: Command) -> Input {
    let heard = Heard {
        words: String::new(),
        certainty: Certainty::Typed,
        evidence: None,
        sound: None,
    };
    Input::Said { command, heard }
}

fn sentences(effects: Vec<Effect>) -> Vec<String> {
    let mut said = Vec::new();
    for effect in effects {
        if let Effect::Say(sentence) = effect {
            said.push(sentence.text);
        }
    }
    said
}
