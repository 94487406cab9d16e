//! What a told value could be taken for: values beside it, its decimal neighbours, teens and tens that sound
//! alike, the same number in another unit.

use super::answers::WRENCHES;
use std::collections::BTreeSet;
use steps::{Decimal, Language};

/// A sentence in pieces: words that are certain, and places where one of several values is told.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
#[serde(untagged)]
pub enum Piece {
    /// What is said anyway.
    Certain(String),
    /// The value that is told first, then its rivals.
    Value(Vec<String>),
}

/// How a sentence is worded for the voice.
pub type Wording = fn(Language, &str) -> String;

/// The sentence's pieces, in spoken words.
pub fn pieces(sentence: &str, wording: Wording) -> Vec<Piece> {
    let spoken = |written: &str| spoken(written, wording);
    let mut all = Vec::new();
    let mut rest = sentence;
    while let Some((before, value, after)) = next_value(rest) {
        all.push(Piece::Certain(spoken(before)));
        let mut told: Vec<String> = vec![spoken(value)];
        let mut others: BTreeSet<String> = rivals(value).iter().map(|it| spoken(it)).collect();
        others.remove(&told[0]);
        told.extend(others);
        all.push(Piece::Value(told));
        rest = after;
    }
    all.push(Piece::Certain(spoken(rest)));
    all.retain(|piece| !matches!(piece, Piece::Certain(words) if words.is_empty()));
    let said: Vec<&str> = all
        .iter()
        .map(|piece| match piece {
            Piece::Certain(words) => words.as_str(),
            Piece::Value(values) => values[0].as_str(),
        })
        .collect();
    assert_eq!(
        said.join(" "),
        spoken(sentence),
        "the pieces make the whole"
    );
    all
}

/// In words alone: what stands between them is silence to whoever listens.
pub fn spoken(written: &str, wording: Wording) -> String {
    let words = wording(Language::English, written).to_lowercase();
    let only = words.replace(|c: char| !(c.is_alphabetic() || c == '\''), " ");
    only.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The units that a number is told in here.
fn units() -> Vec<String> {
    let torque = WRENCHES.iter().map(|unit| unit.to_string());
    torque.chain(["mm".to_owned()]).collect()
}

/// The first number with a unit, and what stands before and after it.
fn next_value(sentence: &str) -> Option<(&str, &str, &str)> {
    let mut at = 0;
    while let Some(found) = sentence[at..].find(|c: char| c.is_ascii_digit()) {
        let start = at + found;
        let number = |c: char| c.is_ascii_digit() || c == '.';
        let length = sentence[start..].find(|c| !number(c))?;
        let after = &sentence[start + length..];
        for unit in units() {
            if after
                .strip_prefix(' ')
                .is_some_and(|it| it.starts_with(&unit))
            {
                let end = match unit.as_str() {
                    // "19 millimetre hex": what has the size decides how its unit is said.
                    "mm" => {
                        start
                            + sentence[start..]
                                .find('.')
                                .unwrap_or(sentence.len() - start)
                    }
                    _ => start + length + 1 + unit.len(),
                };
                return Some((&sentence[..start], &sentence[start..end], &sentence[end..]));
            }
        }
        at = start + length;
    }
    None
}

fn rivals(value: &str) -> Vec<String> {
    let (number, unit) = value.split_once(' ').unwrap();
    let (size, shape) = (unit.starts_with("mm"), unit.trim_start_matches("mm"));
    let number: Decimal = number.parse().unwrap();
    let (digits, places) = (number.digits(), number.places());
    let one = 10i64.pow(u32::from(places));
    let last_two = digits % 100;
    let mut near = vec![
        digits - 1,
        digits + 1,
        digits - 10,
        digits + 10,
        digits - 100,
        digits + 100,
        digits - one,
        digits + one,
    ];
    // Thirteen and thirty, and so on; also in hundreds: "one hundred and fifteen", "one hundred and fifty".
    for (teen, ten) in (13..=19).map(|teen| (teen, (teen - 10) * 10)) {
        if last_two == teen {
            near.push(digits - teen + ten);
        }
        if last_two == ten {
            near.push(digits - ten + teen);
        }
        // "Sixty-five" and "sixteen", and "forty-eight" and "fourteen".
        if last_two / 10 * 10 == ten {
            near.extend([digits - last_two + teen, digits - last_two + ten]);
        }
    }
    near.push(digits / 100 * 100 + last_two % 10 * 10 + last_two / 10);
    let mut all: Vec<String> = near
        .into_iter()
        .filter(|near| *near > 0 && *near != digits)
        .filter_map(|near| Decimal::new(near, places))
        .map(|near| format!("{near} {unit}"))
        .collect();
    // The same digits with the point elsewhere, and in every other unit.
    all.extend(Decimal::new(digits, places + 1).map(|it| format!("{it} {unit}")));
    if size {
        all.push(format!("{number} in{shape}"));
    } else {
        all.extend(WRENCHES.iter().map(|unit| format!("{number} {unit}")));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sound_alikes_are_among_the_rivals() {
        let of = |value| rivals(value);
        assert!(of("115 N·m").contains(&"150 N·m".to_owned()));
        assert!(of("160 N·m").contains(&"116 N·m".to_owned()));
        assert!(of("19 mm hex").contains(&"90 mm hex".to_owned()));
        assert!(of("19 mm hex").contains(&"19 in hex".to_owned()));
        assert!(of("80 lbf·in").contains(&"80 lbf·ft".to_owned()));
        assert!(of("65 N·m").contains(&"16 N·m".to_owned()));
        assert!(of("14.3 kgf·m").contains(&"1.43 kgf·m".to_owned()));
    }
}
