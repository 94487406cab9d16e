//! A sentence in pieces: one is made while the one before is played.
//!
//! # Why in pieces, and on one thread?
//!
//! A sentence is made in pieces of at most 45 letters so that it begins to sound early. Two threads took 1.2 to 2
//! times the processor time, and the ear needs the other core. A piece took 60 to 240 ms of processor time, and the
//! first sound came after 66 to 226 ms (`cargo bench -p voice --bench first_sound`, six sentences), against 13 to 53
//! ms with espeak-ng. `tests/own_voice` plays espeak-ng's voice; what the canceller leaves of this one hasn't been
//! measured.

/// Letters of a piece at most: three seconds of speech, of which the first sounds when all is made.
const LONGEST: usize = 45;

const CLAUSE_ENDS: &str = ".!?,;:";
const SENTENCE_ENDS: &str = ".!?";

/// What may stand between a mark and the space behind it.
const CLOSING: [char; 6] = ['"', '”', '\'', '’', ')', ']'];

/// Words before which a clause is best cut: what follows them belongs together.
const JOINING: [&str; 16] = [
    "at", "before", "behind", "for", "from", "in", "into", "of", "on", "so", "then", "to", "under",
    "until", "with", "without",
];

/// The mark that ends a clause with this word.
pub fn mark(word: &str) -> Option<char> {
    let last = word.trim_end_matches(CLOSING).chars().next_back();
    last.filter(|last| CLAUSE_ENDS.contains(*last))
}

/// Whether it is a whole sentence that this mark ends.
pub fn ends_sentence(mark: char) -> bool {
    SENTENCE_ENDS.contains(mark)
}

/// The pieces, each of whole words unless one is longer than a piece: up to the end of a sentence, else to the last mark
/// that fits, else to a word before which a speaker might pause.
pub fn pieces(sentence: &str) -> Vec<String> {
    let words: Vec<String> = sentence.split_whitespace().flat_map(fitting).collect();
    let mut words = words.as_slice();
    let mut pieces = Vec::new();
    while !words.is_empty() {
        let (piece, rest) = words.split_at(next(words));
        pieces.push(piece.join(" "));
        words = rest;
    }
    pieces
}

fn fitting(word: &str) -> Vec<String> {
    let letters: Vec<char> = word.chars().collect();
    letters
        .chunks(LONGEST)
        .map(|part| part.iter().collect())
        .collect()
}

/// How many words the next piece has.
fn next(words: &[String]) -> usize {
    let ends = words.iter().scan(0, |end, word| {
        *end += word.chars().count() + 1;
        Some(*end - 1)
    });
    let most = ends.take_while(|end| *end <= LONGEST).count().max(1);
    let fit = &words[..most];
    if let Some(last) = fit
        .iter()
        .position(|word| mark(word).is_some_and(ends_sentence))
    {
        return last + 1;
    }
    if most == words.len() {
        return most;
    }
    let marked = fit.iter().rposition(|word| mark(word).is_some());
    let joined = words[..=most]
        .iter()
        .rposition(|word| JOINING.contains(&word.as_str()));
    marked
        .map(|last| last + 1)
        .or(joined.filter(|first| *first > 0))
        .unwrap_or(most)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn sentences_and_clauses_are_cut_at_their_ends_and_long_ones_before_a_joining_word() {
        assert_eq!(
            pieces("Stop. Tighten the wheel nuts to one hundred and forty newton metres."),
            [
                "Stop.",
                "Tighten the wheel nuts",
                "to one hundred and forty newton metres."
            ]
        );
        assert_eq!(
            pieces(
                "Say, the vehicle is on stands (“on stands”), and put the wheel under the sill."
            ),
            [
                "Say, the vehicle is on stands (“on stands”),",
                "and put the wheel under the sill."
            ]
        );
        assert_eq!(pieces(" \t"), Vec::<String>::new());
    }

    proptest! {
        #[test]
        fn nothing_is_lost_and_no_piece_is_too_long(sentence in "[a-z ,.!\u{e9}]{0,300}") {
            let pieces = pieces(&sentence);
            let letters = |text: &str| text.split_whitespace().collect::<String>();
            prop_assert_eq!(letters(&pieces.concat()), letters(&sentence));
            prop_assert!(pieces.iter().all(|piece| (1..=LONGEST).contains(&piece.chars().count())));
        }
    }
}
