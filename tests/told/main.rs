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

#[test]
fn nothing_that_is_spoken_holds_a_digit_or_a_symbol() {
    let all: BTreeSet<String> = answers::told().said.into_iter().collect();
    assert!(all.len() > 200, "{} sentences", all.len());
    for written in all {
        for spoken in [
            words::wording::spoken(&written),
            words::wording::spoken_slowly(&written),
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

#[test]
fn every_torque_and_size_is_heard_as_the_procedure_has_it() {
    let told = answers::told();
    let sentences: Vec<&str> = told.answers.keys().map(String::as_str).collect();
    let heard = listeners::listen_to(&sentences);
    let mut wrong = Vec::new();
    let (mut values, mut first) = (0, 0);
    for (answer, heard) in told.answers.values().zip(&heard) {
        let pieces = rivals::pieces(&answer.sentence);
        values += pieces
            .iter()
            .filter(|piece| matches!(piece, Piece::Value(_)))
            .count();
        println!("{heard:?} of “{}”", answer.sentence);
        let said = rivals::spoken(&answer.sentence);
        first += usize::from(heard.first == said);
        if heard.words() != said {
            wrong.push((answer.sentence.as_str(), heard.words()));
        }
    }
    let all = heard.len();
    println!("{all} sentences with {values} values. As they were said PocketSphinx heard {first},");
    println!("with Whisper's second opinion {}.", all - wrong.len());
    assert_eq!(wrong, []);
}
