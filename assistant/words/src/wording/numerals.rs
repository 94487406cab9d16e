//! Numbers as they are written, taken from the beginning of a text and said.

use super::Pace;
use super::scan::GAPS;
use super::signs::vulgar_fraction;
use crate::number::{cardinal, digit_by_digit, ordinal};

/// A written number with how it is said.
pub(super) struct Numeral {
    pub words: String,
    /// How many bytes of the text it took.
    pub length: usize,
    pub kind: Kind,
}

/// What decides how a unit after the number is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Exactly one.
    One,
    /// Any other number.
    Many,
    /// A part of one: "three quarters".
    Part,
    /// "half": no "of" stands before the unit.
    Half,
    /// "first", "ten thirty": no unit follows.
    Complete,
}

/// The longest whole number that is said as one; what is longer is said digit by digit.
pub(super) const LONGEST: usize = 12;

/// The number at the beginning of the text, which begins with a digit, with a point and a digit, or with a
/// fraction in one character.
pub(super) fn numeral(text: &str, pace: Pace) -> Option<Numeral> {
    let (digits, length) = whole_digits(text);
    let rest = &text[length..];
    if digits.is_empty() {
        return part(text, 0).or_else(|| decimal(text, "0", 0, pace));
    }
    time(text)
        .or_else(|| ordinal_number(rest, &digits, length))
        .or_else(|| decimal(rest, &digits, length, pace))
        .or_else(|| part(text, 0))
        .or_else(|| mixed_fraction(rest, &digits, length, pace))
        .or_else(|| {
            let kind = if digits.trim_start_matches('0') == "1" {
                Kind::One
            } else {
                Kind::Many
            };
            Some(Numeral {
                words: whole_words(&digits, pace),
                length,
                kind,
            })
        })
}

/// The digits at the beginning, commas between groups of three taken out, and their length in the text.
fn whole_digits(text: &str) -> (String, usize) {
    let plain = ascii_digits(text);
    let mut digits = text[..plain].to_owned();
    let mut length = plain;
    if (1..=3).contains(&plain) {
        while text[length..].starts_with(',') && ascii_digits(&text[length + 1..]) == 3 {
            digits.push_str(&text[length + 1..length + 4]);
            length += 4;
        }
    }
    (digits, length)
}

pub(super) fn ascii_digits(text: &str) -> usize {
    text.find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len())
}

pub(super) fn whole_words(digits: &str, pace: Pace) -> String {
    let leads_with_nought = digits.len() > 1 && digits.starts_with('0');
    match (pace, digits.parse::<u64>()) {
        (Pace::Usual, Ok(value)) if digits.len() <= LONGEST && !leads_with_nought => {
            cardinal(value)
        }
        (Pace::Usual | Pace::DigitByDigit, _) => digit_by_digit(digits),
    }
}

fn decimal(rest: &str, digits: &str, before: usize, pace: Pace) -> Option<Numeral> {
    let fraction = rest.strip_prefix('.')?;
    let length = ascii_digits(fraction);
    if length == 0 {
        return None;
    }
    let words = format!(
        "{} point {}",
        whole_words(digits, pace),
        digit_by_digit(&fraction[..length])
    );
    Some(Numeral {
        words,
        length: before + 1 + length,
        kind: Kind::Many,
    })
}

/// The hour and the minute of "10:30", "9:05", "10:00", and the length.
pub(super) fn clock(text: &str) -> Option<(u64, u64, usize)> {
    let (hour, after) = text.split_once(':')?;
    let hour: u64 = hour
        .parse()
        .ok()
        .filter(|&it| it < 24 && ascii_digits(hour) == hour.len() && hour.len() <= 2)?;
    let minute: u64 = after.get(..2)?.parse().ok().filter(|&minute| minute < 60)?;
    let length = text.len() - after.len() + 2;
    (ascii_digits(after) == 2).then_some((hour, minute, length))
}

fn time(text: &str) -> Option<Numeral> {
    let (hour, minute, length) = clock(text)?;
    let words = match minute {
        0 => format!("{} o'clock", cardinal(hour)),
        1..=9 => format!("{} oh {}", cardinal(hour), cardinal(minute)),
        _ => format!("{} {}", cardinal(hour), cardinal(minute)),
    };
    Some(Numeral {
        words,
        length,
        kind: Kind::Complete,
    })
}

fn ordinal_number(rest: &str, digits: &str, length: usize) -> Option<Numeral> {
    let suffix = rest
        .get(..2)
        .filter(|suffix| matches!(*suffix, "st" | "nd" | "rd" | "th"))?;
    let ends = rest[suffix.len()..]
        .chars()
        .next()
        .is_none_or(|c| !c.is_alphanumeric());
    let value: u64 = digits.parse().ok().filter(|_| digits.len() <= LONGEST)?;
    ends.then(|| Numeral {
        words: ordinal(value),
        length: length + 2,
        kind: Kind::Complete,
    })
}

/// "3/4", "¾": how many of what, and the length.
pub(super) fn fraction(text: &str) -> Option<((u64, u64), usize)> {
    let first = text.chars().next()?;
    if let Some(fraction) = vulgar_fraction(first) {
        return Some((fraction, first.len_utf8()));
    }
    let (many, many_length) = small(text)?;
    let slash = text[many_length..]
        .chars()
        .next()
        .filter(|c| matches!(c, '/' | '⁄'))?;
    let after = many_length + slash.len_utf8();
    let (of, of_length) = small(&text[after..])?;
    Some(((many, of), after + of_length))
}

fn part(text: &str, whole_length: usize) -> Option<Numeral> {
    let ((many, of), length) = fraction(text)?;
    let name = match of {
        2 => "half".to_owned(),
        4 => "quarter".to_owned(),
        3 | 5..=100 => ordinal(of),
        _ => return None,
    };
    let words = match many {
        0 => return None,
        _ if many >= of => return None,
        1 if of == 2 => "half".to_owned(),
        1 => format!("one {name}"),
        _ => format!("{} {name}s", cardinal(many)),
    };
    let kind = if words == "half" {
        Kind::Half
    } else {
        Kind::Part
    };
    Some(Numeral {
        words,
        length: whole_length + length,
        kind,
    })
}

/// A whole number of at most three figures.
fn small(text: &str) -> Option<(u64, usize)> {
    let length = ascii_digits(text);
    if !(1..=3).contains(&length) {
        return None;
    }
    text[..length].parse().ok().map(|value| (value, length))
}

/// "1 1/2", "1½".
fn mixed_fraction(rest: &str, digits: &str, length: usize, pace: Pace) -> Option<Numeral> {
    let gap = rest.len() - rest.trim_start_matches(GAPS).len();
    let part = part(&rest[gap..], length + gap)?;
    let joined = match part.words.as_str() {
        "half" => "a half",
        "one quarter" => "a quarter",
        words => words,
    };
    let words = format!("{} and {joined}", whole_words(digits, pace));
    Some(Numeral {
        words,
        length: part.length,
        kind: Kind::Many,
    })
}
