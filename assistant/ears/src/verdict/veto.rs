//! The veto at a gate: words in the free transcription that turn a readback around.

use super::features::Fit;
use crate::{Evidence, Hypothesis};

/// Words that deny, put off, bound, make a condition, or leave it to somebody else: those that near-misses of readbacks
/// hold. Common practice, no source.
#[rustfmt::skip]
const TURNING: [&str; 64] = [
    // They deny.
    "not", "no", "never", "none", "nothing", "neither", "nor", "cannot", "cant", "dont", "isnt", "arent",
    "wasnt", "werent", "doesnt", "didnt", "hasnt", "havent", "wont", "wouldnt", "shouldnt", "couldnt",
    "without", "aint",
    // They put off.
    "still", "yet", "wait", "when", "until", "till", "before", "after", "once", "later", "soon", "will",
    // They bound or make a condition.
    "but", "if", "unless", "except", "almost", "nearly", "hardly", "quite", "should", "would", "could",
    "might", "maybe", "perhaps", "think", "probably", "half",
    // They wish, suppose, or quote.
    "wish", "hope", "suppose", "supposed", "guess", "thought", "says", "said", "say", "told", "wants",
];

/// First words of a question.
const ASKING: [&str; 14] = [
    "is", "are", "was", "were", "do", "does", "did", "has", "have", "can", "who", "why", "how",
    "what",
];

/// Letters of the free transcription before and after the readback from which something else was said with it: "says
/// the foreman", "yesterday". Of 467 readbacks of the development set 6 have so many, of 191 near-misses that
/// were nearest to the readback 178.
const TOO_MANY: usize = 6;

/// The same for commands and numbers, whose free transcription is often wide of the mark.
const FAR_TOO_MANY: usize = 12;

/// Whether so much more was heard than the phrase that it was a part of talk: "hold on to the rail …".
pub fn is_part_of_talk(words: &str, evidence: &Evidence) -> bool {
    let free = evidence.free_transcription.as_deref();
    free.is_some_and(|free| Fit::of(words, free).overhang >= FAR_TOO_MANY)
}

/// How many letters of what was heard without a grammar stand before and after the phrase.
pub fn letters_around(hypothesis: &Hypothesis) -> usize {
    let free = hypothesis.evidence.free_transcription.as_deref();
    free.map_or(0, |free| Fit::of(&hypothesis.words, free).overhang)
}

/// Whether exactly the phrase was heard without a grammar, too.
pub fn heard_word_for_word(hypothesis: &Hypothesis) -> bool {
    let free = hypothesis.evidence.free_transcription.as_deref();
    free.is_some_and(|free| {
        let fit = Fit::of(&hypothesis.words, free);
        fit.likeness >= 1.0 && fit.overhang == 0
    })
}

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
        .any(|word| !readback.contains(word) && TURNING.contains(&word.as_str()));
    let asked = free.contains('?') && !words.contains('?');
    let begins_asking = heard
        .first()
        .is_some_and(|first| ASKING.contains(&first.as_str()) && readback.first() != Some(first));
    let more = Fit::of(words, free).overhang >= TOO_MANY;
    turned || asked || begins_asking || more
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Description;

    fn vetoed(words: &str, free: &str) -> bool {
        holds(words, &evidence(free))
    }

    fn evidence(free: &str) -> Evidence {
        Evidence {
            heard_by: Description {
                recogniser: String::new(),
                model: String::new(),
                model_sha256: String::new(),
            },
            score: None,
            margin_runner_up: None,
            margin_decoy: None,
            margin_free: None,
            free_transcription: Some(free.to_owned()),
            free_score: None,
            probability: None,
            nearest_decoy: None,
            ending: None,
            margin_decoy_by_sound: None,
            runner_up: None,
            confidence: None,
            snr_db: None,
            seconds: 2.0,
        }
    }

    #[test]
    fn what_turns_a_readback_around_is_seen() {
        let words = "wheels chocked and brake set";
        assert!(!vetoed(words, "Wheels, choked and break set."));
        assert!(vetoed(words, "Wheels chocked and brake not set."));
        assert!(vetoed(words, "Wheels aren't chocked and brake set."));
        assert!(vetoed(words, "Wheels chocked and brake set yet."));
        assert!(vetoed(words, "Are wheels chocked and brake set"));
        assert!(vetoed(words, "Wheels chocked and brake set?"));
        assert!(vetoed(words, "When wheels are chocked and brake set."));
        assert!(vetoed(
            words,
            "Wheels chocked and brake set, says the foreman."
        ));
        assert!(!vetoed(words, ""));
    }

    #[test]
    fn a_command_at_the_head_of_talk_is_talk() {
        let talk = |words: &str, free: &str| is_part_of_talk(words, &evidence(free));
        assert!(talk(
            "hold on",
            "Hold on to the rail, is there any coffee left?"
        ));
        assert!(!talk("hold on", "Hold on."));
        assert!(!talk("what torque", "Watt Torg"));
        // Said twice is still said.
        assert!(!talk("say again", "Say again. Say again."));
    }

    #[test]
    fn the_readbacks_own_words_are_free() {
        let words = "the van is on its stands and does not rock";
        assert!(!vetoed(
            words,
            "The van is on its stands and does not rock."
        ));
        assert!(vetoed(words, "The van is on its stands but does not rock."));
        assert!(!vetoed("stands stayed still", "Stands stayed still."));
    }
}
