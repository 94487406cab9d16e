//! Steps that are worked on one side and again on the other stand on a sheet once.

use crate::sheet::StepLine;

/// The words for which a sheet says a step once. Two steps that differ in any other word are two things.
const SIDES: [&str; 2] = ["left", "right"];

/// The side that is worked first and the other one.
type Sides = (String, String);

/// Each stretch of steps that comes again for the other side stands there once, with both numbers and both sides.
pub(super) fn once(lines: Vec<StepLine>) -> Vec<StepLine> {
    let mut out = Vec::new();
    let mut rest = lines.as_slice();
    while let [line, after @ ..] = rest {
        let longest = (1..=rest.len() / 2).rev().find_map(|count| {
            Some((
                count,
                both(rest.get(..count)?, rest.get(count..2 * count)?)?,
            ))
        });
        match longest {
            Some((count, lines)) => {
                out.extend(lines);
                rest = rest.get(2 * count..).unwrap_or_default();
            }
            None => {
                out.push(line.clone());
                rest = after;
            }
        }
    }
    out
}

/// Both stretches as one; `None` where they are not the same but for the side.
fn both(first: &[StepLine], second: &[StepLine]) -> Option<Vec<StepLine>> {
    let mut sides = None;
    let mut lines = Vec::new();
    for (one, other) in first.iter().zip(second) {
        match (one.hold, other.hold) {
            // What is said there aloud stands word for word, each with its own warning.
            (true, true) => lines.extend([one.clone(), other.clone()]),
            _no_two_holds => lines.push(of_both(one, other, &mut sides)?),
        }
    }
    // The same on the same side is worked twice.
    sides.map(|_| lines)
}

fn of_both(one: &StepLine, other: &StepLine, sides: &mut Option<Sides>) -> Option<StepLine> {
    let same = one.kind == other.kind
        && one.hold == other.hold
        && one.injures == other.injures
        && one.strong.len() == other.strong.len()
        && one.values.len() == other.values.len();
    if !same {
        return None;
    }
    let warning = match (&one.warning, &other.warning) {
        (None, None) => None,
        (Some((signal, one)), Some((same, other))) if signal == same => {
            Some((signal.clone(), merged(one, other, sides)?))
        }
        _unlike => return None,
    };
    let only = match (&one.only, &other.only) {
        (None, None) => None,
        (Some(one), Some(other)) => Some(merged(one, other, sides)?),
        _unlike => return None,
    };
    let values = one.values.iter().zip(&other.values);
    let values: Option<Vec<String>> = values
        .map(|(one, other)| merged(one, other, sides))
        .collect();
    // Where each leads.
    let mut strong = one.strong.clone();
    let further = one.strong.iter().zip(&other.strong);
    let further = further.filter(|(one, other)| one != other);
    strong.extend(further.map(|(_, it)| format!("Step {}: {it}", other.number)));
    Some(StepLine {
        number: format!("{}, {}", one.number, other.number),
        kind: one.kind,
        hold: one.hold,
        only,
        warning,
        injures: one.injures,
        text: merged(&one.text, &other.text, sides)?,
        strong,
        values: values?,
    })
}

/// Both texts as one, “left/right” where they differ; `None` where they differ in more than the side.
fn merged(one: &str, other: &str, sides: &mut Option<Sides>) -> Option<String> {
    let (first, second): (Vec<&str>, Vec<&str>) =
        (one.split(' ').collect(), other.split(' ').collect());
    if first.len() != second.len() {
        return None;
    }
    let all: Option<Vec<String>> = first
        .into_iter()
        .zip(second)
        .map(|(one, other)| match one == other {
            true => Some(one.to_owned()),
            false => word(one, other, sides),
        })
        .collect();
    Some(all?.join(" "))
}

fn word(one: &str, other: &str, sides: &mut Option<Sides>) -> Option<String> {
    let bare = |word: &str| {
        let bare = word.trim_matches(|it: char| !it.is_alphabetic());
        let at = word.find(bare)?;
        let (before, after) = (word.get(..at)?, word.get(at + bare.len()..)?);
        Some((before.to_owned(), bare.to_owned(), after.to_owned()))
    };
    let ((before, one, after), (same_before, other, same_after)) = (bare(one)?, bare(other)?);
    let pair = (one.to_lowercase(), other.to_lowercase());
    let is_side = |word: &String| SIDES.contains(&word.as_str());
    // All of a stretch is first for the one side and then for the other.
    if !is_side(&pair.0)
        || !is_side(&pair.1)
        || before != same_before
        || after != same_after
        || *sides.get_or_insert_with(|| pair.clone()) != pair
    {
        return None;
    }
    Some(format!("{before}{one}/{}{after}", pair.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(texts: &[&str]) -> Vec<StepLine> {
        let lines = texts.iter().zip(1..).map(|(text, number)| StepLine {
            number: number.to_string(),
            text: (*text).to_owned(),
            ..StepLine::default()
        });
        lines.collect()
    }

    fn told(texts: &[&str]) -> Vec<String> {
        let once = once(lines(texts)).into_iter();
        once.map(|line| format!("{} {}", line.number, line.text))
            .collect()
    }

    #[test]
    fn what_comes_again_for_the_other_side_stands_there_once() {
        let steps = [
            "Park.",
            "Loosen the left nut.",
            "Pull it.",
            "Loosen the right nut.",
            "Pull it.",
            "Lower.",
        ];
        assert_eq!(
            told(&steps),
            [
                "1 Park.",
                "2, 4 Loosen the left/right nut.",
                "3, 5 Pull it.",
                "6 Lower."
            ]
        );
    }

    #[test]
    fn hold_points_of_both_sides_keep_their_own_words() {
        let mut all = lines(&[
            "Lift the left wheel off.",
            "Pull the left disc.",
            "Look at the left hose.",
            "Fit it.",
            "Lift the right wheel off.",
            "Pull the right disc.",
            "Follow the right hose.",
            "Fit it.",
        ]);
        all[2].hold = true;
        all[6].hold = true;
        let numbers: Vec<String> = once(all).into_iter().map(|line| line.number).collect();
        assert_eq!(numbers, ["1, 5", "2, 6", "3", "7", "4, 8"]);
    }

    #[test]
    fn steps_that_differ_otherwise_or_not_at_all_stand_each_for_itself() {
        for steps in [
            ["Press slowly.", "Press firmly."],
            ["Loosen the nut.", "Tighten the nut."],
            ["Pull at 10 o'clock.", "Pull at 2 o'clock."],
            ["Pump.", "Pump."],
            ["Turn the left nut left.", "Turn the right nut back."],
            ["Wait for the left one.", "Wait for the right one now."],
        ] {
            assert_eq!(told(&steps).len(), 2, "{steps:?}");
        }
        // However long a stretch is in which only the action is another one.
        let there_and_back = [
            "Loosen the nut.",
            "Wait.",
            "Look.",
            "Pull it.",
            "Tighten the nut.",
            "Wait.",
            "Look.",
            "Pull it.",
        ];
        assert_eq!(told(&there_and_back).len(), 8);
        // And not where the sides change places within a stretch.
        let crossed = [
            "Look at the left one.",
            "Look at the right hose.",
            "Look at the right one.",
            "Look at the left hose.",
        ];
        assert_eq!(told(&crossed).len(), 4);
    }
}
