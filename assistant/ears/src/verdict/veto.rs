//! The veto at a gate: words in the free transcription that turn a readback around.

use crate::Evidence;

/// Words that deny, put off, bound, or make a condition. Common practice, no source; those that near-misses
/// of readbacks were seen to hold.
const TURNING: [&str; 40] = [
    "not", "no", "never", "none", "nothing", "neither", "nor", "cannot", "cant", "dont", "without",
    "still", "yet", "but", "wait", "when", "if", "unless", "until", "till", "except", "almost",
    "nearly", "hardly", "should", "will", "would", "could", "might", "maybe", "perhaps", "before",
    "after", "once", "later", "soon", "think", "probably", "half", "except",
];

/// First words of a question.
const ASKING: [&str; 14] = [
    "is", "are", "was", "were", "do", "does", "did", "has", "have", "can", "who", "why", "how",
    "what",
];

/// Whether what was heard without a grammar speaks against the readback `words`. A word that the readback
/// itself holds does not. Without a free transcription there is nothing to hold against it.
pub fn holds(words: &str, evidence: &Evidence) -> bool {
    let Some(free) = &evidence.free_transcription else {
        return false;
    };
    let readback = split(words);
    let heard = split(free);
    let turned = heard
        .iter()
        .any(|word| !readback.contains(word) && (TURNING.contains(&word.as_str()) || denies(word)));
    let asked = free.contains('?') && !words.contains('?');
    let begins_asking = heard
        .first()
        .is_some_and(|first| ASKING.contains(&first.as_str()) && readback.first() != Some(first));
    turned || asked || begins_asking
}

/// "isn't", "won't" and their like, written together.
fn denies(word: &str) -> bool {
    word.ends_with("nt")
        && [
            "isnt", "arent", "wasnt", "werent", "doesnt", "didnt", "hasnt", "havent", "wont",
            "wouldnt", "shouldnt", "couldnt",
        ]
        .contains(&word)
}

/// Words in lower case, without apostrophes.
fn split(text: &str) -> Vec<String> {
    text.to_lowercase()
        .replace(['\'', '’'], "")
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}
