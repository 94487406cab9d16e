//! How the model may write what was said: with or without a capital, a full stop, a question mark.

use crate::{Phrase, Stake};

/// All ways to write a phrase that are scored, each with the space that the model puts before it.
pub fn variants(phrase: &Phrase) -> Vec<String> {
    let endings: &[&str] = match phrase.stake {
        Stake::Ask | Stake::Move | Stake::Gate => &["", ".", "?"],
        Stake::Stop => &["", ".", "!", "?"],
        Stake::Number => &["", "."],
    };
    let mut variants = Vec::new();
    for written in &phrase.written {
        let stem = written.trim().trim_end_matches(['.', '?', '!']);
        if stem.is_empty() {
            continue;
        }
        for stem in [stem.to_owned(), capitalised(stem)] {
            for ending in endings {
                let variant = format!(" {stem}{ending}");
                if !variants.contains(&variant) {
                    variants.push(variant);
                }
            }
        }
    }
    variants
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_and_ending_vary() {
        let phrase = Phrase::plain("what torque", Stake::Ask);
        let expected = [
            " what torque",
            " what torque.",
            " what torque?",
            " What torque",
            " What torque.",
            " What torque?",
        ];
        assert_eq!(variants(&phrase), expected);
        let number = Phrase {
            written: vec!["21.4".into(), ".".into()],
            ..Phrase::plain("n", Stake::Number)
        };
        assert_eq!(variants(&number), [" 21.4", " 21.4."]);
    }
}
