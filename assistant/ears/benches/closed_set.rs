//! How long the default ear takes after the end of speech: the encoder alone, and a set of 60 phrases.
//!
//! `cargo bench -p ears --bench closed_set`; needs the weights that `cargo xtask setup` puts in place.

use ears::sound::Utterance;
use ears::whisper::{ClosedSet, default_model_dir};
use ears::{Phrase, PhraseSet, Recogniser, Stake};
use std::error::Error;
use std::time::Instant;

const VERBS: [&str; 10] = [
    "what torque for",
    "what size is",
    "how many of",
    "say again about",
    "read the warning on",
    "tell me about",
    "go back to",
    "carry on with",
    "make a note on",
    "where is",
];
const NOUNS: [&str; 6] = [
    "the wheel nuts",
    "the axle nut",
    "the caliper",
    "the stands",
    "the brake hose",
    "the hub",
];

fn main() -> Result<(), Box<dyn Error>> {
    let phrase = |verb: &str, noun: &str| Phrase::plain(&format!("{verb} {noun}"), Stake::Ask);
    let phrases = VERBS
        .iter()
        .flat_map(|verb| NOUNS.iter().map(move |noun| phrase(verb, noun)))
        .collect();
    let set = PhraseSet { phrases };
    // 16-bit mono PCM behind a header of 44 bytes; 3.2 s of speech.
    let file = include_bytes!("../tests/it/reference/stands.wav");
    let samples: Vec<f32> = file[44..]
        .chunks_exact(2)
        .map(|two| f32::from(i16::from_le_bytes([two[0], two[1]])) / 32768.0)
        .collect();
    let short = Utterance::whole(samples[..24_000].to_vec());
    let long = Utterance::whole(samples);

    for threads in [1, 2] {
        let start = Instant::now();
        let mut ear = ClosedSet::load(&default_model_dir(), threads)?;
        println!("{threads} threads: load {:.0} ms", milliseconds(start));
        let start = Instant::now();
        ear.listen_for(&set)?;
        println!(
            "  60 phrases for the first time: {:.0} ms",
            milliseconds(start)
        );
        let start = Instant::now();
        ear.listen_for(&set)?;
        println!("  60 phrases known before: {:.2} ms", milliseconds(start));
        for context in [3.0, 5.0, 30.0] {
            let time = median(|| {
                ear.encode_only(&short.samples, context);
                Ok(())
            })?;
            println!("  encoder over {context} s: {time:.0} ms");
        }
        for (name, utterance) in [("1.5 s", &short), ("3.2 s", &long)] {
            let time = median(|| {
                ear.hear(utterance)?;
                Ok(())
            })?;
            println!("  hearing {name} among 60 phrases: {time:.0} ms");
        }
    }
    Ok(())
}

fn milliseconds(start: Instant) -> f64 {
    start.elapsed().as_secs_f64() * 1000.0
}

/// The median of eleven runs, in milliseconds.
fn median(mut run: impl FnMut() -> Result<(), Box<dyn Error>>) -> Result<f64, Box<dyn Error>> {
    let mut times = Vec::new();
    for _ in 0..11 {
        let start = Instant::now();
        run()?;
        times.push(milliseconds(start));
    }
    times.sort_by(f64::total_cmp);
    Ok(times[times.len() / 2])
}
