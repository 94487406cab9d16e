//! The arithmetic of the default ear against CTranslate2 on the same weights.
//!
//! `reference/whisper_logprobs.json` was written by `reference/whisper_logprobs.py`, which names its
//! versions and how the sound was made.

use ears::whisper::{ClosedSet, Precision, default_model_dir};

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

fn ear(precision: Precision) -> ClosedSet {
    let folder = default_model_dir();
    ClosedSet::load_with(&folder, 2, precision).unwrap_or_else(|error| {
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
    let ear = ear(Precision::Single);
    for sentence in reference().sentences {
        assert_eq!(
            ear.tokens(&sentence.text),
            sentence.tokens,
            "{}",
            sentence.text
        );
    }
}

/// How far the log-probabilities of all tokens lie from the reference.
fn differences(precision: Precision) -> Vec<f32> {
    let ear = ear(precision);
    let of_sentence = |sentence: &Sentence| {
        let ours = ear.log_probabilities(&sound(), 30.0, &sentence.text);
        assert_eq!(ours.len(), sentence.logprobs.len(), "{}", sentence.text);
        let pairs = ours.into_iter().zip(&sentence.logprobs);
        pairs
            .map(|(ours, theirs)| (ours - theirs).abs())
            .collect::<Vec<_>>()
    };
    reference().sentences.iter().flat_map(of_sentence).collect()
}

#[test]
fn log_probabilities_agree_with_ctranslate2_to_three_decimals() {
    for (n, difference) in differences(Precision::Single).into_iter().enumerate() {
        assert!(difference < 1e-3, "token {n} lies {difference} off");
    }
}

#[test]
fn rounded_weights_give_nearly_the_same() {
    let all = differences(Precision::Quantized);
    let mean = all.iter().sum::<f32>() / all.len() as f32;
    let greatest = all.iter().copied().fold(0.0, f32::max);
    println!(
        "mean {mean:.3}, greatest {greatest:.3} of {} tokens",
        all.len()
    );
    // A margin that a verdict hangs on is 3 and more.
    assert!(
        mean < 0.05 && greatest < 0.5,
        "mean {mean}, greatest {greatest}"
    );
}
