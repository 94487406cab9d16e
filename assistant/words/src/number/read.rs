//! Words to a value.

use super::names::{ONES, PARTS, TENS, digit};
use steps::Decimal;

/// What was said can't be read as exactly one number.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "“{0}” is not a number that I can read: say it digit by digit, with “point” where it belongs"
)]
pub struct NotANumber(pub String);

/// More words than any number here needs; what is longer isn't looked at.
const MAX_WORDS: usize = 40;

pub(super) fn read(text: &str) -> Result<Decimal, NotANumber> {
    let lower = text.to_lowercase();
    let separator = |c: char| c.is_whitespace() || c == '-' || c == ',';
    let words: Vec<&str> = lower
        .split(separator)
        .filter(|word| !word.is_empty())
        .collect();
    let (negative, unsigned) = match words.split_first() {
        Some((&("minus" | "negative"), rest)) => (true, rest),
        _ => (false, &words[..]),
    };
    Some(unsigned)
        .filter(|words| words.len() <= MAX_WORDS)
        .and_then(value)
        .and_then(|it| {
            if negative {
                Decimal::new(-it.digits(), it.places())
            } else {
                Some(it)
            }
        })
        .ok_or_else(|| NotANumber(text.to_owned()))
}

fn value(words: &[&str]) -> Option<Decimal> {
    match words.iter().position(|&word| word == "point") {
        Some(at) => with_point(&words[..at], &words[at + 1..]),
        None => whole(words)
            .and_then(|whole| Decimal::new(whole, 0))
            .or_else(|| with_part(words)),
    }
}

fn with_point(before: &[&str], after: &[&str]) -> Option<Decimal> {
    let whole = if before.is_empty() { 0 } else { whole(before)? };
    with_fraction(whole, &chunks(after)?.concat())
}

/// A whole number and the digits behind its decimal mark.
pub(super) fn with_fraction(whole: i64, fraction: &str) -> Option<Decimal> {
    let places = u8::try_from(fraction.len()).ok()?;
    let scale = 10i64.checked_pow(u32::from(places))?;
    let digits = whole
        .checked_mul(scale)?
        .checked_add(fraction.parse().ok()?)?;
    Decimal::new(digits, places)
}

/// "three eighths", "a half", "one and a half", "two and three quarters".
fn with_part(words: &[&str]) -> Option<Decimal> {
    let (whole, part) = match words.iter().rposition(|&word| word == "and") {
        // "one hundred and three eighths" could be two things.
        Some(at) if words[..at].last() == Some(&"hundred") => return None,
        Some(at) => (whole(&words[..at])?, &words[at + 1..]),
        None => (0, words),
    };
    let said = part.join(" ");
    let (numerator, of) = PARTS.iter().find_map(|&(name, of)| {
        let before = said.strip_suffix(name).or_else(|| {
            said.strip_suffix('s')
                .filter(|_| of != 2)
                .and_then(|said| said.strip_suffix(name))
        })?;
        let numerator = match before.trim_end() {
            "" if of == 2 => 1,
            "a" | "an" | "one" => 1,
            many if before.ends_with(' ') => cardinal(&many.split(' ').collect::<Vec<_>>())?,
            _ => return None,
        };
        (1..of).contains(&numerator).then_some((numerator, of))
    })?;
    let part = Decimal::new(numerator * 1_000_000 / of, 6)?.trimmed();
    let scale = 10i64.pow(u32::from(part.places()));
    Decimal::new(
        whole.checked_mul(scale)?.checked_add(part.digits())?,
        part.places(),
    )
}

fn whole(words: &[&str]) -> Option<i64> {
    cardinal(words).or_else(|| in_chunks(words))
}

/// "one hundred and seventy-three", "twelve hundred", "a thousand and one".
fn cardinal(words: &[&str]) -> Option<i64> {
    match words {
        ["zero" | "nought" | "oh"] => return Some(0),
        // "twelve hundred": a count of hundreds that isn't a count of thousands.
        _ => {
            if let Some(at) = words.iter().position(|&word| word == "hundred")
                && let Some(hundreds @ 10..) = below_hundred(&words[..at])
            {
                let rest = after_and(&words[at + 1..])?;
                return (hundreds % 10 != 0).then_some(hundreds * 100 + rest);
            }
        }
    }
    let mut words = words;
    let mut sum = 0;
    let mut said_more = false;
    for (name, size) in [
        ("billion", 1_000_000_000),
        ("million", 1_000_000),
        ("thousand", 1000),
    ] {
        if let Some(at) = words.iter().position(|&word| word == name) {
            let count = match &words[..at] {
                ["a"] if !said_more => 1,
                many => below_thousand(many)?,
            };
            sum += count * size;
            words = &words[at + 1..];
            said_more = true;
        }
    }
    match (said_more, words) {
        (true, []) => Some(sum),
        (true, ["and", rest @ ..]) => Some(sum + below_hundred(rest)?),
        (true | false, rest) => Some(sum + below_thousand(rest)?),
    }
}

/// 1 to 999.
fn below_thousand(words: &[&str]) -> Option<i64> {
    let Some(at) = words.iter().position(|&word| word == "hundred") else {
        return below_hundred(words);
    };
    let hundreds = match &words[..at] {
        [] | ["a"] => 1,
        many => below_hundred(many).filter(|&hundreds| hundreds < 10)?,
    };
    Some(hundreds * 100 + after_and(&words[at + 1..])?)
}

/// What follows "hundred": nothing, or up to 99 with or without "and".
fn after_and(words: &[&str]) -> Option<i64> {
    match words {
        [] => Some(0),
        ["and", rest @ ..] => below_hundred(rest),
        rest => below_hundred(rest),
    }
}

/// 1 to 99.
fn below_hundred(words: &[&str]) -> Option<i64> {
    let small = |word: &str| {
        ONES.iter()
            .skip(1)
            .position(|&name| name == word)
            .map(|at| at + 1)
    };
    let tens = |word: &str| {
        TENS.iter()
            .skip(2)
            .position(|&name| name == word)
            .map(|at| at + 2)
    };
    let value = match words {
        [one] => small(one).or_else(|| tens(one).map(|tens| tens * 10))?,
        [ten, one] => tens(ten)? * 10 + small(one).filter(|&one| one < 10)?,
        _ => return None,
    };
    i64::try_from(value).ok()
}

/// Digits one by one ("one seven three"), or in pairs, the first of which may be one digit ("one
/// seventy-three", "nineteen oh five"). A nought doesn't begin a whole number.
fn in_chunks(words: &[&str]) -> Option<i64> {
    let chunks = chunks(words)?;
    let single = chunks.iter().all(|chunk| chunk.len() == 1);
    let pairs = || chunks.iter().skip(1).all(|chunk| chunk.len() == 2);
    let noughts_pair = || chunks.iter().any(|chunk| chunk == "00");
    // "double three one" is digits too; its pair is written as two.
    let digits = chunks.concat();
    let doubled = words
        .iter()
        .any(|&word| matches!(word, "double" | "triple"));
    let one_way = single || doubled || (pairs() && !noughts_pair());
    (one_way && !digits.starts_with('0')).then(|| digits.parse().ok())?
}

/// Written digits, one text for each stretch that is said as one: a digit, "double" or "triple" and a
/// digit, ten to ninety-nine, or in whole numbers "oh five".
fn chunks(words: &[&str]) -> Option<Vec<String>> {
    let mut chunks: Vec<String> = Vec::new();
    let mut rest = words;
    let pairs = words
        .iter()
        .any(|&word| below_hundred(&[word]).is_some_and(|value| value > 9));
    while let Some((&first, after)) = rest.split_first() {
        let (chunk, taken) = match (first, after) {
            ("double", [next, ..]) => (digit(next)?.to_string().repeat(2), 2),
            ("triple", [next, ..]) => (digit(next)?.to_string().repeat(3), 2),
            ("oh" | "zero", [next, ..]) if pairs && !chunks.is_empty() && digit(next).is_some() => {
                (format!("0{}", digit(next)?), 2)
            }
            _ => match (digit(first), after) {
                (Some(digit), _) => (digit.to_string(), 1),
                (None, [next, ..]) if below_hundred(&[first, next]).is_some() => {
                    (below_hundred(&[first, next])?.to_string(), 2)
                }
                (None, _) => (below_hundred(&[first])?.to_string(), 1),
            },
        };
        chunks.push(chunk);
        rest = &rest[taken..];
    }
    (!chunks.is_empty()).then_some(chunks)
}
