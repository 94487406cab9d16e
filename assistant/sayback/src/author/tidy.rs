//! The usual form of a procedure's file: one space around `=`, one blank line before a table, no trailing spaces.
//!
//! Comments stay where they are, and so does the order of keys: an author knows why something comes first.

use toml_edit::{Array, Decor, DocumentMut, InlineTable, Item, RawString, Table, TomlError, Value};

/// The longest line that a list is left on.
const WIDEST: usize = 120;

/// The text in its usual form.
///
/// # Errors
/// When it isn't TOML.
pub fn tidy(text: &str) -> Result<String, TomlError> {
    let mut document: DocumentMut = text.parse()?;
    let trailing = lines(document.trailing().as_str().unwrap_or_default());
    document.set_trailing(match trailing.trim() {
        "" => String::new(),
        rest => format!("\n{rest}\n"),
    });
    table(document.as_table_mut(), 0);
    let tidied = document.to_string();
    Ok(format!("{}\n", tidied.trim_matches('\n')))
}

fn table(table: &mut Table, depth: usize) {
    let mut first = depth > 0;
    for (mut key, item) in table.iter_mut() {
        match item {
            Item::Value(it) => {
                let decor = key.leaf_decor_mut();
                let before = lines(prefix(decor));
                let before = match first {
                    true => before.trim_start_matches('\n'),
                    false => &before,
                };
                decor.set_prefix(before.to_owned());
                decor.set_suffix(" ");
                let width = key.get().chars().count() + " = ".len();
                value(it, width);
                first = false;
            }
            Item::Table(it) => {
                header(it.decor_mut(), depth == 0);
                self::table(it, depth + 1);
            }
            Item::ArrayOfTables(all) => {
                for it in all.iter_mut() {
                    header(it.decor_mut(), true);
                    self::table(it, depth + 1);
                }
            }
            Item::None => {}
        }
    }
}

/// A table's header: its comments stay, with one blank line before them where it begins something of its own.
fn header(decor: &mut Decor, apart: bool) {
    let before = lines(prefix(decor));
    // A comment right below the last key, with a blank line behind it, belongs to that key's table.
    let ends_the_last = before.starts_with('#') && before.contains("\n\n");
    let blank = if apart && !ends_the_last { "\n" } else { "" };
    let before = before.trim_start_matches('\n');
    decor.set_prefix(format!("{blank}{before}"));
    let after = suffix(decor).trim_end().to_owned();
    decor.set_suffix(after);
}

fn value(it: &mut Value, indent: usize) {
    match it {
        Value::Array(array) => list(array, indent),
        Value::InlineTable(table) => inline(table),
        Value::String(_)
        | Value::Integer(_)
        | Value::Float(_)
        | Value::Boolean(_)
        | Value::Datetime(_) => {}
    }
    let after = suffix(it.decor()).trim_end().to_owned();
    it.decor_mut().set_prefix(" ");
    it.decor_mut().set_suffix(after);
}

/// A list: on one line where it was and fits there, else an element a line. One with comments stays as it is.
fn list(array: &mut Array, indent: usize) {
    let raw = array.to_string();
    let trailing = array.trailing().as_str().unwrap_or_default();
    let around = |mark: char| {
        let mut decors = array.iter().map(Value::decor);
        trailing.contains(mark)
            || decors.any(|decor| prefix(decor).contains(mark) || suffix(decor).contains(mark))
    };
    if around('#') {
        return;
    }
    let broken = around('\n');
    for it in array.iter_mut() {
        match it {
            Value::InlineTable(table) => inline(table),
            Value::Array(inner) => list(inner, indent),
            Value::String(_)
            | Value::Integer(_)
            | Value::Float(_)
            | Value::Boolean(_)
            | Value::Datetime(_) => {}
        }
    }
    let on_one_line = !broken && indent + raw.trim().chars().count() <= WIDEST;
    for (at, it) in array.iter_mut().enumerate() {
        let before = match (on_one_line, at) {
            (true, 0) => "",
            (true, _) => " ",
            (false, _) => "\n    ",
        };
        it.decor_mut().set_prefix(before);
        it.decor_mut().set_suffix("");
    }
    let several_lines = !on_one_line && !array.is_empty();
    array.set_trailing_comma(several_lines);
    array.set_trailing(if several_lines { "\n" } else { "" });
}

fn inline(table: &mut InlineTable) {
    let last = table.len().saturating_sub(1);
    for (at, (mut key, it)) in table.iter_mut().enumerate() {
        key.leaf_decor_mut().set_prefix(" ");
        key.leaf_decor_mut().set_suffix(" ");
        match it {
            Value::Array(array) => list(array, 0),
            Value::InlineTable(table) => inline(table),
            Value::String(_)
            | Value::Integer(_)
            | Value::Float(_)
            | Value::Boolean(_)
            | Value::Datetime(_) => {}
        }
        it.decor_mut().set_prefix(" ");
        it.decor_mut().set_suffix(if at == last { " " } else { "" });
    }
}

fn prefix(decor: &Decor) -> &str {
    decor
        .prefix()
        .and_then(RawString::as_str)
        .unwrap_or_default()
}

fn suffix(decor: &Decor) -> &str {
    decor
        .suffix()
        .and_then(RawString::as_str)
        .unwrap_or_default()
}

/// Comments and blank lines: neither indented nor with spaces at the end, and never two blank lines in a row. Behind the
/// last line break only an indent stands, which goes.
fn lines(text: &str) -> String {
    let mut all: Vec<&str> = text.split('\n').map(str::trim).collect();
    if all.last().is_some_and(|last| last.is_empty()) {
        all.pop();
    }
    all.dedup_by(|next, before| next.is_empty() && before.is_empty());
    all.iter().map(|line| format!("{line}\n")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOOSE: &str = "#:schema ./procedure.schema.json\n# A pump.\nformat=1\n\n\n  id   =\"pump\"   # its name  \n\
        cautions = [ \"a\",\"b\" ]\n[lay_out]\n   tools=[]\n# no more\n\n# ---- the job\n\n\n[[step]]\nid = \"a\"\n\
        uses=[{what=\"oil\",amount=\"5 ml\"}]\n\n[step.warning]\nsignal='caution'\n[[step]]\n\n# why\nid = \"b\"\n# end\n";

    #[test]
    fn spaces_and_blank_lines_are_put_right_and_comments_stay() {
        insta::assert_snapshot!(tidy(LOOSE).unwrap());
    }

    #[test]
    fn what_is_tidy_stays_and_means_the_same() {
        let once = tidy(LOOSE).unwrap();
        assert_eq!(tidy(&once).unwrap(), once);
        let [before, after]: [toml::Table; 2] = [LOOSE, &once].map(|it| it.parse().unwrap());
        assert_eq!(before, after);
        assert_eq!(LOOSE.matches('#').count(), once.matches('#').count());
    }

    #[test]
    fn a_long_list_gets_an_element_a_line_and_a_list_with_comments_stays() {
        let tool = format!("\"{}\"", "x".repeat(70));
        let long = format!("tools = [{tool}, {tool}]\n");
        let broken = format!("tools = [\n    {tool},\n    {tool},\n]\n");
        assert_eq!(tidy(&long).unwrap(), broken);
        assert_eq!(tidy(&broken).unwrap(), broken);
        let commented = "tools = [\n  \"a\", # the short one\n  \"b\",\n]\n";
        assert_eq!(tidy(commented).unwrap(), commented);
        assert!(tidy("a = [").is_err());
    }
}
