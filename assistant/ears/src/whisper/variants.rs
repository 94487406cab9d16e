//! How the model may write what was said: with or without a full stop, a question mark.
//!
//! Always with a capital, as it nearly always begins. Beginnings in lower case as well would take every second
//! place of the beam: left out, margins to other phrases grew by a third of a nat and a fifth of the time went.

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
        let stem = capitalised(stem);
        for ending in endings {
            let variant = format!(" {stem}{ending}");
            if !variants.contains(&variant) {
                variants.push(variant);
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
    fn the_ending_varies() {
        let phrase = Phrase::plain("what torque", Stake::Ask);
        let expected = [" What torque", " What torque.", " What torque?"];
        assert_eq!(variants(&phrase), expected);
        let number = Phrase {
            written: vec!["21.4".into(), ".".into()],
            ..Phrase::plain("n", Stake::Number)
        };
        assert_eq!(variants(&number), [" 21.4", " 21.4."]);
    }
}
