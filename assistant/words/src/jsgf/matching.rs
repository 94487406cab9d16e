//! Words to tags.

use super::{Expansion, Grammar};
use std::collections::BTreeMap;

/// Where a match may have come to (how many words are used up), with the tags met on the way. Of several
/// ways to one place the first in the grammar's order is kept.
type Checkpoint = BTreeMap<usize, Vec<String>>;

impl Grammar {
    /// The tags of the rule if these words, all of them and nothing else, are what it lets be said.
    /// `None` for other words and for an unknown rule. Words are compared as they stand.
    pub fn parse_words(&self, rule: &str, words: &[&str]) -> Option<Vec<String>> {
        let start = Checkpoint::from([(0, Vec::new())]);
        self.advance(&self.rule(rule)?.expansion, words, start)
            .remove(&words.len())
    }

    // All places are advanced at once, so that time grows with parts × words and never with the number of
    // ways through the grammar; the grammar's reader bounds both parts and depth.
    fn advance(&self, expansion: &Expansion, words: &[&str], from: Checkpoint) -> Checkpoint {
        match expansion {
            Expansion::Word(word) => from
                .into_iter()
                .filter(|(at, _)| words.get(*at).is_some_and(|said| said == word))
                .map(|(at, tags)| (at + 1, tags))
                .collect(),
            Expansion::Reference(name) => match self.rule(name) {
                Some(rule) => self.advance(&rule.expansion, words, from),
                None => Checkpoint::new(),
            },
            Expansion::Sequence(parts) => parts
                .iter()
                .fold(from, |reached, part| self.advance(part, words, reached)),
            Expansion::Alternatives(choices) => {
                let mut all = Checkpoint::new();
                for choice in choices {
                    keep_first(&mut all, self.advance(choice, words, from.clone()));
                }
                all
            }
            Expansion::Optional(inner) => {
                let mut all = self.advance(inner, words, from.clone());
                keep_first(&mut all, from);
                all
            }
            Expansion::Tagged(inner, tag) => {
                let mut all = self.advance(inner, words, from);
                for tags in all.values_mut() {
                    tags.push(tag.clone());
                }
                all
            }
        }
    }
}

fn keep_first(all: &mut Checkpoint, more: Checkpoint) {
    for (at, tags) in more {
        all.entry(at).or_insert(tags);
    }
}
