//! A report, or a procedure's step sheet, as a sequence of headings, tables and pictures: what HTML, PDF and Markdown
//! have in common.
//!
//! # Why do the report and the step sheet share a model?
//!
//! A sheet consists of headings, tables, steps and pictures. `compose.rs` makes one from a record and `step_sheet.rs`
//! one from a procedure, and HTML, PDF and Markdown draw either. A step and its warning are one part, so no page
//! break can separate them.

use crate::drawing::Drawing;
use crate::{Logo, Paper, Picture};

/// A report or a step sheet, ready to be set.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sheet {
    /// The shop's logo; stands above all.
    pub logo: Option<Logo>,
    /// What it is; stands above the title.
    pub kind: &'static str,
    pub title: String,
    /// Stands below the title.
    pub subtitle: String,
    /// Stands at the foot of each page.
    pub foot: String,
    /// Cautions that no page may lack; stand above its foot.
    pub on_each_page: String,
    /// Stands on each page of a rehearsal.
    pub mark: Option<&'static str>,
    pub paper: Paper,
    pub parts: Vec<Part>,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Part {
    Heading(String),
    Words {
        text: String,
        strong: bool,
    },
    List(Vec<String>),
    /// Names and what belongs to them; beside them a drawing, if there is one.
    Facts {
        facts: Vec<(String, String)>,
        beside: Option<Drawing>,
    },
    Table(Table),
    Steps(Vec<StepLine>),
    Figure {
        drawing: Drawing,
        caption: String,
    },
    Photos(Vec<(Picture, String)>),
    /// Lines to write on, each with its name.
    ToSign(Vec<String>),
}

/// A step on a sheet. Whatever warns stands before what is done (DOE-STD-1029).
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct StepLine {
    /// Empty where the step has no place of its own in the job.
    pub number: String,
    /// The action in a word.
    pub kind: &'static str,
    pub hold: bool,
    /// For which choice it is done.
    pub only: Option<String>,
    /// The signal word in capitals, and what it warns of.
    pub warning: Option<(String, String)>,
    /// Whether that can injure, so that the alert symbol belongs before it.
    pub injures: bool,
    /// What is done.
    pub text: String,
    /// What is said, or where it leads.
    pub strong: Vec<String>,
    /// Sizes, torques, limits.
    pub values: Vec<String>,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table {
    /// What the table is, for those who hear it.
    pub tells: String,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Column {
    pub name: String,
    /// Of the table's width.
    pub share: f32,
}

#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Cell {
    pub text: String,
    pub strong: bool,
    pub drawing: Option<Drawing>,
}

impl Cell {
    pub fn plain(text: impl Into<String>) -> Self {
        Self {
            text: clean(&text.into()),
            ..Self::default()
        }
    }

    pub fn strong(text: impl Into<String>) -> Self {
        Self {
            strong: true,
            ..Self::plain(text)
        }
    }
}

/// What people said or wrote, in one line of what can be printed: no control characters, and none that turn
/// the direction of what follows, with which a text could look like another one.
pub(crate) fn clean(text: &str) -> String {
    let printable = |it: char| match it {
        '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{feff}' => None,
        it if it.is_control() => Some(' '),
        it => Some(it),
    };
    let text: String = text.chars().filter_map(printable).collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
