//! A fixed set of near-misses, readbacks and commands in all noises, small enough for every test run. How well is heard
//! in general, the bench tells.

use super::before::Before;
use super::gates::{Gate, near_misses, shipped};
use super::hear::{Room, hear};
use super::kept::{Heard, Kept};
use super::listening::{Context, commands};
use super::material::{Set, Take};
use super::measure::{Outcome, System, outcome};
use super::shop::{Chance, Noise};
use ears::verdict::Bars;
use std::path::Path;
use voice::fixtures::{Speaker, cache_folder};

/// Of two synthesisers' making, men and women; all of development, since this set is looked at in every test run.
const VOICES: [&str; 6] = [
    "d01-en-us-m1",
    "d03-en-us-f2",
    "d06-en-gb-m4",
    "d07-en-us-f2",
    "d09-rms",
    "d11-kal",
];

const NOISES: [Noise; 7] = Noise::DEVELOPMENT;

/// Near-misses of each readback: where it is quiet, and in noises at 20 and at 10 dB.
const LEVELS: [f32; 6] = [60.0, 20.0, 10.0, 60.0, 20.0, 10.0];

/// One of so many ways to say a command is said.
const EVERY: usize = 12;

fn take(number: usize, set: Set, words: &str, context: Context, snr_db: f32) -> Take {
    Take {
        set,
        development: true,
        speaker: VOICES[number % VOICES.len()].to_owned(),
        words: words.to_owned(),
        recordings: Vec::new(),
        context,
        meant: set != Set::NearMisses,
        noise: match snr_db {
            60.0 => Noise::Clean,
            _ => NOISES[number % NOISES.len()],
        },
        snr_db,
    }
}

fn takes(gates: &[Gate]) -> Vec<Take> {
    let mut takes = Vec::new();
    for (number, gate) in gates.iter().enumerate() {
        let context = Context::Gate(number);
        takes.push(take(number, Set::Readbacks, &gate.in_full(), context, 60.0));
        let misses = near_misses(gate, gates);
        let mut chance = Chance::new(number as u64);
        for (at, level) in LEVELS.into_iter().enumerate() {
            let words = &misses[chance.below(misses.len())];
            takes.push(take(number + at, Set::NearMisses, words, context, level));
        }
    }
    let commands = commands().unwrap();
    for (number, words) in commands.iter().step_by(EVERY).enumerate() {
        for level in [60.0, 10.0] {
            takes.push(take(number, Set::Commands, words, Context::Commands, level));
        }
    }
    takes
}

#[test]
fn no_near_miss_opens_a_gate_and_what_is_meant_is_heard() {
    let workspace = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../..");
    let gates = shipped(&workspace.join("procedures")).unwrap();
    let cache = cache_folder().unwrap();
    let voices = workspace.join("audio-fixtures/bench-voices.toml");
    let speaker = Speaker::open(&cache, &voices).unwrap();
    let talk = super::background(&speaker, &VOICES.map(str::to_owned)).unwrap();
    let room = Room {
        gates: &gates,
        speaker: &speaker,
        background: [talk.clone(), talk],
        at_once: 2,
        priors: cache.join("priors"),
        before: Before::Nothing,
    };
    let folder = tempfile::tempdir().unwrap();
    let mut kept = Kept::open(&folder.path().join("heard.jsonl")).unwrap();
    let (heard, _) = hear(&room, &takes(&gates), &mut kept, false).unwrap();

    let bars = Bars::default();
    let outcomes: Vec<(&Heard, Outcome)> = heard
        .iter()
        .map(|one| (one, outcome(one, System::Ear, &bars)))
        .collect();
    let count = |set: Set, quiet: bool, hit: fn(&Outcome) -> bool| {
        let own = outcomes
            .iter()
            .filter(|(one, _)| one.take.set == set && (one.take.noise == Noise::Clean) == quiet);
        let (hits, others): (Vec<_>, Vec<_>) = own.partition(|(_, outcome)| hit(outcome));
        for (one, _) in &others {
            let Take {
                words,
                speaker,
                noise,
                ..
            } = &one.take;
            println!("{set:?}: “{words}”, {speaker}, {}", noise.name());
        }
        (hits.len(), hits.len() + others.len())
    };
    for quiet in [true, false] {
        let (shut, of) = count(Set::NearMisses, quiet, |it| !it.opened);
        assert!(shut == of && of >= 2 * gates.len(), "{shut} of {of}");
    }
    // Somewhat less than is heard now: another release of a synthesiser sounds otherwise.
    let at_least = |(hits, of): (usize, usize), least: f64| {
        println!("{hits} of {of}");
        assert!(hits as f64 >= least * of as f64, "{hits} of {of}");
    };
    at_least(count(Set::Readbacks, true, |it| it.accepted), 0.75);
    at_least(count(Set::Commands, true, |it| it.right), 0.85);
    at_least(count(Set::Commands, false, |it| it.right), 0.6);
    at_least(count(Set::Commands, false, |it| !it.wrong), 0.8);
}
