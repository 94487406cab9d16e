//! Proposals in an imported draft that wait for review, all reported at once.
//!
//! # Why can't an imported draft be used?
//!
//! Each proposal in a draft carries the key `review`, which no procedure may have. The loader therefore refuses the
//! file by its ordinary rule for unknown keys, and this module only reports all waiting lines instead of the first.
//! There is no switch that would skip it.

use super::desk::{Desk, Place};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The key that a proposal carries. No procedure may have it, so the file can't be used while one is left.
const KEY: &str = "review";

/// Tables whose keys are the author's words.
const OWN_KEYS: [&str; 3] = ["with", "when", "sounds_like"];

/// How many are told one by one. A list has at most a thousand steps.
const MOST: usize = 3_000;

/// Tells of each review that waits in a file, with its place. Says whether there is one.
pub(super) fn tell(text: &str, source: usize, desk: &mut Desk) -> bool {
    let Ok(table) = DeTable::parse(text) else {
        return false;
    };
    let mut places = Vec::new();
    in_table(table.get_ref(), &mut places);
    places.sort_by_key(|place| place.start);
    let count = places.len();
    for (at, span) in places.into_iter().enumerate().take(MOST) {
        desk.review(
            &Place { source, span },
            format!("review {} of {count} waits: a proposal from a list", at + 1),
            "compare it with your source",
            "put right what is wrong, then delete this line; the procedure can be used when no `review` is left",
        );
    }
    count > 0
}

fn in_table(table: &DeTable<'_>, places: &mut Vec<Range<usize>>) {
    for (key, value) in table {
        if key.get_ref() == KEY {
            places.push(key.span().start..value.span().end);
        } else if !OWN_KEYS.contains(&key.get_ref().as_ref()) {
            in_value(value, places);
        }
    }
}

fn in_value(value: &Spanned<DeValue<'_>>, places: &mut Vec<Range<usize>>) {
    match value.get_ref() {
        DeValue::Table(table) => in_table(table, places),
        DeValue::Array(all) => all.iter().for_each(|it| in_value(it, places)),
        DeValue::String(_)
        | DeValue::Integer(_)
        | DeValue::Float(_)
        | DeValue::Boolean(_)
        | DeValue::Datetime(_) => {}
    }
}
