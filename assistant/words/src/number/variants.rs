//! All the ways in which a value may be said, and written down.

use super::names::{ONES, PARTS, TENS};
use super::spell::{cardinal, digit_by_digit, spell, taken_apart};
use steps::Decimal;

pub(super) fn spoken_variants(value: Decimal) -> Vec<String> {
    let mut said = Vec::new();
    for value in with_and_without_noughts(value) {
        let (sign, whole, fraction) = taken_apart(value);
        if fraction.is_empty() {
            said.extend(whole_variants(whole));
        } else {
            let before = if whole == 0 {
                ["zero ", "", "oh ", "nought "].map(str::to_owned).to_vec()
            } else {
                whole_variants(whole)
                    .into_iter()
                    .take(7)
                    .map(|said| said + " ")
                    .collect()
            };
            for after in fraction_variants(&fraction) {
                said.extend(before.iter().map(|before| format!("{before}point {after}")));
            }
            said.extend(part_variants(whole, value));
        }
        if !sign.is_empty() {
            said = said.into_iter().map(|said| with_minus(&said)).collect();
        }
    }
    each_once(said)
}

pub(super) fn written_variants(value: Decimal) -> Vec<String> {
    let mut written = Vec::new();
    for value in with_and_without_noughts(value) {
        let (sign, whole, fraction) = taken_apart(value);
        let digits = whole.to_string();
        let apart = |between: &str| {
            digits
                .chars()
                .map(String::from)
                .collect::<Vec<_>>()
                .join(between)
        };
        let mut wholes = vec![digits.clone()];
        if whole >= 1000 {
            wholes.push(in_groups(&digits));
        }
        if digits.len() > 1 {
            wholes.extend([apart(", "), apart(" "), apart("-")]);
        }
        if digits.len() == 3 || digits.len() == 4 {
            let (before, pair) = digits.split_at(digits.len() - 2);
            wholes.push(format!("{before} {pair}"));
        }
        let sign_written = if sign.is_empty() { "" } else { "-" };
        if fraction.is_empty() {
            let figures = wholes.iter().map(|whole| format!("{sign_written}{whole}"));
            written.extend(figures);
            written.insert(written.len() - wholes.len() + 1, spell(value));
            written.extend(
                whole_variants(whole)
                    .iter()
                    .take(6)
                    .map(|said| format!("{sign}{said}")),
            );
            if digits.len() > 1 {
                written.push(format!(
                    "{sign}{}",
                    digit_by_digit(&digits).replace(' ', ", ")
                ));
            }
        } else {
            written.push(format!("{sign_written}{digits}.{fraction}"));
            written.push(spell(value));
            if whole == 0 {
                written.push(format!("{sign_written}.{fraction}"));
                written.push(format!("{sign}point {fraction}"));
                written.push(format!("{sign}point {}", digit_by_digit(&fraction)));
            }
            let apart_after = fraction
                .chars()
                .map(String::from)
                .collect::<Vec<_>>()
                .join(" ");
            for whole in &wholes {
                written.push(format!("{sign}{whole} point {fraction}"));
                written.push(format!("{sign}{whole} point {apart_after}"));
            }
            for said in whole_variants(whole).iter().take(6) {
                written.push(format!("{sign}{said} point {}", digit_by_digit(&fraction)));
            }
            for said in part_variants(whole, value) {
                written.push(format!("{sign}{said}"));
                if whole > 0
                    && let Some(at) = said.find(" and ")
                {
                    written.push(format!("{sign}{digits}{}", &said[at..]));
                }
            }
        }
    }
    let mut written = each_once(written);
    written.truncate(40);
    written
}

fn with_minus(said: &str) -> String {
    if said.starts_with("minus ") {
        said.to_owned()
    } else {
        format!("minus {said}")
    }
}

/// The value as it stands, and without noughts at its end where it has any.
pub(super) fn with_and_without_noughts(value: Decimal) -> Vec<Decimal> {
    let trimmed = value.trimmed();
    if trimmed.places() == value.places() {
        vec![value]
    } else {
        vec![value, trimmed]
    }
}

/// Without hyphens, the usual way first.
fn whole_variants(number: u64) -> Vec<String> {
    let usual = cardinal(number).replace('-', " ");
    let without_and = usual.replace(" and ", " ");
    let mut said = vec![usual.clone(), without_and.clone()];
    let digits = number.to_string();
    if number < 10 {
        if number == 0 {
            said.extend(["nought", "oh"].map(str::to_owned));
        }
        return each_once(said);
    }
    let one_by_one = digit_by_digit(&digits);
    said.push(one_by_one.replace("zero", "oh"));
    said.push(one_by_one);
    said.extend(paired(number));
    for one in ["one hundred", "one thousand"] {
        if let Some(rest) = usual.strip_prefix(one)
            && !rest.contains(" thousand")
            && !rest.contains(" million")
        {
            said.push(format!("a{}{rest}", &one[3..]));
        }
    }
    said.extend(doubled(&digits));
    each_once(said)
}

/// "one seventy three", "nineteen oh five", "twelve hundred and five".
fn paired(number: u64) -> Vec<String> {
    let two = |n: u64| cardinal(n).replace('-', " ");
    let pair = number % 100;
    let before = number / 100;
    let mut said = Vec::new();
    if (1..=99).contains(&before) && pair >= 10 {
        said.push(format!("{} {}", two(before), two(pair)));
    }
    if (10..=99).contains(&before) {
        if (1..10).contains(&pair) {
            said.push(format!("{} oh {}", two(before), two(pair)));
        }
        if !before.is_multiple_of(10) {
            said.push(match pair {
                0 => format!("{} hundred", two(before)),
                _ => format!("{} hundred and {}", two(before), two(pair)),
            });
        }
    }
    said
}

/// "one double three": two equal digits side by side, said as one.
fn doubled(digits: &str) -> Option<String> {
    let digits: Vec<u8> = digits.bytes().map(|digit| digit - b'0').collect();
    let mut said = Vec::new();
    let mut rest = &digits[..];
    while let [first, after @ ..] = rest {
        let name = if *first == 0 {
            "oh"
        } else {
            ONES[usize::from(first % 10)]
        };
        rest = match after {
            [second, after @ ..] if second == first => {
                said.push(format!("double {name}"));
                after
            }
            _ => {
                said.push(name.to_owned());
                after
            }
        };
    }
    (said.len() < digits.len()).then(|| said.join(" "))
}

/// "two five", "twenty five"; noughts by both names.
fn fraction_variants(fraction: &str) -> Vec<String> {
    let digits = digit_by_digit(fraction);
    let mut said = vec![digits.clone(), digits.replace("zero", "oh")];
    if let [tens @ b'1'..=b'9', ones] = fraction.as_bytes() {
        let (tens, ones) = (usize::from(tens - b'0'), usize::from(ones - b'0'));
        said.push(match (tens, ones) {
            (1, _) => ONES[10 + ones].to_owned(),
            (_, 0) => TENS[tens].to_owned(),
            _ => format!("{} {}", TENS[tens], ONES[ones]),
        });
    }
    each_once(said)
}

/// "a half", "three eighths", "one and a quarter", where the fraction is one of halves, quarters or eighths.
fn part_variants(whole: u64, value: Decimal) -> Vec<String> {
    let scale = 10i64.pow(u32::from(value.places()));
    let fraction = value.digits().abs() % scale;
    let Some(&(name, of)) = PARTS
        .iter()
        .filter(|(_, of)| matches!(of, 2 | 4 | 8))
        .find(|(_, of)| fraction * of % scale == 0)
    else {
        return Vec::new();
    };
    let parts = match fraction * of / scale {
        0 => return Vec::new(),
        1 if name == "half" && whole == 0 => vec!["half".to_owned(), "a half".to_owned()],
        1 => vec![format!(
            "{} {name}",
            if name == "eighth" { "an" } else { "a" }
        )],
        many => vec![format!("{} {name}s", cardinal(many.unsigned_abs()))],
    };
    match whole {
        0 => parts,
        // "one hundred and three eighths" could be two things.
        _ if whole.is_multiple_of(100) => Vec::new(),
        _ => {
            let whole = cardinal(whole).replace('-', " ");
            parts
                .into_iter()
                .map(|part| format!("{whole} and {part}"))
                .collect()
        }
    }
}

/// "1,200".
fn in_groups(digits: &str) -> String {
    let first = match digits.len() % 3 {
        0 => 3,
        some => some,
    };
    let mut grouped = digits.to_owned();
    for at in (first..digits.len()).step_by(3).rev() {
        grouped.insert(at, ',');
    }
    grouped
}

pub(super) fn each_once(said: Vec<String>) -> Vec<String> {
    let mut seen = std::collections::HashSet::new();
    said.into_iter()
        .filter(|said| seen.insert(said.clone()))
        .collect()
}
