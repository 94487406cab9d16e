//! Drafts of procedures, made from a list of steps in a table or in Markdown.
//!
//! What a text seems to say (a count, a size, a torque, an order) is a proposal and nothing more. Each one carries the
//! key `review`, which no procedure may have: the loader refuses the file until its author has compared the line with
//! its source and deleted the key. A row that isn't understood becomes a plain step, so nothing of the list is lost.
//!
//! This crate reads no file. It refuses to guess: a number without a unit, a comma that may separate thousands, or a
//! “lb in” that may be the beginning of “lb in a star” stays in the text. What is likely but not certain (“37,5”, “T30”,
//! “hex 8”) is proposed, and the review says what it was taken for.
//!
//! ```
//! use drafts::{Form, draft};
//!
//! let list = "1. Loosen the 5 wheel nuts, 21 mm\n2. Tighten the 5 wheel nuts to 100 ft-lb in a star\n";
//! let made = draft(list, Form::Markdown, "wheel")?;
//! assert!(made.toml.contains("torque = \"100 lbf·ft\""));
//! assert!(made.toml.contains("pattern = \"star\""));
//! let library = std::collections::BTreeMap::from([("wheel", made.toml.as_str())]);
//! assert!(steps::Procedure::load("wheel", &library).is_err(), "it waits for its review");
//! # Ok::<(), drafts::DraftError>(())
//! ```
//!
//! # Why can't a draft be used as it is?
//!
//! A list says nothing about hazards, and its numbers may be misread. So a draft is refused until somebody has
//! compared every proposal with the source. There is no switch that would skip this: `steps::procedure` refuses the
//! key `review` by its ordinary rule for unknown keys.

mod interpretation;
mod nouns;
mod quantities;
mod rows;
mod sizes;
mod write;

use std::fmt;

/// The largest list that is read, in bytes.
pub const MAX_BYTES: usize = 1_000_000;

/// The most steps that a list may have. A job of sixty steps takes hours.
pub const MAX_ROWS: usize = 1_000;

/// How the list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A table, a row a step (RFC 4180); a head with `step`, `count`, `size`, `torque`, `warning` is understood.
    Csv,
    /// List items and rows of tables, each a step; a paragraph that begins with a signal word warns of the next.
    Markdown,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// The procedure's file. It can't be used before its reviews are gone.
    pub toml: String,
    /// Steps that were written.
    pub steps: usize,
    /// Fastener groups that were found.
    pub groups: usize,
    /// Lines to review.
    pub reviews: usize,
    /// The lines of the list that became plain steps because their words or values weren't understood.
    pub not_understood: Vec<usize>,
}

/// Why no draft was made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DraftError {
    /// The list is too long.
    #[error("the list has {0} bytes, more than {MAX_BYTES}; split it into several jobs")]
    TooLong(usize),
    /// It has too many steps.
    #[error("the list has {0} steps, more than {MAX_ROWS}; split it into several jobs")]
    TooMany(usize),
    /// No step was found.
    #[error("no step was found: write {0}")]
    Empty(Wanted),
    /// A row of the table can't be read.
    #[error("line {line}: the table can't be read: {what}. Mend this row, nothing was written")]
    Row {
        /// Line of the list, from 1.
        line: u64,
        /// What the reader of tables says.
        what: String,
    },
    /// The name that the procedure would have.
    #[error(
        "“{0}” can't be a procedure's name: use lower-case letters, digits and hyphens, beginning with a letter"
    )]
    Name(String),
}

/// What a list should hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted(Form);

impl fmt::Display for Wanted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.0 {
            Form::Csv => "one step a row, under a head such as “step,torque”",
            Form::Markdown => "one step a list item, such as “1. Loosen the 5 wheel nuts”",
        })
    }
}

/// Makes a draft of a procedure that is called `id`.
///
/// # Errors
/// [`DraftError`] where the list can't be read at all. A row that isn't understood is no error.
pub fn draft(list: &str, form: Form, id: &str) -> Result<Draft, DraftError> {
    if !steps::Id::is_well_formed(id) {
        return Err(DraftError::Name(id.to_owned()));
    }
    if list.len() > MAX_BYTES {
        return Err(DraftError::TooLong(list.len()));
    }
    let list = match form {
        Form::Csv => rows::csv::read(list)?,
        Form::Markdown => rows::markdown::read(list),
    };
    if list.rows.is_empty() {
        return Err(DraftError::Empty(Wanted(form)));
    }
    if list.rows.len() > MAX_ROWS {
        return Err(DraftError::TooMany(list.rows.len()));
    }
    Ok(write::written(id, &list))
}
