//! The arithmetic of the default ear against CTranslate2 on the same weights.
//!
//! `reference/whisper_logprobs.json` was written by `reference/whisper_logprobs.py`, which names its
//! versions and how the sound was made.

use ears::whisper::{ClosedSet, default_model_dir};

#[derive(serde::Deserialize)]
struct Reference {
    sentences: Vec<Sentence>,
}

#[derive(serde::Deserialize)]
struct Sentence {
    text: String,
    tokens: Vec<u32>,
    logprobs: Vec<f32>,
}

fn ear() -> ClosedSet {
    let folder = default_model_dir();
    ClosedSet::load(&folder, 2).unwrap_or_else(|error| {
        panic!("{error}\nThis test needs the weights: run `cargo xtask setup`.")
    })
}

fn reference() -> Reference {
    serde_json::from_str(include_str!("reference/whisper_logprobs.json"))
        .expect("the reference reads")
}

/// 16-bit mono PCM behind a header of 44 bytes, as sox wrote it.
fn sound() -> Vec<f32> {
    let file = include_bytes!("reference/stands.wav");
    file[44..]
        .chunks_exact(2)
        .map(|b| f32::from(i16::from_le_bytes([b[0], b[1]])) / 32768.0)
        .collect()
}

#[test]
fn tokens_are_those_of_an_independent_tokeniser() {
    let ear = ear();
    for sentence in reference().sentences {
        assert_eq!(
            ear.tokens(&sentence.text),
            sentence.tokens,
            "{}",
            sentence.text
        );
    }
}

#[test]
fn log_probabilities_agree_with_ctranslate2_to_three_decimals() {
    let ear = ear();
    let mut worst: f32 = 0.0;
    for sentence in reference().sentences {
        let ours = ear.log_probabilities(&sound(), 30.0, &sentence.text);
        assert_eq!(ours.len(), sentence.logprobs.len(), "{}", sentence.text);
        for (n, (ours, theirs)) in ours.iter().zip(&sentence.logprobs).enumerate() {
            worst = worst.max((ours - theirs).abs());
            assert!(
                (ours - theirs).abs() < 1e-3,
                "token {n} of `{}`: {ours} here, {theirs} there",
                sentence.text
            );
        }
    }
    println!("greatest difference: {worst:.6}");
}
