//! The number that reaches the ear is the number in the procedure.
//!
//! Every torque and every size of the shipped jobs, in every unit that a wrench is marked in, is taken from
//! the job's own answer, spoken by the program's own voice, and listened to by recognisers that are not the
//! program's own.

mod answers;
mod listeners;
mod rivals;

use rivals::Piece;
use std::collections::BTreeSet;
use steps::Language;
use voice::{Neural, Settings, Sound};

#[test]
fn nothing_that_is_spoken_holds_a_digit_or_a_symbol() {
    let all: BTreeSet<&String> = answers::told().said.iter().collect();
    assert!(all.len() > 200, "{} sentences", all.len());
    for written in all {
        for spoken in [
            words::wording::spoken(Language::English, written),
            words::wording::spoken_slowly(Language::English, written),
        ] {
            let left = spoken.find(|c: char| c.is_numeric() || "·°%±/×(){}".contains(c));
            assert_eq!(left, None, "{written} → {spoken}");
        }
    }
}

#[test]
fn every_answer_begins_with_the_procedures_own_value() {
    let told = answers::told();
    for answer in told.answers.values() {
        let rest = answer.sentence.strip_prefix(&answer.begins);
        assert!(
            rest.is_some_and(|rest| rest.starts_with(['.', ','])),
            "{answer:?}"
        );
    }
}

/// Of a hundred sentences so many may have to be asked for again.
const ASKED_AGAIN: f64 = 3.0;

#[test]
fn every_torque_and_size_is_heard_as_the_procedure_has_it() {
    let told = answers::told();
    let sentences: Vec<&str> = told.answers.keys().map(String::as_str).collect();
    let values = sentences
        .iter()
        .flat_map(|sentence| rivals::pieces(sentence, words::wording::spoken))
        .filter(|piece| matches!(piece, Piece::Value(_)))
        .count();
    let (first, again) = misheard(&sentences, words::wording::spoken, &espeak);
    // Whoever isn't sure says "slower", and has it digit by digit.
    let (slowly, wrong) = misheard(&again, words::wording::spoken_slowly, &espeak);
    let all = sentences.len();
    println!(
        "{all} sentences with {values} values. As they were said PocketSphinx heard {first}, with Whisper's"
    );
    println!(
        "second opinion {}; of the {} said again digit by digit PocketSphinx heard {slowly}.",
        all - again.len(),
        again.len()
    );
    assert!(again.len() as f64 <= all as f64 * ASKED_AGAIN / 100.0);
    assert_eq!(wrong, Vec::<&str>::new());
}

/// Of so many sentences one is spoken by the neural voice as well.
const NEURAL_EVERY: usize = 5;

/// These it ran together, so that they were heard as seventeen.
const SEVENTY: &str = "70 N·m";

#[test]
fn the_neural_voice_tells_the_procedures_values_too() {
    let told = answers::told();
    let sentences = told.answers.keys().map(String::as_str).enumerate();
    let sentences = sentences.filter(|(n, it)| n % NEURAL_EVERY == 0 || it.starts_with(SEVENTY));
    let sentences: Vec<&str> = sentences.map(|(_, sentence)| sentence).collect();
    assert!(sentences.iter().any(|it| it.starts_with(SEVENTY)));
    let neural = Neural::load().unwrap_or_else(|error| panic!("{error}"));
    let voice = |words: &str| neural.timed(words, Settings::default()).unwrap().0;
    let (first, wrong) = misheard(&sentences, words::wording::spoken, &voice);
    println!("{} sentences: PocketSphinx heard {first}", sentences.len());
    assert_eq!(wrong, Vec::<&str>::new());
}

fn espeak(words: &str) -> Sound {
    voice::synthesise(words, &Settings::default()).unwrap_or_else(|error| panic!("{error}"))
}

/// How many PocketSphinx heard as they were said, and which neither it nor Whisper did.
fn misheard<'s>(
    sentences: &[&'s str],
    wording: rivals::Wording,
    voice: &dyn Fn(&str) -> Sound,
) -> (usize, Vec<&'s str>) {
    let heard = listeners::listen_to(sentences, wording, voice);
    let (mut first, mut wrong) = (0, Vec::new());
    for (sentence, heard) in sentences.iter().zip(&heard) {
        let said = rivals::spoken(sentence, wording);
        first += usize::from(heard.first == said);
        if heard.words() != said {
            println!("{heard:?} of “{sentence}”");
            wrong.push(*sentence);
        }
    }
    (first, wrong)
}
