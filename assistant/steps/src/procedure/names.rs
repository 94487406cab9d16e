//! Words that are said and names that are filled in.

use std::collections::BTreeMap;

/// A sentence as it is listened for: lower case, no punctuation, single spaces.
pub fn as_heard(text: &str) -> String {
    let plain: String = text
        .chars()
        .map(|c| match c {
            '’' => '\'',
            c if c.is_alphanumeric() || c == '\'' => c,
            _ => ' ',
        })
        .collect();
    plain
        .to_lowercase()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// Puts words in the place of `{names}`; a name that has none stays as it is.
pub fn fill(text: &str, with: &BTreeMap<String, String>) -> String {
    let mut filled = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        let (before, from) = rest.split_at(open);
        filled.push_str(before);
        let Some(close) = from.find('}') else {
            rest = from;
            break;
        };
        match with.get(&from[1..close]) {
            Some(words) => filled.push_str(words),
            None => filled.push_str(&from[..=close]),
        }
        rest = &from[close + 1..];
    }
    filled.push_str(rest);
    filled
}

/// The `{names}` in a text.
pub(super) fn names_in(text: &str) -> Vec<&str> {
    text.split('{')
        .skip(1)
        .map(|after| after.split('}').next().unwrap_or(after))
        .collect()
}

/// Edit distance (Levenshtein). It takes time with the product of the lengths.
pub(super) fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = corner + usize::from(ca != *cb);
            corner = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_as_heard_has_no_punctuation() {
        assert_eq!(
            as_heard("Wheels chocked, brake set: it won’t roll."),
            "wheels chocked brake set it won't roll"
        );
    }

    #[test]
    fn distance_counts_changed_letters() {
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
    }

    #[test]
    fn names_are_filled_in_and_strangers_stay() {
        let with = BTreeMap::from([("side".to_owned(), "left".to_owned())]);
        assert_eq!(
            fill("The {side} wheel, {count} nuts {", &with),
            "The left wheel, {count} nuts {"
        );
        assert_eq!(names_in("a {b} c {d"), ["b", "d"]);
    }
}
