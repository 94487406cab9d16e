//! The words that numbers are made of.

pub(super) const ONES: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];

/// By the tens digit; the first two have no word of their own.
pub(super) const TENS: [&str; 10] = [
    "", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
];

/// Parts that may be said with a numerator, with what they are parts of. All are exact as decimals of six
/// places. The plural is made with `s`; a half has none here.
pub(super) const PARTS: [(&str, i64); 9] = [
    ("half", 2),
    ("quarter", 4),
    ("eighth", 8),
    ("tenth", 10),
    ("sixteenth", 16),
    ("thirty second", 32),
    ("sixty fourth", 64),
    ("hundredth", 100),
    ("thousandth", 1000),
];

/// A digit as it is said: nought has three names.
pub(super) fn digit(word: &str) -> Option<u8> {
    match word {
        "oh" | "nought" => Some(0),
        _ => ONES[..10]
            .iter()
            .position(|&name| name == word)
            .and_then(|at| u8::try_from(at).ok()),
    }
}
