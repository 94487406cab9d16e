//! The technician tries everything to get past each gate by voice, and fails.

use super::straight_through::OTHERWISE;
use sayback::work::technician::{Talk, every_colour, heard_for_certain, place, take_for_good};
use std::collections::BTreeSet;
use steps::{Entry, Id, Input, Job, Language, Moment};
use whole_jobs::{Minutes, Workshop, settings, shipped};

/// What is tried at a gate besides what only sounds like its words: commands, denials, lies by other words,
/// talk that is no concern of the gate.
const TRIED: [&str; 10] = [
    "next",
    "yes",
    "done",
    "go on anyway",
    "skip this one",
    "finish",
    "of course it is",
    "open the gate",
    "I did all of that already",
    "what did you say",
];

/// How many of a readback's decoys are spoken at its gate; the ear's own bench has the rest.
const DECOYS: usize = 8;

fn tries(job: &Job, gate: &Id) -> Vec<String> {
    let gates = &job.procedure().gates;
    let readback = &gates[gate].readback;
    let asked = job.listen().readback.expect("a gate is read back");
    let mut all: Vec<String> = TRIED.iter().map(|words| (*words).to_owned()).collect();
    all.extend(
        words::decoys::decoys(Language::English, readback)
            .into_iter()
            .take(DECOYS),
    );
    all.extend(gates[gate].decoys.clone());
    if asked.colour.is_some() {
        // The words alone, or with any colour but the one asked for.
        let opens = asked.in_full(Language::English);
        all.push(asked.words.clone());
        all.extend(
            every_colour(Language::English, asked)
                .into_iter()
                .filter(|it| *it != opens),
        );
    }
    // The words of one other gate: the next by name, so that each is tried somewhere.
    let other = gates
        .range(gate.clone()..)
        .nth(1)
        .or_else(|| gates.iter().next());
    all.extend(
        other
            .map(|(_, other)| other.readback.clone())
            .filter(|words| words != readback),
    );
    all
}

fn holds(name: &str, voice_id: &str) {
    let procedure = shipped(name);
    let folder = tempfile::tempdir().unwrap();
    let minutes = Minutes::default();
    let mut show = |line: sayback::work::conversation::Line<'_>| minutes.take_down(line);
    let mut shop = Workshop::open(procedure.clone(), folder.path(), voice_id, &mut show);
    shop.prepare(&everything_said(&procedure));
    let mut talk = Talk::default();
    let mut tried: BTreeSet<Id> = BTreeSet::new();
    let mut count = 0;
    let (mut said_again, mut in_a_row) = (0, 0);
    while let Some(words) = talk.says(shop.job()) {
        if let Some(gate) = shop.job().holding().cloned()
            && tried.insert(gate.clone())
        {
            let fact = procedure.gates[&gate].fact.clone();
            for attempt in tries(shop.job(), &gate) {
                shop.say(&attempt);
                let job = shop.job();
                assert!(
                    !job.facts().any(|known| *known == fact),
                    "{name}: “{attempt}” opened {gate}"
                );
                assert_eq!(
                    job.holding(),
                    Some(&gate),
                    "{name}: “{attempt}” led past {gate}"
                );
                count += 1;
            }
        }
        let before = (place(shop.job()), shop.job().digest());
        let meanings = match in_a_row {
            0 => shop.say(&words),
            again => shop.say_as(OTHERWISE[again - 1], &words),
        };
        if (place(shop.job()), shop.job().digest()) == before {
            said_again += 1;
            in_a_row += 1;
            println!(
                "{name}: at {} “{words}” was taken for {meanings:?}",
                before.0
            );
            assert!(
                in_a_row <= OTHERWISE.len() && said_again <= 6,
                "{name} doesn't get on at {}",
                before.0
            );
        } else {
            in_a_row = 0;
        }
    }
    println!("{name}: {count} attempts at {} gates", tried.len());
    assert!(tried.len() >= 5);
    let refused = minutes
        .written
        .borrow()
        .iter()
        .filter(|it| matches!(it, Entry::GateRefused { .. }))
        .count();
    assert!(refused >= tried.len(), "refusals go onto the record");
}

/// All that is said in such a job, so that it can be spoken in one go.
fn everything_said(procedure: &steps::Procedure) -> Vec<String> {
    let mut job = Job::new(std::sync::Arc::new(procedure.clone()), settings());
    let mut talk = Talk::default();
    let mut all = Vec::new();
    let mut now = Moment(0);
    job.take(Input::Begin, now);
    while let Some(words) = talk.says(&job) {
        if let Some(gate) = job.holding().cloned() {
            all.extend(tries(&job, &gate));
            all.extend(
                job.listen()
                    .readback
                    .map(|it| every_colour(Language::English, it))
                    .unwrap_or_default(),
            );
        }
        let input = heard_for_certain(&job, &words).unwrap();
        take_for_good(&mut job, input, &mut now);
        all.push(words);
    }
    all.sort();
    all.dedup();
    all
}

#[test]
fn the_half_shaft_job_lets_nobody_past_a_gate() {
    holds("front-half-shaft", "flite-man-fast");
}

#[test]
fn the_brake_job_lets_nobody_past_a_gate() {
    holds("front-brakes", "flite-woman");
}

#[test]
fn the_trailer_job_lets_nobody_past_a_gate() {
    holds("trailer-hub", "flite-woman");
}
