//! From words to the symbols that the model speaks.

use super::pieces::mark;
use crate::VoiceError;
use crate::loudspeaker::engine::engine;

/// Run into “newton” or “millimetres” the model's tens are teens to a listener: spoken at eight speeds with three units,
/// PocketSphinx misheard 43 of 120. With a pause behind them it misheard 2.
const TENS: [&str; 8] = [
    "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
];

/// The mark to be spoken behind a word.
fn pause(word: &str) -> Option<char> {
    let tens = TENS.iter().any(|tens| word.eq_ignore_ascii_case(tens));
    mark(word).or(tens.then_some(','))
}

/// What is to be spoken.
#[derive(Debug, Default)]
pub struct Symbols {
    /// Sounds, marks of stress, spaces and punctuation.
    pub all: Vec<char>,
    /// With which symbol each word begins. The sounds of two words may melt into one another, so it can be a few too early
    /// or too late.
    pub words: Vec<(usize, String)>,
    /// The mark that they end with. None: the clause goes on.
    pub end: Option<char>,
}

impl Symbols {
    /// Those of a piece of a sentence, by a voice of espeak-ng.
    ///
    /// # Errors
    /// When libespeak-ng or its voice is missing.
    pub fn of(piece: &str, voice: &str) -> Result<Self, VoiceError> {
        let mut symbols = Self::default();
        let words: Vec<&str> = piece.split_whitespace().collect();
        for clause in words.split_inclusive(|word| pause(word).is_some()) {
            symbols.push(clause, voice)?;
        }
        symbols.end = words.last().and_then(|word| mark(word));
        Ok(symbols)
    }

    /// A word begins where the sounds of the words before it end, so these are asked for alone.
    fn push(&mut self, clause: &[&str], voice: &str) -> Result<(), VoiceError> {
        let beginnings: Vec<String> = (1..=clause.len())
            .map(|end| clause[..end].join(" "))
            .collect();
        let mut sounds = engine()?.phonemes(voice, &beginnings)?;
        let whole = sounds.pop().unwrap_or_default();
        if whole.is_empty() {
            return Ok(());
        }
        if !self.all.is_empty() {
            self.all.push(' ');
        }
        let from = self.all.len();
        self.all.extend(whole.chars());
        let last = self.all.len() - 1;
        let ends = sounds.iter().map(|before| from + before.chars().count());
        let begins = [from].into_iter().chain(ends);
        let words = begins.zip(clause);
        self.words
            .extend(words.map(|(at, word)| (at.min(last), (*word).to_owned())));
        self.all.extend(clause.last().and_then(|word| pause(word)));
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sentences in which each word keeps sounds of its own, so that the spaces tell where they begin.
    const SENTENCES: [&str; 3] = [
        "Tighten the wheel nuts to one hundred and forty newton metres.",
        "Put the vehicle on stands, take both wheels off, then check each hose.",
        "Hold point: say, the vehicle stands safely.",
    ];

    #[test]
    fn words_begin_where_their_sounds_do() {
        for sentence in SENTENCES {
            let symbols = Symbols::of(sentence, "en-us").unwrap();
            let spaces = symbols.all.iter().enumerate().filter(|(_, it)| **it == ' ');
            let begins: Vec<usize> = [0]
                .into_iter()
                .chain(spaces.map(|(at, _)| at + 1))
                .collect();
            assert_eq!(begins.len(), symbols.words.len(), "{symbols:?}");
            for (begins, (at, word)) in begins.into_iter().zip(&symbols.words) {
                assert!(at.abs_diff(begins) <= 2, "{word}: {at}, not {begins}");
            }
        }
    }

    #[test]
    fn tens_stand_apart_from_their_unit() {
        let symbols = Symbols::of("Seventy newton metres", "en-us").unwrap();
        let text: String = symbols.all.iter().collect();
        assert_eq!(text, "sˈɛvənti, nˈuːtən mˈiːɾɚz");
        assert_eq!(symbols.end, None);
    }

    #[test]
    fn punctuation_is_kept_and_silence_has_no_symbols() {
        let symbols = Symbols::of("Stop, now!", "en-us").unwrap();
        let text: String = symbols.all.iter().collect();
        assert_eq!(text, "stˈɑːp, nˈaʊ!");
        assert_eq!(symbols.end, Some('!'));
        assert!(Symbols::of("… .", "en-us").unwrap().all.is_empty());
    }
}
