//! The list as rows, whatever it was written in.

pub mod csv;
pub mod markdown;

use steps::procedure::Signal;

/// A list of steps.
#[derive(Debug, Default)]
pub struct List {
    /// What the job seems to be called.
    pub title: Option<String>,
    pub rows: Vec<Row>,
}

/// A row of the list.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct Row {
    /// Where it begins, from 1.
    pub line: usize,
    /// What is done.
    pub text: String,
    /// What stood under “torque”, “size” and “count”.
    pub torque: Option<String>,
    pub size: Option<String>,
    pub count: Option<String>,
    /// What is said before it.
    pub warning: Option<(Signal, String)>,
    /// What stood under other heads.
    pub more: Option<String>,
    /// What is odd about it.
    pub doubts: Vec<String>,
}

/// What a column holds, by its head.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Head {
    Number,
    Text,
    Torque,
    Size,
    Count,
    Warning,
    Other,
}

impl Head {
    pub fn of(name: &str) -> Self {
        match name.trim().to_lowercase().as_str() {
            "no" | "no." | "nr" | "#" | "number" | "step no" | "step no." | "step number" => {
                Self::Number
            }
            "step" | "steps" | "action" | "text" | "what" | "what to do" | "description"
            | "instruction" | "operation" | "task" | "work" => Self::Text,
            "torque" | "tightening torque" => Self::Torque,
            "size" | "drive" | "socket" | "spanner" | "wrench" | "across flats" => Self::Size,
            "count" | "quantity" | "qty" | "pieces" | "how many" => Self::Count,
            "warning" | "caution" | "danger" | "hazard" => Self::Warning,
            _ => Self::Other,
        }
    }
}

/// The heads of a table, where its first row has some: one is the text's.
pub fn heads(first: &[String]) -> Option<Vec<Head>> {
    let heads: Vec<Head> = first.iter().map(|name| Head::of(name)).collect();
    heads.contains(&Head::Text).then_some(heads)
}

/// A row of a table. Without heads all cells but a leading number make up its text.
pub fn row(line: usize, heads: Option<&[Head]>, cells: &[String]) -> Option<Row> {
    let mut row = Row {
        line,
        ..Row::default()
    };
    let is_number = |cell: &str| {
        let digits = cell.trim_end_matches(['.', ')']);
        !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
    };
    for (at, cell) in cells.iter().enumerate() {
        let cell = plain(cell);
        let head = match heads {
            Some(heads) => heads.get(at).copied().unwrap_or(Head::Other),
            None if at == 0 && cells.len() > 1 && is_number(&cell) => Head::Number,
            None => Head::Text,
        };
        if cell.is_empty() {
            continue;
        }
        match head {
            Head::Number => {}
            Head::Text => join(&mut row.text, &cell),
            Head::Torque => row.torque = Some(cell),
            Head::Size => row.size = Some(cell),
            Head::Count => row.count = Some(cell),
            Head::Warning => {
                row.warning = Some(signal(&cell).unwrap_or((Signal::Warning, cell)));
            }
            Head::Other => join(row.more.get_or_insert_default(), &cell),
        }
    }
    if heads.is_some_and(|heads| cells.len() > heads.len()) {
        row.doubts.push(
            "the row has more cells than the head: a comma may stand in one of them".to_owned(),
        );
    }
    // What has values and no text is kept all the same.
    if row.text.is_empty() {
        for cell in [&row.torque, &row.size, &row.count, &row.more]
            .into_iter()
            .flatten()
        {
            join(&mut row.text, cell);
        }
        if row.text.is_empty() && row.warning.is_none() {
            return None;
        }
    }
    Some(row)
}

fn join(text: &mut String, more: &str) {
    if !text.is_empty() {
        text.push_str(", ");
    }
    text.push_str(more);
}

/// A text that begins with a signal word (ANSI Z535.6), and what it warns of.
pub fn signal(text: &str) -> Option<(Signal, String)> {
    let (word, rest) = text.split_once([':', '!'])?;
    let signal = match word.trim().to_lowercase().as_str() {
        "danger" => Signal::Danger,
        "warning" => Signal::Warning,
        "caution" => Signal::Caution,
        "notice" | "note" => Signal::Notice,
        _ => return None,
    };
    let rest = rest.trim();
    (!rest.is_empty()).then(|| (signal, rest.to_owned()))
}

/// One line without control characters, and without braces, which procedures fill in.
pub fn plain(text: &str) -> String {
    let text: String = text
        .chars()
        .map(|letter| match letter {
            '{' => '(',
            '}' => ')',
            letter if letter.is_control() || letter == '\u{feff}' => ' ',
            letter => letter,
        })
        .collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
