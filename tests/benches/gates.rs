//! What the gates of each shipped job cost in talk, worked straight through with the first option of each choice: how many
//! there are of each weight, how many words are spoken at them, and how many are recited.
//!
//! `cargo xtask bench gates`. Prints a table.

use sayback::library::Shelf;
use sayback::work::technician::{Talk, heard_for_certain, take_for_good};
use std::error::Error;
use std::sync::Arc;
use steps::procedure::Weight;
use steps::{Effect, Input, Job, Moment, Tone};
use whole_jobs::{settings, shipped};

/// What is counted of a job.
#[derive(Debug, Default)]
struct Counted {
    hold_points: usize,
    checks: usize,
    spoken: usize,
    recited: usize,
}

fn main() -> Result<(), Box<dyn Error>> {
    println!("| job | hold points | checks | words spoken at gates | words to recite |");
    println!("| --- | ---: | ---: | ---: | ---: |");
    for name in Shelf::Shipped.names()? {
        let Counted {
            hold_points,
            checks,
            spoken,
            recited,
        } = worked(&name)?;
        println!("| {name} | {hold_points} | {checks} | {spoken} | {recited} |");
    }
    Ok(())
}

fn worked(name: &str) -> Result<Counted, Box<dyn Error>> {
    let mut job = Job::new(Arc::new(shipped(name)), settings());
    let mut now = Moment(0);
    let mut talk = Talk::default();
    let mut counted = Counted::default();
    counted.spoken += words_at_gates(&job.take(Input::Begin, now));
    while let Some(said) = talk.says(&job) {
        let gate = job.holding().and_then(|id| job.procedure().gates.get(id));
        match gate.map(|gate| gate.weight) {
            Some(Weight::HoldPoint) => counted.hold_points += 1,
            Some(Weight::Check) => counted.checks += 1,
            None => {}
        }
        if gate.is_some() {
            counted.recited += said.split_whitespace().count();
        }
        let input = heard_for_certain(&job, &said)?;
        counted.spoken += words_at_gates(&take_for_good(&mut job, input, &mut now));
    }
    Ok(counted)
}

/// Words of what a gate says: prompts, and nothing else of the job.
fn words_at_gates(effects: &[Effect]) -> usize {
    let prompts = effects.iter().filter_map(|effect| match effect {
        Effect::Say(sentence) if sentence.tone == Tone::Hold => Some(&sentence.text),
        _other => None,
    });
    prompts.map(|text| text.split_whitespace().count()).sum()
}
