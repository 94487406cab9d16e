//! Text to the model's tokens and back: byte-level byte-pair encoding as in A. Radford et al., "Language
//! Models are Unsupervised Multitask Learners" (2019), section 2.2.
//!
//! A vocabulary in the order of its merges is all that is needed: the pair to join first is the one whose
//! joined token comes first.

use crate::RecogniserError;
use std::collections::HashMap;
use std::path::Path;

/// A token's place in the vocabulary.
pub type Token = u32;

/// The vocabulary of the model.
pub struct Vocabulary {
    texts: Vec<Vec<u8>>,
    tokens: HashMap<Vec<u8>, Token>,
    /// Ends a transcript; all later tokens are marks that are no text.
    pub end: Token,
    /// The tokens that every transcript starts with.
    pub start: [Token; 2],
}

impl Vocabulary {
    /// Reads `vocabulary.txt`, one token a line.
    pub fn read(path: &Path) -> Result<Self, RecogniserError> {
        let text = std::fs::read_to_string(path).map_err(|error| match error.kind() {
            std::io::ErrorKind::NotFound => RecogniserError::Missing {
                what: "the default ear's vocabulary".to_owned(),
                path: path.to_owned(),
                remedy: "run `cargo xtask setup`".to_owned(),
            },
            _ => RecogniserError::Unusable {
                path: path.to_owned(),
                reason: error.to_string(),
            },
        })?;
        Self::parse(&text).map_err(|reason| RecogniserError::Unusable {
            path: path.to_owned(),
            reason,
        })
    }

    fn parse(text: &str) -> Result<Self, String> {
        let letters: HashMap<char, u8> = (0..=255).map(|byte| (letter_of(byte), byte)).collect();
        let lines: Vec<&str> = text.lines().collect();
        let special = |name: &str| {
            let place = lines.iter().position(|line| *line == name);
            place
                .and_then(|place| Token::try_from(place).ok())
                .ok_or(format!("it lacks {name}"))
        };
        let end = special("<|endoftext|>")?;
        let start = [
            special("<|startoftranscript|>")?,
            special("<|notimestamps|>")?,
        ];
        let texts: Vec<Vec<u8>> = lines[..end as usize]
            .iter()
            .map(|line| {
                line.chars()
                    .map(|letter| letters.get(&letter).copied())
                    .collect()
            })
            .collect::<Option<_>>()
            .ok_or("a line in it isn't a byte-level token")?;
        let tokens: HashMap<Vec<u8>, Token> =
            (0..end).map(|t| (texts[t as usize].clone(), t)).collect();
        if let Some(byte) = (0..=255u8).find(|byte| !tokens.contains_key(&[*byte][..])) {
            return Err(format!("it lacks the byte {byte}"));
        }
        Ok(Self {
            texts,
            tokens,
            end,
            start,
        })
    }

    /// The tokens of a text. A word inside a sentence has its space before it.
    pub fn encode(&self, text: &str) -> Vec<Token> {
        pieces(text)
            .into_iter()
            .flat_map(|piece| self.encode_piece(piece))
            .collect()
    }

    fn encode_piece(&self, piece: &str) -> Vec<Token> {
        let mut parts: Vec<&[u8]> = piece.as_bytes().chunks(1).collect();
        let mut starts: Vec<usize> = (0..parts.len()).collect();
        loop {
            let joined = |at: usize| {
                let from = starts[at];
                &piece.as_bytes()[from..from + parts[at].len() + parts[at + 1].len()]
            };
            let pair = (0..parts.len().saturating_sub(1))
                .filter_map(|at| self.tokens.get(joined(at)).map(|token| (*token, at)))
                .min();
            let Some((_, at)) = pair else { break };
            parts[at] = joined(at);
            parts.remove(at + 1);
            starts.remove(at + 1);
        }
        // Every single byte is a token, and a longer part was joined only because it is one.
        parts
            .iter()
            .filter_map(|part| self.tokens.get(*part).copied())
            .collect()
    }

    /// The text of tokens; marks are left out.
    pub fn decode(&self, tokens: &[Token]) -> String {
        let bytes: Vec<u8> = tokens
            .iter()
            .filter_map(|token| self.texts.get(*token as usize))
            .flatten()
            .copied()
            .collect();
        String::from_utf8_lossy(&bytes).into_owned()
    }
}

/// The letter that stands for a byte: itself where it prints, else one from 256 on.
fn letter_of(byte: u8) -> char {
    let prints = |byte: u8| matches!(byte, b'!'..=b'~' | 0xa1..=0xac | 0xae..=0xff);
    if prints(byte) {
        return char::from(byte);
    }
    let before = (0..byte).filter(|earlier| !prints(*earlier)).count() as u32;
    // 256 to 511 are all letters.
    char::from_u32(256 + before).unwrap_or(char::REPLACEMENT_CHARACTER)
}

#[derive(PartialEq, Eq, Clone, Copy)]
enum Kind {
    Letter,
    Digit,
    Space,
    Other,
}

fn kind(letter: char) -> Kind {
    if letter.is_alphabetic() {
        Kind::Letter
    } else if letter.is_numeric() {
        Kind::Digit
    } else if letter.is_whitespace() {
        Kind::Space
    } else {
        Kind::Other
    }
}

/// Cuts a text where no token may cross: the pattern
/// `'s|'t|'re|'ve|'m|'ll|'d| ?\p{L}+| ?\p{N}+| ?[^\s\p{L}\p{N}]+|\s+(?!\S)|\s+` of the paper's encoder.
fn pieces(text: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let contraction = ["'s", "'t", "'re", "'ve", "'m", "'ll", "'d"].into_iter();
        let mut contraction = contraction.filter(|ending| rest.starts_with(ending));
        let run = |from: usize, of: Kind| {
            let letters = rest[from..].char_indices();
            letters
                .skip_while(|(_, letter)| kind(*letter) == of)
                .map(|(at, _)| from + at)
                .next()
        };
        let length = if let Some(ending) = contraction.next() {
            ending.len()
        } else {
            let lead = usize::from(first == ' ');
            match rest[lead..].chars().next().map(kind) {
                Some(of @ (Kind::Letter | Kind::Digit | Kind::Other)) => {
                    run(lead, of).unwrap_or(rest.len())
                }
                // More than one space: the last goes with what follows.
                Some(Kind::Space) | None => match run(0, Kind::Space) {
                    None => rest.len(),
                    Some(end) => {
                        let last = rest[..end].chars().next_back().map_or(1, char::len_utf8);
                        if end > last { end - last } else { end }
                    }
                },
            }
        };
        let (piece, after) = rest.split_at(length);
        pieces.push(piece);
        rest = after;
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_cut_as_the_encoder_cuts_them() {
        assert_eq!(
            pieces(" What's 21.4, 90°?"),
            [" What", "'s", " 21", ".", "4", ",", " 90", "°?"]
        );
        assert_eq!(pieces("a   b "), ["a", "  ", " b", " "]);
        assert_eq!(pieces("é\t\nß"), ["é", "\t", "\n", "ß"]);
        assert!(pieces("").is_empty());
    }

    #[test]
    fn letters_stand_for_bytes() {
        assert_eq!(
            (letter_of(b'a'), letter_of(b' '), letter_of(b'\n')),
            ('a', 'Ġ', 'Ċ')
        );
    }

    #[test]
    fn a_vocabulary_without_its_marks_is_refused() {
        assert!(Vocabulary::parse("a\nb\n").is_err());
    }
}
