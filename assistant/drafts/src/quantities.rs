//! Torques, turns and times in a running text.

use std::ops::Range;
use steps::quantity::TorqueSpec;

/// How many bytes from its first digit a torque may take: “100 +10/−5 newton metres”.
const LONGEST: usize = 40;

/// How many numbers of a row are tried. A step has a handful.
const MAX_NUMBERS: usize = 40;

/// A quantity and its place in the text.
#[derive(Debug, Clone, PartialEq)]
pub struct Found<T> {
    pub value: T,
    pub at: Range<usize>,
}

/// Where numbers begin that aren't a part of something larger: not the 5 of “M5”, of “8,5” or of “12.5”.
pub(crate) fn numbers(text: &str) -> impl Iterator<Item = usize> + '_ {
    let bytes = text.as_bytes();
    let begins = |at: &usize| {
        let before = text[..*at].chars().next_back();
        bytes[*at].is_ascii_digit()
            && !before.is_some_and(|it| it.is_alphanumeric() || matches!(it, '.' | ',' | '/'))
    };
    // Only where a character begins, which a digit always does.
    (0..bytes.len())
        .filter(move |at| text.is_char_boundary(*at) && begins(at))
        .take(MAX_NUMBERS)
}

/// The text with its decimal commas as points, and the numbers that this was done to: “37,5”, “8,25”.
///
/// A comma before three digits may part thousands, and one between two whole numbers two values (“80,90”): it stays, unless
/// what stands behind it is one digit, 25 or 75. Common practice, no source.
pub fn with_points(text: &str) -> (String, Vec<String>) {
    let digits = |text: &str| text.chars().take_while(char::is_ascii_digit).count();
    let mut pointed = text.to_owned();
    let mut commas = Vec::new();
    for at in numbers(text) {
        let whole = digits(&text[at..]);
        let Some(after) = text[at + whole..].strip_prefix(',') else {
            continue;
        };
        let part = &after[..digits(after)];
        let goes_on = after[part.len()..].starts_with([',', '.', '/']);
        let ends = after[part.len()..].chars().nth(1);
        let goes_on = goes_on && ends.is_some_and(|it| it.is_ascii_digit());
        if (part.len() == 1 || matches!(part, "25" | "75")) && !goes_on {
            pointed.replace_range(at + whole..=at + whole, ".");
            commas.push(format!("{},{part}", &text[at..at + whole]));
        }
    }
    (pointed, commas)
}

/// Whether the number at `at` is the second one of a range or of a tolerance, so that it means nothing alone.
fn goes_on(text: &str, at: usize) -> bool {
    let before = text[..at].trim_end();
    let sign = |it: char| matches!(it, '-' | '–' | '−' | '‑' | '±' | '+' | '/' | ',' | '×');
    let before = match before.strip_suffix(sign) {
        Some(before) => before,
        None => match before.strip_suffix("to") {
            Some(before) => before,
            None => return false,
        },
    };
    let before = before.trim_end().trim_end_matches(sign);
    before
        .trim_end()
        .ends_with(|it: char| it.is_ascii_digit() || it == '%')
}

/// All torques with their units, from left to right.
pub fn torques(text: &str) -> Vec<Found<TorqueSpec>> {
    let mut found: Vec<Found<TorqueSpec>> = Vec::new();
    for at in numbers(text) {
        if found.last().is_some_and(|last| at < last.at.end) || goes_on(text, at) {
            continue;
        }
        let rest = &text[at..];
        let longest = ends_of_words(rest)
            .filter_map(|end| Some((end, torque(&rest[..end])?)))
            .last();
        if let Some((end, value)) = longest {
            found.push(Found {
                value,
                at: at..at + end,
            });
        }
    }
    found
}

fn torque(text: &str) -> Option<TorqueSpec> {
    // “25 lb in” may go on as “a star”.
    if text.ends_with(" in") {
        return None;
    }
    text.parse().ok()
}

/// Where words end within reach.
fn ends_of_words(text: &str) -> impl Iterator<Item = usize> + '_ {
    text.char_indices()
        .map(|(at, letter)| (at + letter.len_utf8(), letter))
        .take_while(|(end, _)| *end <= LONGEST)
        .filter(|(end, letter)| {
            let goes_on = text[*end..].starts_with(|it: char| it.is_alphanumeric() || it == '·');
            (letter.is_alphabetic() || *letter == '%') && !goes_on
        })
        .map(|(end, _)| end)
}

/// A number, and what stands right behind it.
pub(crate) fn number_at(text: &str, at: usize) -> Option<(&str, &str)> {
    let rest = &text[at..];
    let end = rest
        .find(|it: char| !(it.is_ascii_digit() || it == '.'))
        .unwrap_or(rest.len());
    let number = rest[..end].trim_end_matches('.');
    Some((number, rest[end..].trim_start()))
}

/// “then 90 degrees”, “+ 90°”: from 1 to 720 degrees, and no temperature.
pub fn turn(text: &str) -> Option<u16> {
    numbers(text).find_map(|at| {
        let (number, unit) = number_at(text, at)?;
        let unit = unit.to_lowercase();
        let degrees = match unit.strip_prefix('°') {
            Some(rest) => !rest.trim_start().starts_with(['c', 'f', 'k']),
            None => {
                let rest = unit.strip_prefix("deg")?;
                let rest = rest
                    .strip_prefix("rees")
                    .or(rest.strip_prefix("ree"))
                    .unwrap_or(rest);
                let rest = rest.trim_start();
                !(rest.starts_with("celsius")
                    || rest.starts_with("fahrenheit")
                    || rest.starts_with("c ")
                    || rest.starts_with("f ")
                    || matches!(rest, "c" | "f"))
            }
        };
        let turn: u16 = number.parse().ok()?;
        (degrees && (1..=720).contains(&turn)).then_some(turn)
    })
}

/// “10 minutes”, “2 hours”, up to a week.
pub fn minutes(text: &str) -> Option<u32> {
    numbers(text).find_map(|at| {
        let (number, unit) = number_at(text, at)?;
        let whole: u32 = number.parse().ok()?;
        let unit: String = unit.chars().take_while(char::is_ascii_alphabetic).collect();
        let minutes = match unit.to_lowercase().as_str() {
            "min" | "mins" | "minute" | "minutes" => Some(whole),
            "h" | "hr" | "hrs" | "hour" | "hours" => whole.checked_mul(60),
            _ => None,
        };
        minutes.filter(|it| (1..=7 * 24 * 60).contains(it))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Vec<String> {
        torques(text)
            .iter()
            .map(|it| it.value.to_string())
            .collect()
    }

    #[test]
    fn torques_are_found_in_text_with_their_limits() {
        assert_eq!(
            read("tighten 5 nuts to 100 ft-lb in a star"),
            ["100 lbf·ft"]
        );
        assert_eq!(read("torque to 25-30 Nm then 90 degrees"), ["25–30 N·m"]);
        assert_eq!(read("9 N m."), ["9 N·m"]);
        assert_eq!(read("to 80 in-lbs, dry"), ["80 lbf·in"]);
        assert_eq!(read("to 14 kgf·m"), ["14 kgf·m"]);
        assert_eq!(read("100 ± 10 Nm"), ["100 ± 10 N·m"]);
        assert_eq!(read("Axle nut - 245 N·m"), ["245 N·m"]);
        assert_eq!(read("100 ft. lbs. (136 Nm)"), ["100 lbf·ft", "136 N·m"]);
        assert_eq!(read("40 Nm, then 80 Nm"), ["40 N·m", "80 N·m"]);
    }

    #[test]
    fn what_could_be_another_value_is_left_alone() {
        for text in [
            "8,5 Nm",
            "1,000 Nm",
            "30-25 Nm",
            "100 to 90 Nm",
            "100 ± 200 Nm",
            "to 100",
            "25 lb in a star",
            "M5 Nm",
            "100 mm",
            "5 N",
            "100 lb",
            "0 Nm",
            "99999 Nm",
        ] {
            assert_eq!(read(text), [""; 0], "{text}");
        }
    }

    #[test]
    fn decimal_commas_become_points_where_they_can_be_nothing_else() {
        for (text, pointed, commas) in [
            ("to 37,5 Nm", "to 37.5 Nm", vec!["37,5"]),
            (
                "8,25 Nm, then 9,5 Nm",
                "8.25 Nm, then 9.5 Nm",
                vec!["8,25", "9,5"],
            ),
            ("to 37,5.", "to 37.5.", vec!["37,5"]),
        ] {
            let commas: Vec<String> = commas.into_iter().map(str::to_owned).collect();
            assert_eq!(with_points(text), (pointed.to_owned(), commas));
        }
        for text in [
            "1,000 Nm",
            "80,90 Nm",
            "1,5,8 mm",
            "1,5.2",
            "10, 13 mm",
            "37.5 Nm",
            "a,5",
            "5,",
        ] {
            assert_eq!(with_points(text), (text.to_owned(), Vec::new()), "{text}");
        }
    }

    #[test]
    fn turns_and_times_are_found() {
        assert_eq!(turn("then 90 degrees"), Some(90));
        assert_eq!(turn("plus 60°"), Some(60));
        assert_eq!(turn("+ 45 deg."), Some(45));
        for text in [
            "warm to 90 °C",
            "90°F",
            "90 deg C",
            "900 degrees",
            "90 times",
        ] {
            assert_eq!(turn(text), None, "{text}");
        }
        assert_eq!(minutes("wait 2 hours"), Some(120));
        assert_eq!(minutes("wait"), None);
    }
}
