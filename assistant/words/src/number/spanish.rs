//! Spoken Spanish numbers, both ways and exactly.
//!
//! The cardinals follow the Real Academia Española's Ortografía (2010): “dieciséis”, “veintidós”, “treinta y uno”, no
//! “y” after hundreds. A decimal mark is said “coma”; “punto” is understood too.

use super::NotANumber;
use super::read::with_fraction;
use super::spell::{digits_as, taken_apart};
use super::variants::{each_once, with_and_without_noughts};
use steps::Decimal;

const ONES: [&str; 30] = [
    "cero",
    "uno",
    "dos",
    "tres",
    "cuatro",
    "cinco",
    "seis",
    "siete",
    "ocho",
    "nueve",
    "diez",
    "once",
    "doce",
    "trece",
    "catorce",
    "quince",
    "dieciséis",
    "diecisiete",
    "dieciocho",
    "diecinueve",
    "veinte",
    "veintiuno",
    "veintidós",
    "veintitrés",
    "veinticuatro",
    "veinticinco",
    "veintiséis",
    "veintisiete",
    "veintiocho",
    "veintinueve",
];

/// By the tens digit; the first three have their words above.
const TENS: [&str; 10] = [
    "",
    "",
    "",
    "treinta",
    "cuarenta",
    "cincuenta",
    "sesenta",
    "setenta",
    "ochenta",
    "noventa",
];

const HUNDREDS: [&str; 10] = [
    "",
    "ciento",
    "doscientos",
    "trescientos",
    "cuatrocientos",
    "quinientos",
    "seiscientos",
    "setecientos",
    "ochocientos",
    "novecientos",
];

/// What a number is said before: it agrees with that.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Before {
    /// Nothing that it counts: “veintiuno”.
    Nothing,
    /// A masculine noun: “veintiún milímetros”.
    Masculine,
    /// A feminine noun: “veintiuna tuercas”, “doscientas libras”.
    Feminine,
}

/// A whole number in words.
pub(crate) fn cardinal(number: u64, before: Before) -> String {
    let mut words = Vec::new();
    let mut rest = number;
    for (one, many, size) in [
        ("billón", "billones", 1_000_000_000_000),
        ("millón", "millones", 1_000_000),
    ] {
        match rest / size {
            0 => {}
            1 => words.push(format!("un {one}")),
            count => words.push(format!("{} {many}", cardinal(count, Before::Masculine))),
        }
        rest %= size;
    }
    match rest / 1000 {
        0 => {}
        1 => words.push("mil".to_owned()),
        count => {
            // “Treinta y un mil libras”, but “doscientas mil”.
            let of = match before {
                Before::Nothing => Before::Masculine,
                Before::Masculine | Before::Feminine => before,
            };
            words.push(format!("{} mil", below_thousand(count, of)));
        }
    }
    rest %= 1000;
    if rest > 0 || words.is_empty() {
        words.push(below_thousand(rest, before));
    }
    words.join(" ")
}

/// 0 to 999.
fn below_thousand(number: u64, before: Before) -> String {
    let (hundreds, rest) = ((number / 100 % 10) as usize, number % 100);
    if number == 100 {
        return "cien".to_owned();
    }
    let mut words = Vec::new();
    if hundreds > 0 {
        let word = HUNDREDS[hundreds];
        words.push(match before {
            Before::Feminine => word.replace("ientos", "ientas"),
            Before::Nothing | Before::Masculine => word.to_owned(),
        });
    }
    let (tens, one) = ((rest / 10) as usize, (rest % 10) as usize);
    match rest {
        0 if hundreds > 0 => {}
        0..=29 => words.push(agreeing(ONES[rest as usize], before)),
        _ if one == 0 => words.push(TENS[tens].to_owned()),
        _ => words.push(format!("{} y {}", TENS[tens], agreeing(ONES[one], before))),
    }
    words.join(" ")
}

/// “Uno” before what it counts.
fn agreeing(word: &str, before: Before) -> String {
    match (word, before) {
        ("veintiuno", Before::Masculine) => "veintiún".to_owned(),
        ("uno", Before::Masculine) => "un".to_owned(),
        ("uno" | "veintiuno", Before::Feminine) => word.replace("uno", "una"),
        _ => word.to_owned(),
    }
}

/// Each digit as a word; other characters are left out.
pub(crate) fn digit_by_digit(digits: &str) -> String {
    digits_as(&ONES, digits)
}

/// The value in words: “ciento setenta y tres coma cinco”.
pub(super) fn spell(value: Decimal) -> String {
    let (sign, whole, fraction) = apart(value);
    format!(
        "{sign}{}{}",
        cardinal(whole, Before::Nothing),
        comma(&fraction)
    )
}

/// The value digit by digit.
pub(super) fn spell_digits(value: Decimal) -> String {
    let (sign, whole, fraction) = apart(value);
    let whole = digit_by_digit(&whole.to_string());
    format!("{sign}{whole}{}", comma(&fraction))
}

fn apart(value: Decimal) -> (&'static str, u64, String) {
    let (sign, whole, fraction) = taken_apart(value);
    let sign = if sign.is_empty() { "" } else { "menos " };
    (sign, whole, fraction)
}

fn comma(fraction: &str) -> String {
    match fraction.is_empty() {
        true => String::new(),
        false => format!(" coma {}", digit_by_digit(fraction)),
    }
}

/// How the value may be said, the usual way first; each reads back as this value.
pub(super) fn spoken_variants(value: Decimal) -> Vec<String> {
    let mut said = Vec::new();
    for value in with_and_without_noughts(value) {
        let (sign, whole, fraction) = apart(value);
        let mut wholes = vec![cardinal(whole, Before::Nothing)];
        if whole >= 10 {
            wholes.push(digit_by_digit(&whole.to_string()));
        }
        let fractions = fraction_variants(&fraction);
        for whole in &wholes {
            if fraction.is_empty() {
                said.push(format!("{sign}{whole}"));
            }
            for mark in ["coma", "punto"] {
                let said_so = fractions
                    .iter()
                    .map(|it| format!("{sign}{whole} {mark} {it}"));
                said.extend(said_so);
            }
        }
    }
    each_once(said)
}

/// “Dos cinco”, “veinticinco”, “cero cinco”; none where there is no fraction.
fn fraction_variants(fraction: &str) -> Vec<String> {
    if fraction.is_empty() {
        return Vec::new();
    }
    let mut said = vec![digit_by_digit(fraction)];
    let noughts = fraction.len() - fraction.trim_start_matches('0').len();
    let (zeros, rest) = fraction.split_at(noughts);
    if let Ok(rest @ 10..=999) = rest.parse::<u64>() {
        let rest = cardinal(rest, Before::Nothing);
        said.push(
            format!("{} {rest}", digit_by_digit(zeros))
                .trim()
                .to_owned(),
        );
    }
    said
}

/// How the value may be written by whoever writes down what was said.
pub(super) fn written_variants(value: Decimal) -> Vec<String> {
    let mut written = Vec::new();
    for value in with_and_without_noughts(value) {
        let (sign, whole, fraction) = apart(value);
        let minus = if sign.is_empty() { "" } else { "-" };
        match fraction.is_empty() {
            true => written.push(format!("{minus}{whole}")),
            false => {
                written.push(format!("{minus}{whole},{fraction}"));
                written.push(format!("{minus}{whole}.{fraction}"));
                written.push(format!("{sign}{whole} coma {fraction}"));
            }
        }
        written.extend(spoken_variants(value).into_iter().take(6));
    }
    each_once(written)
}

/// More words than any number here needs.
const MAX_WORDS: usize = 40;

/// The value of a spoken number. Accents don't matter.
pub(super) fn read(text: &str) -> Result<Decimal, NotANumber> {
    let folded = crate::said::without_accents(&text.to_lowercase());
    let words: Vec<&str> = folded.split_whitespace().collect();
    let (negative, unsigned) = match words.split_first() {
        Some((&"menos", rest)) => (true, rest),
        _ => (false, &words[..]),
    };
    Some(unsigned)
        .filter(|words| words.len() <= MAX_WORDS)
        .and_then(value)
        .and_then(|it| match negative {
            true => Decimal::new(-it.digits(), it.places()),
            false => Some(it),
        })
        .ok_or_else(|| NotANumber(text.to_owned()))
}

fn value(words: &[&str]) -> Option<Decimal> {
    let mark = |word: &&str| matches!(*word, "coma" | "punto");
    let Some(at) = words.iter().position(mark) else {
        return Decimal::new(whole(words)?, 0);
    };
    let whole = whole(&words[..at])?;
    let fraction = fraction(&words[at + 1..])?;
    with_fraction(whole, &fraction)
}

/// The digits after the mark: one by one, or as a number after its noughts.
fn fraction(words: &[&str]) -> Option<String> {
    if words.is_empty() {
        return None;
    }
    if let Some(digits) = digits(words) {
        return Some(digits);
    }
    let noughts = words.iter().take_while(|word| **word == "cero").count();
    let rest = below_thousand_read(&words[noughts..]).filter(|rest| *rest >= 10)?;
    Some(format!("{}{rest}", "0".repeat(noughts)))
}

fn digits(words: &[&str]) -> Option<String> {
    let digit = |word: &&str| {
        let at = ONES[..10].iter().position(|name| name == word)?;
        u32::try_from(at)
            .ok()
            .and_then(|at| char::from_digit(at, 10))
    };
    words.iter().map(digit).collect()
}

fn whole(words: &[&str]) -> Option<i64> {
    if words == ["cero"] {
        return Some(0);
    }
    cardinal_read(words).or_else(|| {
        // Digits one by one; a nought doesn't begin a whole number.
        let digits = digits(words).filter(|digits| words.len() > 1 && !digits.starts_with('0'))?;
        digits.parse().ok()
    })
}

fn cardinal_read(words: &[&str]) -> Option<i64> {
    let million = |word: &&str| matches!(*word, "millon" | "millones");
    match words.iter().position(million) {
        Some(at) => {
            let count = below_million(&words[..at])?;
            let rest = match &words[at + 1..] {
                [] => 0,
                rest => below_million(rest)?,
            };
            count.checked_mul(1_000_000)?.checked_add(rest)
        }
        None => below_million(words),
    }
}

/// 1 to 999 999.
fn below_million(words: &[&str]) -> Option<i64> {
    let Some(at) = words.iter().position(|word| *word == "mil") else {
        return below_thousand_read(words);
    };
    let count = match &words[..at] {
        [] => 1,
        // “Un mil” is no usual way to say it.
        many => below_thousand_read(many).filter(|count| *count > 1)?,
    };
    let rest = match &words[at + 1..] {
        [] => 0,
        rest => below_thousand_read(rest)?,
    };
    Some(count * 1000 + rest)
}

/// 1 to 999.
fn below_thousand_read(words: &[&str]) -> Option<i64> {
    let (first, rest) = words.split_first()?;
    if *first == "cien" {
        return rest.is_empty().then_some(100);
    }
    let masculine = first.replace("ientas", "ientos");
    let hundreds = HUNDREDS.iter().skip(1).position(|name| *name == masculine);
    let Some(hundreds) = hundreds.and_then(|at| i64::try_from(at + 1).ok()) else {
        return below_hundred(words);
    };
    match rest {
        // “Ciento” alone is half a number.
        [] if hundreds == 1 => None,
        [] => Some(hundreds * 100),
        rest => Some(hundreds * 100 + below_hundred(rest)?),
    }
}

/// 1 to 99.
fn below_hundred(words: &[&str]) -> Option<i64> {
    let small = |word: &str| -> Option<i64> {
        let word = match word {
            "un" | "una" => "uno",
            "veintiun" | "veintiuna" => "veintiuno",
            word => word,
        };
        let named = |name: &&str| crate::said::without_accents(name) == word;
        let at = ONES.iter().skip(1).position(named)?;
        i64::try_from(at + 1).ok()
    };
    let tens = |word: &str| -> Option<i64> {
        let at = TENS.iter().skip(3).position(|name| *name == word)?;
        i64::try_from(at + 3).ok()
    };
    match words {
        [one] => small(one).or_else(|| tens(one).map(|tens| tens * 10)),
        // As it was written until the last century, and is still said.
        ["diez", "y", one] => small(one)
            .filter(|one| (6..10).contains(one))
            .map(|one| 10 + one),
        [ten, "y", one] => Some(tens(ten)? * 10 + small(one).filter(|one| *one < 10)?),
        _ => None,
    }
}
