//! Sentences that sound like a readback and must not open its gate.
//!
//! They are put beside the readback for the ear to choose from: whoever says "the van is not on stands" is
//! heard saying just that, instead of being forced into the nearest sentence that would open the gate.
//!
//! ```
//! let decoys = words::decoys::decoys(steps::Language::English, "the van is on stands");
//! assert!(decoys.contains(&"the van is not on stands".to_owned()));
//! assert!(decoys.contains(&"is the van on stands".to_owned()));
//! assert!(!decoys.contains(&"the van is on stands".to_owned()));
//! ```
//!
//! # Why decoys?
//!
//! The denial of a readback sounds almost like the readback. A recogniser that may choose only among allowed phrases
//! would pick the readback. So the denial, the question and the author's own decoys are in the same set: they must
//! lose to the readback for it to count, and if one of them wins, nothing opens.

mod opposites;
mod spanish;
mod verbs;

use crate::said;
use opposites::opposites;
use std::collections::HashSet;
use steps::Language;
use verbs::{Verb, verb};

/// The most decoys for one readback: more slow the ear down without hearing better.
pub const MOST: usize = 60;

/// What sounds like the readback without being it, the most dangerous first: negations, opposites, things
/// not yet so, questions, the near future, doubt, the assistant's own request, halves. In lower case without punctuation, each once,
/// none empty, none the readback, at most [`MOST`]. None for a readback without words.
///
/// ```
/// use steps::Language;
/// let decoys = words::decoys::decoys(Language::Spanish, "las ruedas están calzadas");
/// assert!(decoys.contains(&"las ruedas no están calzadas".to_owned()));
/// assert!(decoys.contains(&"están las ruedas calzadas".to_owned()));
/// ```
pub fn decoys(language: Language, readback: &str) -> Vec<String> {
    let readback = said::plain(readback);
    let words: Vec<&str> = readback.split_whitespace().collect();
    if words.is_empty() {
        return Vec::new();
    }
    // Each rule's first few come before any rule's rest, so that the bound cuts all rules alike.
    let (first, more) = match language {
        Language::English => (
            [
                negated(&words),
                opposite(&words),
                unfinished(&words),
                asked(&words),
            ],
            [later(&words), doubted(&words), asked_for(&words)],
        ),
        Language::Spanish => (spanish::rules(&words), spanish::more_rules(&words)),
    };
    let halves = in_part(&words);
    let rules: Vec<&Vec<String>> = first.iter().chain(&more).chain([&halves]).collect();
    let longest = rules.iter().map(|rule| rule.len()).max().unwrap_or(0);
    let in_turn = (0..longest.div_ceil(FIRST)).flat_map(|round| {
        let in_round = move |rule: &&'_ Vec<String>| rule.len() > round * FIRST;
        let rules = rules.iter().copied().filter(in_round);
        rules.flat_map(move |rule| rule.iter().skip(round * FIRST).take(FIRST))
    });
    let mut seen = HashSet::from([said::folded(&readback)]);
    let fresh =
        in_turn.filter(|decoy| !decoy.trim().is_empty() && seen.insert(said::folded(decoy)));
    fresh.take(MOST).cloned().collect()
}

/// What of these decoys reports that a readback isn't so, as somebody would say it who has looked: each first as a
/// whole, then of each of its clauses. None of them is the readback or a clause of it.
///
/// ```
/// use steps::Language;
/// let reports = words::decoys::reports(Language::English, "the hook holds it and the hose is slack");
/// assert!(reports.contains(&"the hose isn't slack".to_owned()));
/// assert!(!reports.contains(&"the hose is slack".to_owned()));
/// ```
pub fn reports(language: Language, readback: &str) -> Vec<String> {
    let readback = said::plain(readback);
    let words: Vec<&str> = readback.split_whitespace().collect();
    let and = match language {
        Language::English => "and",
        Language::Spanish => "y",
    };
    let clauses: Vec<&[&str]> = words.split(|word| *word == and).collect();
    let mut seen: HashSet<String> = clauses
        .iter()
        .map(|it| said::folded(&it.join(" ")))
        .collect();
    seen.insert(said::folded(&readback));
    let whole = std::iter::once((words.as_slice(), FIRST));
    let parts = clauses
        .iter()
        .filter(|it| clauses.len() > 1 && it.len() > 1);
    let parts = parts.map(|clause| (*clause, FIRST / 2));
    let reports = whole.chain(parts).flat_map(|(words, most)| {
        let rules = match language {
            Language::English => [negated(words), opposite(words), unfinished(words)],
            Language::Spanish => {
                let [negated, opposite, unfinished, _asked] = spanish::rules(words);
                [negated, opposite, unfinished]
            }
        };
        rules
            .into_iter()
            .flat_map(move |rule| rule.into_iter().take(most))
    });
    reports.filter(|it| seen.insert(said::folded(it))).collect()
}

/// How many decoys of a rule come before the next rule's.
const FIRST: usize = 8;

fn verbs<'a>(words: &'a [&str]) -> impl Iterator<Item = (usize, Verb)> + 'a {
    words
        .iter()
        .enumerate()
        .filter_map(|(at, word)| verb(word).map(|verb| (at, verb)))
}

/// The words with others put in before the word at `at`.
fn inserted(words: &[&str], at: usize, more: &str) -> String {
    let (before, after) = words.split_at(at.min(words.len()));
    [before, &[more], after].concat().join(" ")
}

fn replaced(words: &[&str], at: usize, by: &str) -> String {
    let mut words = words.to_vec();
    if let Some(word) = words.get_mut(at) {
        *word = by;
    }
    words.join(" ")
}

/// "the van is not …", "the wedges don't …", "not …"; a "not" that is there is taken out.
fn negated(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    let mut decoys = Vec::new();
    for (at, verb) in verbs(words) {
        match (verb, words[at]) {
            (Verb::Action { stem, helper }, _) => {
                decoys.push(replaced(words, at, &format!("{helper}n't {stem}")));
                continue;
            }
            (Verb::Link, "i'm") => decoys.push(replaced(words, at, "i'm not")),
            (Verb::Link, "it's") => decoys.push(replaced(words, at, "it isn't")),
            (Verb::Link, "that's") => decoys.push(replaced(words, at, "that isn't")),
            (Verb::Link, link) => decoys.push(replaced(words, at, &format!("{link}n't"))),
        }
        decoys.push(inserted(words, at + 1, "not"));
    }
    let mut without = words.to_vec();
    without.retain(|word| !matches!(*word, "not" | "no" | "never"));
    if without.len() < words.len() {
        decoys.insert(0, without.join(" "));
    }
    decoys.extend([format!("not {all}"), format!("no {all}")]);
    if !words
        .iter()
        .any(|word| matches!(verb(word), Some(Verb::Link)))
    {
        decoys.extend((1..words.len()).map(|at| inserted(words, at, "not")));
    }
    decoys.push(format!("never {all}"));
    decoys
}

/// One word turned round at a time, then all of them.
fn opposite(words: &[&str]) -> Vec<String> {
    let mut decoys = Vec::new();
    let mut all = words.to_vec();
    for (at, word) in words.iter().enumerate() {
        for other in opposites(word) {
            decoys.push(replaced(words, at, other));
            all[at] = other;
        }
    }
    decoys.push(all.join(" "));
    decoys
}

/// "the van is almost …", "the wedges still …".
fn unfinished(words: &[&str]) -> Vec<String> {
    let at = verbs(words).map(|(at, verb)| match verb {
        Verb::Link => at + 1,
        Verb::Action { .. } => at,
    });
    let mut at: Vec<usize> = at.collect();
    if at.is_empty() {
        at.push(0);
    }
    let qualifiers = [
        "still",
        "almost",
        "nearly",
        "not yet",
        "still not",
        "nowhere near",
    ];
    let placed = |qualifier| at.iter().map(move |&at| inserted(words, at, qualifier));
    let tail = [format!("{} not yet", words.join(" "))];
    tail.into_iter()
        .chain(qualifiers.into_iter().flat_map(placed))
        .collect()
}

/// "is the van …", "do the wedges …", "… right", "… or not".
fn asked(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    let mut decoys = Vec::new();
    for (at, verb) in verbs(words) {
        let (first, instead) = match (verb, words[at]) {
            (Verb::Action { stem, helper }, _) => (helper, stem),
            (Verb::Link, "i'm") => ("am", "i"),
            (Verb::Link, "it's") => ("is", "it"),
            (Verb::Link, "that's") => ("is", "that"),
            (Verb::Link, link) => (link, ""),
        };
        let mut turned = vec![first];
        turned.extend(&words[..at]);
        turned.extend((!instead.is_empty()).then_some(instead));
        turned.extend(&words[at + 1..]);
        decoys.push(turned.join(" "));
    }
    decoys.truncate(4);
    if decoys.is_empty() {
        decoys.extend(["do", "does", "did"].map(|verb| format!("{verb} {all}")));
    }
    decoys.extend([
        format!("{all} right"),
        format!("{all} or not"),
        format!("is it {all}"),
        format!("are they {all}"),
    ]);
    decoys
}

/// "the van will be …", "… in a minute", "when …".
fn later(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    let mut decoys = Vec::new();
    for (at, verb) in verbs(words) {
        match (verb, words[at]) {
            (Verb::Action { stem, helper: "is" }, _) => {
                decoys.push(replaced(words, at, &format!("will be {stem}")));
            }
            (Verb::Action { stem, .. }, _) => {
                decoys.push(replaced(words, at, &format!("will {stem}")));
            }
            (Verb::Link, "is" | "are") => {
                decoys.extend(["will be", "should be"].map(|by| replaced(words, at, by)));
            }
            (Verb::Link, "i'm") => decoys.push(replaced(words, at, "i'll be")),
            (Verb::Link, _) => {}
        }
    }
    decoys.truncate(3);
    decoys.extend([
        format!("{all} in a minute"),
        format!("{all} tomorrow"),
        format!("when {all}"),
        format!("once {all}"),
        format!("if {all}"),
    ]);
    decoys
}

/// "… i think", "… i hope".
fn doubted(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    vec![
        format!("{all} i think"),
        format!("{all} i hope"),
        format!("{all} probably"),
        format!("i think {all}"),
        format!("maybe {all}"),
    ]
}

/// The assistant's own request for the readback, which comes back from the loudspeaker.
fn asked_for(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    vec![format!("when it is so say {all}"), format!("say {all}")]
}

/// The first and the second half. Not the whole twice: who repeats the readback means it, and a scorer that
/// tends to repeat itself takes one for the other.
fn in_part(words: &[&str]) -> Vec<String> {
    let (first, second) = words.split_at(words.len().div_ceil(2));
    vec![first.join(" "), second.join(" ")]
}
