//! What the text alone can't show: every reference leads somewhere, none leads back, none grows too large.

use super::Expansion;
use super::error::{Problem, Wrong};
use super::parser::Parsed;
use std::collections::HashMap;

/// How long a chain of references may be, so that listing and matching can't exhaust the stack.
const LONGEST_CHAIN: usize = 32;
/// How many parts a rule may have with its references written out; bounds the time of matching.
const LARGEST: usize = 100_000;

pub(super) fn check(parsed: &Parsed) -> Result<(), Wrong> {
    let mut index = HashMap::new();
    for (at, (rule, place)) in parsed.rules.iter().enumerate() {
        if index.insert(rule.name.as_str(), at).is_some() {
            return Err(Wrong::new(
                Problem::Duplicate(rule.name.clone()),
                place.clone(),
            ));
        }
    }
    for references in &parsed.references {
        for (name, place) in references {
            if !index.contains_key(name.as_str()) {
                let nearest = nearest(name, parsed);
                return Err(Wrong::new(
                    Problem::UnknownRule {
                        name: name.clone(),
                        nearest,
                    },
                    place.clone(),
                ));
            }
        }
    }
    let mut walk = Walk {
        parsed,
        index,
        done: vec![None; parsed.rules.len()],
        path: Vec::new(),
    };
    (0..parsed.rules.len()).try_for_each(|rule| walk.size(rule).map(|_| ()))
}

/// A depth-first walk over references that knows each finished rule's length of chain and size.
struct Walk<'a> {
    parsed: &'a Parsed,
    index: HashMap<&'a str, usize>,
    done: Vec<Option<Extent>>,
    path: Vec<usize>,
}

#[derive(Clone, Copy)]
struct Extent {
    chain: usize,
    parts: usize,
}

impl Walk<'_> {
    fn size(&mut self, rule: usize) -> Result<Extent, Wrong> {
        if let Some(extent) = self.done[rule] {
            return Ok(extent);
        }
        let (written, place) = &self.parsed.rules[rule];
        if let Some(first) = self.path.iter().position(|&before| before == rule) {
            let names = self.path[first..].iter().chain([&rule]);
            let path: Vec<_> = names
                .map(|&at| format!("<{}>", self.parsed.rules[at].0.name))
                .collect();
            let problem = Problem::Recursion {
                name: written.name.clone(),
                path: path.join(" → "),
            };
            return Err(Wrong::new(problem, place.clone()));
        }
        if self.path.len() >= LONGEST_CHAIN {
            return Err(Wrong::new(Problem::TooDeep(LONGEST_CHAIN), place.clone()));
        }
        self.path.push(rule);
        let mut extent = Extent {
            chain: 0,
            parts: parts(&written.expansion),
        };
        for (name, _) in &self.parsed.references[rule] {
            // Every name was found in the index before the walk began.
            let Some(&target) = self.index.get(name.as_str()) else {
                continue;
            };
            let below = self.size(target)?;
            extent.chain = extent.chain.max(below.chain + 1);
            extent.parts = extent.parts.saturating_add(below.parts);
        }
        self.path.pop();
        if extent.chain > LONGEST_CHAIN {
            return Err(Wrong::new(Problem::TooDeep(LONGEST_CHAIN), place.clone()));
        }
        if extent.parts > LARGEST {
            let problem = Problem::TooLarge {
                name: written.name.clone(),
                limit: LARGEST,
            };
            return Err(Wrong::new(problem, place.clone()));
        }
        self.done[rule] = Some(extent);
        Ok(extent)
    }
}

fn parts(expansion: &Expansion) -> usize {
    match expansion {
        Expansion::Word(_) | Expansion::Reference(_) => 1,
        Expansion::Sequence(parts_of) | Expansion::Alternatives(parts_of) => {
            1 + parts_of.iter().map(parts).sum::<usize>()
        }
        Expansion::Optional(inner) | Expansion::Tagged(inner, _) => 1 + parts(inner),
    }
}

/// The rule whose name shares the longest beginning, if that is at least half of the name.
fn nearest(name: &str, parsed: &Parsed) -> Option<String> {
    let shared = |other: &str| {
        name.chars()
            .zip(other.chars())
            .take_while(|(a, b)| a == b)
            .count()
    };
    parsed
        .rules
        .iter()
        .map(|(rule, _)| rule.name.as_str())
        .max_by_key(|other| shared(other))
        .filter(|other| shared(other) * 2 >= name.chars().count())
        .map(str::to_owned)
}
