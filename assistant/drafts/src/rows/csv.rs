//! Rows of a table with commas, semicolons or tabs.

use super::{List, heads, row};
use crate::DraftError;

pub fn read(text: &str) -> Result<List, DraftError> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter(text))
        .from_reader(text.as_bytes());
    let mut list = List::default();
    let mut named = None;
    for (number, record) in reader.records().enumerate() {
        let record = record.map_err(|error| DraftError::Row {
            line: error.position().map_or(1, csv::Position::line),
            what: error.to_string(),
        })?;
        let line = record.position().map_or(0, csv::Position::line) as usize;
        let cells: Vec<String> = record.iter().map(str::to_owned).collect();
        if number == 0 {
            named = heads(&cells);
            if named.is_some() {
                continue;
            }
        }
        list.rows.extend(row(line, named.as_deref(), &cells));
    }
    Ok(list)
}

/// Which sign parts the cells: the one that the first line has most of.
fn delimiter(text: &str) -> u8 {
    let first = text.lines().next().unwrap_or_default();
    let count = |sign: u8| first.bytes().filter(|byte| *byte == sign).count();
    // The comma wins where they are even.
    [b'\t', b';', b',']
        .into_iter()
        .max_by_key(|sign| count(*sign))
        .unwrap_or(b',')
}
