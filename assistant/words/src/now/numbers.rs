//! The numbers that a reading can be.

use super::commands::{listed, without_prefix};
use super::parts;
use super::{CannotListen, NotUnderstood, Sayable, Stake, figures};
use crate::said::plain;
use crate::{number, wording};
use steps::{Command, Decimal, Language, NumberWanted};

/// How many numbers can be told apart by ear.
const MOST: u64 = 1200;
/// How many ways of writing a number are worth comparing with.
const MAX_WRITTEN: usize = 10;
/// How many ways of saying a number are listed with its unit too.
const WITH_UNIT: usize = 3;

#[derive(Debug, Clone)]
pub(super) struct Numbers {
    wanted: NumberWanted,
    /// From the first to the last, in steps of 10^−`places`.
    first: i64,
    last: i64,
    /// The unit's symbol, and its words for one and for many.
    unit: Vec<String>,
    prefixes: Vec<String>,
    language: Language,
}

impl Numbers {
    pub fn new(language: Language, wanted: &NumberWanted) -> Result<Self, CannotListen> {
        let scale = |value: Decimal, up: i128| {
            let from = u32::from(value.places());
            let to = u32::from(wanted.places.min(steps::MAX_PLACES));
            let scaled = i128::from(value.digits()) * 10i128.pow(to);
            let divisor = 10i128.pow(from);
            let down = scaled.div_euclid(divisor);
            down + if scaled.rem_euclid(divisor) == 0 {
                0
            } else {
                up
            }
        };
        let (first, last) = (scale(wanted.least, 1), scale(wanted.most, 0));
        let count = u64::try_from(last - first + 1).unwrap_or(0);
        let too_many = || CannotListen::TooManyNumbers {
            count,
            limit: MOST,
            least: wanted.least,
            most: wanted.most,
        };
        if count > MOST {
            return Err(too_many());
        }
        let unit = match wording::unit_words(language, &wanted.unit) {
            Some((one, many)) => vec![many.to_owned(), one.to_owned(), wanted.unit.clone()],
            None if wanted.unit.trim().is_empty() => Vec::new(),
            None => vec![wanted.unit.clone()],
        };
        Ok(Self {
            wanted: wanted.clone(),
            first: i64::try_from(first).map_err(|_| too_many())?,
            last: i64::try_from(last).map_err(|_| too_many())?,
            unit,
            prefixes: listed(language, "reading-prefix"),
            language,
        })
    }

    pub fn sayables(&self) -> Vec<Sayable> {
        let values = (self.first..=self.last).filter_map(|n| Decimal::new(n, self.wanted.places));
        values.map(|value| self.sayable(value)).collect()
    }

    fn sayable(&self, value: Decimal) -> Sayable {
        let mut spoken = number::spoken_variants(self.language, value);
        let mut written = number::written_variants(self.language, value);
        written.truncate(MAX_WRITTEN);
        // "one millimetre", "two millimetres".
        let one = value == Decimal::new(1, 0).unwrap_or(value);
        let unit_said = self
            .unit
            .get(usize::from(one && self.unit.len() > 1))
            .map(|unit| plain(unit));
        if let Some(unit) = unit_said {
            let usual: Vec<_> = spoken.iter().take(WITH_UNIT).cloned().collect();
            spoken.extend(usual.iter().map(|said| format!("{said} {unit}")));
            written.push(format!("{value} {unit}"));
            written.push(format!("{value} {}", self.wanted.unit));
        }
        let (in_parts, parts_written) = parts::said(self.language, value, &self.wanted.unit);
        spoken.extend(in_parts);
        written.extend(parts_written);
        let words = spoken.first().cloned().unwrap_or_default();
        let prefix = match self.language {
            Language::English => "reading",
            Language::Spanish => "lectura",
        };
        spoken.push(format!("{prefix} {words}"));
        written.push(format!("{prefix} {value}"));
        Sayable {
            words,
            spoken,
            written,
            stake: Stake::Number,
            decoy: false,
            command: Some(Command::Reading { value }),
        }
    }

    /// The number in a text, in words or figures, with "reading" before it or the unit after it.
    pub fn read(&self, text: &str) -> Option<Decimal> {
        let text = match self.language {
            Language::English => without_group_commas(text),
            Language::Spanish => with_points(text),
        };
        let heard = plain(&text);
        let rest = without_prefix(&heard, &self.prefixes);
        // A unit in letters may be glued to the figures: "17.5mm".
        let apart = figures_apart(rest);
        if self.language == Language::English && parts::is_doubtful(&apart, &self.wanted.unit) {
            return None;
        }
        let units = self.unit.iter().map(|unit| plain(unit));
        let number = units
            .filter_map(|unit| {
                apart
                    .strip_suffix(&unit)?
                    .strip_suffix(' ')
                    .map(str::to_owned)
            })
            .min_by_key(String::len)
            .unwrap_or_else(|| apart.clone());
        let value = |number: &str| {
            let figures = number.parse().ok();
            figures.or_else(|| {
                number::read(self.language, &figures::in_words(self.language, number)).ok()
            })
        };
        value(&number).or_else(|| parts::read(self.language, &apart, &self.wanted.unit, value))
    }

    /// The value as the instrument gives it, if it may be.
    pub fn within(&self, value: Decimal) -> Result<Decimal, NotUnderstood> {
        let NumberWanted {
            least,
            most,
            places,
            ..
        } = self.wanted;
        let trimmed = value.trimmed();
        if value < least || value > most {
            return Err(NotUnderstood::OutOfRange { value, least, most });
        }
        let missing = places
            .checked_sub(trimmed.places())
            .ok_or(NotUnderstood::TooFine { value, places })?;
        let digits = trimmed.digits().checked_mul(10i64.pow(u32::from(missing)));
        Ok(digits
            .and_then(|digits| Decimal::new(digits, places))
            .unwrap_or(trimmed))
    }
}

/// "1,200" is one number, "1, 7, 3" three.
fn without_group_commas(text: &str) -> String {
    let characters: Vec<char> = text.chars().collect();
    let digit = |at: Option<usize>| {
        at.and_then(|at| characters.get(at))
            .is_some_and(char::is_ascii_digit)
    };
    let kept = characters
        .iter()
        .enumerate()
        .filter(|&(at, &c)| c != ',' || !digit(at.checked_sub(1)) || !digit(Some(at + 1)));
    kept.map(|(_, c)| c).collect()
}

/// "17,5" to "17.5": a comma between two figures is the decimal mark.
fn with_points(text: &str) -> String {
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    let mut before = None;
    let mut characters = text.chars().peekable();
    let mut pointed = String::with_capacity(text.len());
    while let Some(c) = characters.next() {
        let decimal = c == ',' && digit(before) && digit(characters.peek().copied());
        pointed.push(if decimal { '.' } else { c });
        before = Some(c);
    }
    pointed
}

/// "17.5mm" to "17.5 mm".
fn figures_apart(text: &str) -> String {
    let mut apart = String::with_capacity(text.len() + 1);
    let mut before = ' ';
    for c in text.chars() {
        if before.is_ascii_digit() && c.is_alphabetic() {
            apart.push(' ');
        }
        apart.push(c);
        before = c;
    }
    apart
}
