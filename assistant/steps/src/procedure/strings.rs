//! All strings of a procedure's file, whatever they are for.

use super::code::Code;
use super::desk::{Desk, Place};
use crate::is_hidden_control;
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// The most bytes that all texts of a procedure may come to once their `{names}` are filled in, reckoned generously:
/// as if each name became the longest string there is.
pub(super) const MAX_FILLED: usize = 32_000_000;

/// What the strings of one file come to.
#[derive(Debug, Default)]
pub(super) struct Strings {
    /// Bytes in all of them.
    bytes: usize,
    /// Braces in all of them: at most so many names can be filled in.
    braces: usize,
    /// Bytes of the longest of them, once what the include gives is filled in.
    pub longest: usize,
    /// The first character that mustn't be there, and the place of its string.
    hidden: Option<(char, Range<usize>)>,
}

impl Strings {
    /// Those of a file that is TOML; `with` is what its include gives.
    pub fn of(text: &str, with: &BTreeMap<String, String>) -> Self {
        let mut strings = Self::default();
        let given = with.values().map(String::len).max().unwrap_or_default();
        if let Ok(table) = DeTable::parse(text) {
            strings.table(table.get_ref(), given);
        }
        strings
    }

    /// At most so many bytes come of them if no name becomes more than `longest` bytes.
    pub fn filled(&self, longest: usize) -> usize {
        self.bytes
            .saturating_add(self.braces.saturating_mul(longest))
    }

    /// Reports a forbidden character. Returns true if there was one.
    pub fn tell_hidden(&self, source: usize, desk: &mut Desk) -> bool {
        let Some((character, span)) = &self.hidden else {
            return false;
        };
        desk.problem(
            Code::Format,
            &Place {
                source,
                span: span.clone(),
            },
            format!(
                "a control character, U+{:04X}, is hidden in this text",
                u32::from(*character)
            ),
            "in here",
            "take it out: where the text is shown it would move, hide or reorder other text",
        );
        true
    }

    fn table(&mut self, table: &DeTable<'_>, given: usize) {
        for (key, value) in table {
            self.string(key.get_ref(), key.span(), given);
            self.value(value.get_ref(), value.span(), given);
        }
    }

    fn value(&mut self, value: &DeValue<'_>, span: Range<usize>, given: usize) {
        match value {
            DeValue::String(string) => self.string(string, span, given),
            DeValue::Array(array) => {
                for value in array.iter() {
                    self.value(value.get_ref(), value.span(), given);
                }
            }
            DeValue::Table(table) => self.table(table, given),
            DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_) => {}
        }
    }

    fn string(&mut self, string: &str, span: Range<usize>, given: usize) {
        let braces = string.matches('{').count();
        let filled = string.len().saturating_add(braces.saturating_mul(given));
        self.bytes += string.len();
        self.braces += braces;
        self.longest = self.longest.max(filled);
        if self.hidden.is_none() {
            self.hidden = string
                .chars()
                .find(|it| is_hidden_control(*it))
                .map(|it| (it, span));
        }
    }
}
