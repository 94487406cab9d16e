//! Numbers inside a phrase: written in figures where they are said in words, and back.

use crate::number;
use steps::{Decimal, Language};

/// Words that are spelt in two ways: ours, and the other that a transcriber may use.
const SPELT: [(&str, &str); 10] = [
    ("caliper", "calliper"),
    ("centimetre", "centimeter"),
    ("centimetres", "centimeters"),
    ("grey", "gray"),
    ("metre", "meter"),
    ("metres", "meters"),
    ("millimetre", "millimeter"),
    ("millimetres", "millimeters"),
    ("tyre", "tire"),
    ("tyres", "tires"),
];

/// How a phrase may be written: in words, with its numbers in figures ("all 5 nuts at 140"), spelt otherwise.
pub(super) fn written(language: Language, words: &str) -> Vec<String> {
    let usual = match language {
        Language::English => with_capital_i(words),
        Language::Spanish => words.to_owned(),
    };
    let mut ways = vec![usual.clone()];
    let spelt = usual.split(' ').map(|word| {
        SPELT
            .iter()
            .find(|(ours, _)| *ours == word)
            .map_or(word, |(_, other)| *other)
    });
    let spelt = spelt.collect::<Vec<_>>().join(" ");
    if spelt != usual {
        ways.push(spelt);
    }
    // Small numbers are often left in words by whoever writes figures for the large ones.
    for from in [0, 10] {
        let figures = in_figures(language, &usual, from);
        if !ways.contains(&figures) {
            ways.push(figures);
        }
    }
    ways
}

/// "i'm done" is written "I'm done".
fn with_capital_i(words: &str) -> String {
    let written = words.split(' ').map(|word| match word {
        "i" | "i'm" | "i've" | "i'll" => word.replacen('i', "I", 1),
        _ => word.to_owned(),
    });
    written.collect::<Vec<_>>().join(" ")
}

/// With each number of at least `from` in figures.
fn in_figures(language: Language, words: &str, from: i64) -> String {
    let words: Vec<&str> = words.split(' ').collect();
    let mut written = Vec::new();
    let mut at = 0;
    while at < words.len() {
        match longest_number(language, &words[at..]) {
            Some((value, taken)) => {
                let least = Decimal::new(from, 0).is_none_or(|from| value >= from);
                let run = words[at..at + taken].join(" ");
                written.push(if least { value.to_string() } else { run });
                at += taken;
            }
            None => {
                written.push(words[at].to_owned());
                at += 1;
            }
        }
    }
    written.join(" ")
}

/// No number is said in more words than this inside a phrase.
const LONGEST: usize = 12;

/// The longest run of words at the beginning that is a number, with its length.
fn longest_number(language: Language, words: &[&str]) -> Option<(Decimal, usize)> {
    (1..=words.len().min(LONGEST)).rev().find_map(|taken| {
        // "oh" alone, "half" and "hundred" are more often other things.
        let run = &words[..taken];
        let doubtful = match language {
            Language::English => matches!(run, ["oh" | "half" | "hundred"]),
            // “Una” is an article.
            Language::Spanish => matches!(run, ["un" | "una" | "uno"]),
        };
        let value = number::read(language, &run.join(" "))
            .ok()
            .filter(|_| !doubtful)?;
        Some((value, taken))
    })
}

/// With each figure in words: "1 7 3" becomes "one seven three", "17 point 5" "seventeen point five".
pub(super) fn in_words(language: Language, plain: &str) -> String {
    let words = plain.split(' ').map(|word| match word.parse::<Decimal>() {
        Ok(value) if word.len() > 1 && word.starts_with('0') && value.places() == 0 => {
            number::digits(language, word)
        }
        Ok(value) => number::spell(language, value).replace('-', " "),
        Err(_) => word.to_owned(),
    });
    words.collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_both_ways() {
        assert_eq!(
            written(Language::English, "all five nuts at one hundred and forty"),
            [
                "all five nuts at one hundred and forty",
                "all 5 nuts at 140",
                "all five nuts at 140"
            ]
        );
        assert_eq!(
            written(Language::English, "both tyres"),
            ["both tyres", "both tires"]
        );
        assert_eq!(
            written(Language::English, "i'm on the hundred"),
            ["I'm on the hundred"]
        );
        assert_eq!(
            in_words(Language::English, "all 5 nuts at 140"),
            "all five nuts at one hundred and forty"
        );
        assert_eq!(
            in_words(Language::English, "17 point 05"),
            "seventeen point zero five"
        );
    }
}
