//! The shipped grammars: readable, finite, one meaning a phrase, and in step with the number reader.

use proptest::prelude::*;
use std::collections::HashMap;
use steps::Language;
use words::jsgf::{Expansion, Grammar};
use words::number;

fn commands() -> Grammar {
    let text = include_str!("../../../../grammars/en/commands.jsgf");
    Grammar::parse("commands.jsgf", text).unwrap_or_else(|error| panic!("{error:?}"))
}

fn numbers() -> Grammar {
    let text = include_str!("../../../../grammars/en/numbers.jsgf");
    Grammar::parse("numbers.jsgf", text).unwrap_or_else(|error| panic!("{error:?}"))
}

#[test]
fn every_phrase_means_one_command_and_carries_its_tag() {
    let grammar = commands();
    let mut meaning: HashMap<String, String> = HashMap::new();
    for rule in grammar.rules().iter().filter(|rule| rule.public) {
        let phrases = grammar.expand(&rule.name, 40).unwrap();
        assert!(
            (3..=20).contains(&phrases.len()),
            "{} has {}",
            rule.name,
            phrases.len()
        );
        for phrase in phrases {
            assert_eq!(phrase.tags, std::slice::from_ref(&rule.name));
            let words = phrase.words.join(" ");
            assert!(!words.is_empty(), "{} may be silent", rule.name);
            if let Some(other) = meaning.insert(words.clone(), rule.name.clone()) {
                panic!("“{words}” means both {other} and {}", rule.name);
            }
        }
    }
    assert_eq!(meaning["next"], "next");
}

#[test]
fn every_way_to_say_a_number_is_in_the_number_grammar() {
    let grammar = numbers();
    let wholes = (0..2_000)
        .chain((2_000..10_000).step_by(7))
        .map(|digits| (digits, 0));
    let hundredths = (0..4_000).step_by(3).map(|digits| (digits, 2));
    let thousandths = (0..2_000).step_by(7).map(|digits| (digits, 3));
    let decimals = hundredths.chain(thousandths);
    for (digits, places) in wholes.chain(decimals) {
        let value = steps::Decimal::new(digits, places).unwrap();
        for said in number::spoken_variants(Language::English, value) {
            let words: Vec<_> = said.split(' ').collect();
            assert!(grammar.parse_words("number", &words).is_some(), "{said}");
        }
    }
}

/// One phrase of the rule, chosen by a stream of numbers.
fn walk(
    grammar: &Grammar,
    part: &Expansion,
    choose: &mut dyn FnMut() -> usize,
    out: &mut Vec<String>,
) {
    match part {
        Expansion::Word(word) => out.push(word.clone()),
        Expansion::Reference(name) => {
            walk(grammar, &grammar.rule(name).unwrap().expansion, choose, out)
        }
        Expansion::Sequence(parts) => parts
            .iter()
            .for_each(|part| walk(grammar, part, choose, out)),
        Expansion::Alternatives(choices) => {
            let chosen = choose() % choices.len();
            walk(grammar, &choices[chosen], choose, out);
        }
        Expansion::Optional(inner) => {
            if choose().is_multiple_of(2) {
                walk(grammar, inner, choose, out);
            }
        }
        Expansion::Tagged(inner, _) => walk(grammar, inner, choose, out),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn whatever_the_number_grammar_lets_be_said_is_read(choices in prop::collection::vec(0usize..5040, 60)) {
        let grammar = numbers();
        let mut choices = choices.into_iter().cycle();
        let mut said = Vec::new();
        let rule = &grammar.rule("number").unwrap().expansion;
        walk(&grammar, rule, &mut || choices.next().unwrap(), &mut said);
        prop_assert!(number::read(Language::English, &said.join(" ")).is_ok(), "{}", said.join(" "));
    }
}
