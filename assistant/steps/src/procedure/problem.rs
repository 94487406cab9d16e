//! What is wrong with a procedure, and where.

use miette::{Diagnostic, NamedSource, SourceSpan};
use std::sync::Arc;

/// One thing wrong, drawn at its place in the file.
#[derive(Debug, Clone, thiserror::Error, Diagnostic)]
#[error("{message}")]
pub struct Problem {
    /// Which kind of mistake it is.
    pub kind: ProblemKind,
    /// What is wrong, naming the words in question.
    pub message: String,
    /// The file.
    #[source_code]
    pub file: NamedSource<Arc<str>>,
    /// The wrong words.
    #[label("{label}")]
    pub place: SourceSpan,
    /// What is said at the place.
    pub label: String,
    /// What to do now.
    #[help]
    pub remedy: String,
}

/// The kinds of mistake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum ProblemKind {
    /// The file can't be read as text: missing, too large, not UTF-8.
    Unreadable,
    /// Not TOML, or keys that the format doesn't have.
    Format,
    /// A key that this place needs is left out, or one it can't have is given.
    Key,
    /// A name that isn't well formed.
    Name,
    /// A name given twice.
    Duplicate,
    /// A name that nothing has.
    Unknown,
    /// A part that includes itself.
    IncludeLoop,
    /// A number, quantity or count that can't be.
    Value,
    /// A readback that can't serve: shared, too short, with digits.
    Readback,
    /// A fact that no gate, or more than one, makes true; gates that need each other.
    Fact,
    /// Something taken off that isn't refitted, or refitted without having come off.
    Ledger,
}

/// All that is wrong with a procedure. Never empty.
#[derive(Debug, Clone, thiserror::Error, Diagnostic)]
#[error("“{procedure}” can't be used: {} thing(s) to put right", problems.len())]
pub struct Problems {
    /// The procedure's file.
    pub procedure: String,
    /// One by one.
    #[related]
    pub problems: Vec<Problem>,
}

/// Something that may be a slip, drawn at its place in the file. The procedure can be used all the same; its author
/// looks at the source again.
#[derive(Debug, Clone, thiserror::Error, Diagnostic)]
#[error("{message}")]
#[diagnostic(severity(Warning))]
pub struct Doubt {
    /// What looks odd, naming the words in question.
    pub message: String,
    /// The file.
    #[source_code]
    pub file: NamedSource<Arc<str>>,
    /// The odd words.
    #[label("{label}")]
    pub place: SourceSpan,
    /// What is said at the place.
    pub label: String,
    /// What to do now.
    #[help]
    pub remedy: String,
}
