//! A sheet as Markdown (CommonMark, tables as GitHub has them).

use crate::sheet::{Part, Sheet, StepLine, Table};
use std::fmt::Write;

/// Writes into a text, which never fails.
macro_rules! put {
    ($out:expr, $($words:tt)*) => {{ let _ = writeln!($out, $($words)*); }};
}

/// The whole sheet. Drawings and photos have no place in it; what they tell stands there in words.
pub(crate) fn page(sheet: &Sheet) -> String {
    let mut out = String::new();
    put!(out, "# {}\n", words(&sheet.title));
    let first = [sheet.kind, &sheet.subtitle].map(words);
    put!(out, "{}\n", first.join(": "));
    if !sheet.on_each_page.is_empty() {
        put!(out, "**{}**\n", words(&sheet.on_each_page));
    }
    for it in &sheet.parts {
        part(&mut out, it);
    }
    put!(out, "---\n\n{}", words(&sheet.foot));
    out
}

fn part(out: &mut String, part: &Part) {
    match part {
        Part::Heading(text) => put!(out, "## {}\n", words(text)),
        Part::Words { text, strong: true } => put!(out, "**{}**\n", words(text)),
        Part::Words {
            text,
            strong: false,
        } => put!(out, "{}\n", words(text)),
        Part::List(items) => list(out, items),
        Part::Facts { facts, beside: _ } => {
            let facts = facts
                .iter()
                .map(|(name, fact)| format!("- **{}:** {}", words(name), words(fact)));
            put!(out, "{}\n", facts.collect::<Vec<_>>().join("\n"));
        }
        Part::Table(it) => table(out, it),
        Part::Steps(lines) => lines.iter().for_each(|line| step(out, line)),
        Part::Figure { drawing, caption } => {
            put!(out, "{}. {}\n", words(&drawing.tells), words(caption));
        }
        Part::Photos(photos) => {
            let captions: Vec<String> = photos.iter().map(|(_, caption)| caption.clone()).collect();
            list(out, &captions);
        }
        Part::ToSign(lines) => {
            let lines: Vec<String> = lines.iter().map(|line| format!("{line}: …")).collect();
            list(out, &lines);
        }
    }
}

fn list(out: &mut String, items: &[String]) {
    let items: Vec<String> = items.iter().map(|it| format!("- {}", words(it))).collect();
    put!(out, "{}\n", items.join("\n"));
}

fn step(out: &mut String, line: &StepLine) {
    let named = match line.number.is_empty() {
        true => line.kind.to_owned(),
        false => format!("{} {}", line.number, line.kind),
    };
    put!(out, "**{}**\n", words(&named));
    if let Some(only) = &line.only {
        put!(out, "{}\n", words(only));
    }
    if let Some((signal, text)) = &line.warning {
        put!(out, "> **{}: {}**\n", words(signal), words(text));
    }
    if !line.text.is_empty() {
        put!(out, "{}\n", words(&line.text));
    }
    for text in &line.strong {
        put!(out, "**{}**\n", words(text));
    }
    if !line.values.is_empty() {
        list(out, &line.values);
    }
}

fn table(out: &mut String, table: &Table) {
    let row = |cells: Vec<String>| format!("| {} |", cells.join(" | "));
    let names = table.columns.iter().map(|column| words(&column.name));
    put!(out, "{}", row(names.collect()));
    put!(out, "{}", row(vec!["---".to_owned(); table.columns.len()]));
    for cells in &table.rows {
        let cells = cells.iter().map(|cell| match cell.strong {
            true if !cell.text.is_empty() => format!("**{}**", words(&cell.text)),
            true | false => words(&cell.text),
        });
        put!(out, "{}", row(cells.collect()));
    }
    put!(out, "");
}

/// A text that Markdown takes for nothing but this text.
fn words(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    // A number at the head followed by a point or a bracket would begin a list.
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    for (at, letter) in text.char_indices() {
        let at_head = at == 0 && matches!(letter, '#' | '+' | '-' | '=' | ':')
            || at == digits && digits > 0 && matches!(letter, '.' | ')');
        let anywhere = matches!(
            letter,
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '~' | '&' | '$'
        );
        if at_head || anywhere {
            out.push('\\');
        }
        out.push(letter);
    }
    out
}
