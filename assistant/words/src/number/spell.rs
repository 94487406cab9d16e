//! A value to words.

use super::names::{ONES, TENS};
use steps::Decimal;

pub(super) fn spell(value: Decimal) -> String {
    let (sign, whole, fraction) = taken_apart(value);
    format!("{sign}{}{}", cardinal(whole), point(&fraction))
}

pub(super) fn spell_digits(value: Decimal) -> String {
    let (sign, whole, fraction) = taken_apart(value);
    format!(
        "{sign}{}{}",
        digit_by_digit(&whole.to_string()),
        point(&fraction)
    )
}

/// The place in an order: "first", "twenty-second", "hundred and tenth" as "one hundred and tenth".
pub fn ordinal(number: u64) -> String {
    let cardinal = cardinal(number);
    let split = cardinal.rfind([' ', '-']).map_or(0, |at| at + 1);
    let (before, last) = cardinal.split_at(split);
    let last = match last {
        "one" => "first".to_owned(),
        "two" => "second".to_owned(),
        "three" => "third".to_owned(),
        "five" => "fifth".to_owned(),
        "eight" => "eighth".to_owned(),
        "nine" => "ninth".to_owned(),
        "twelve" => "twelfth".to_owned(),
        _ => match last.strip_suffix('y') {
            Some(stem) => format!("{stem}ieth"),
            None => format!("{last}th"),
        },
    };
    format!("{before}{last}")
}

/// The sign in words, the whole part, and the digits after the point.
pub(super) fn taken_apart(value: Decimal) -> (&'static str, u64, String) {
    let sign = if value.digits() < 0 { "minus " } else { "" };
    let scale = 10u64.pow(u32::from(value.places()));
    let all = value.digits().unsigned_abs();
    let fraction = match usize::from(value.places()) {
        0 => String::new(),
        places => format!("{:0>places$}", all % scale),
    };
    (sign, all / scale, fraction)
}

fn point(fraction: &str) -> String {
    if fraction.is_empty() {
        String::new()
    } else {
        format!(" point {}", digit_by_digit(fraction))
    }
}

/// Each digit as a word; other characters are left out.
pub(crate) fn digit_by_digit(digits: &str) -> String {
    digits_as(&ONES, digits)
}

/// The same in the words of a language, by the digit.
pub(super) fn digits_as(words: &[&str], digits: &str) -> String {
    let digits = digits.chars().filter_map(|c| c.to_digit(10));
    let words: Vec<_> = digits.map(|digit| words[digit as usize]).collect();
    words.join(" ")
}

/// A whole number in words, with "and" and hyphens.
pub(crate) fn cardinal(number: u64) -> String {
    if number < 1000 {
        return below_thousand(number);
    }
    let mut words = Vec::new();
    let mut rest = number;
    for (name, size) in [
        ("quintillion", 1_000_000_000_000_000_000),
        ("quadrillion", 1_000_000_000_000_000),
        ("trillion", 1_000_000_000_000),
        ("billion", 1_000_000_000),
        ("million", 1_000_000),
        ("thousand", 1000),
    ] {
        if rest >= size {
            words.push(format!("{} {name}", below_thousand(rest / size)));
            rest %= size;
        }
    }
    match rest {
        0 => {}
        1..=99 => words.push(format!("and {}", below_thousand(rest))),
        _ => words.push(below_thousand(rest)),
    }
    words.join(" ")
}

/// 0 to 999.
fn below_thousand(number: u64) -> String {
    let one = |n: u64| ONES[(n % 20) as usize];
    match number {
        0..=19 => one(number).to_owned(),
        20..=99 => {
            let tens = TENS[(number / 10 % 10) as usize];
            if number.is_multiple_of(10) {
                tens.to_owned()
            } else {
                format!("{tens}-{}", one(number % 10))
            }
        }
        _ => {
            let hundreds = format!("{} hundred", one(number / 100 % 10));
            match number % 100 {
                0 => hundreds,
                rest => format!("{hundreds} and {}", below_thousand(rest)),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_number_has_a_name() {
        assert!(cardinal(u64::MAX).starts_with("eighteen quintillion four hundred and forty-six"));
    }

    #[test]
    fn places_in_an_order_are_named() {
        for (number, name) in [
            (1, "first"),
            (3, "third"),
            (12, "twelfth"),
            (20, "twentieth"),
            (22, "twenty-second"),
            (100, "one hundredth"),
            (111, "one hundred and eleventh"),
        ] {
            assert_eq!(ordinal(number), name);
        }
    }
}
