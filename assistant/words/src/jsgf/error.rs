//! What can be wrong with a grammar, where, and what to do about it.

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode};
use std::fmt;
use std::ops::Range;

/// The first thing that is wrong with a grammar, drawn at the words that are wrong.
#[derive(Debug, thiserror::Error)]
#[error("{problem}")]
pub struct GrammarError {
    /// What is wrong.
    pub problem: Problem,
    /// Where, in bytes from the start of the text.
    pub span: Range<usize>,
    source_text: NamedSource<String>,
}

/// What is wrong with a grammar.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Problem {
    /// The text doesn't begin with `#JSGF V1.0;`.
    #[error("the grammar doesn't begin with `#JSGF V1.0;`")]
    NoHeader,
    /// The header is followed by something else than `grammar name;`.
    #[error("the grammar has no name")]
    NoName,
    /// A semicolon is missing.
    #[error("a semicolon is missing after {after}")]
    NoSemicolon {
        /// What it should have followed.
        after: String,
    },
    /// A rule doesn't begin with `<name> =`.
    #[error("a rule was expected here, found {found}")]
    NotARule {
        /// What stands there instead.
        found: String,
    },
    /// A rule's name is empty or isn't closed by `>`.
    #[error("this rule name isn't a name between `<` and `>`")]
    BadRuleName,
    /// A reference to a rule that isn't there.
    #[error("there is no rule <{name}>")]
    UnknownRule {
        /// The missing rule.
        name: String,
        /// The rule that is spelt most like it.
        nearest: Option<String>,
    },
    /// Two rules of one name.
    #[error("the rule <{0}> is there twice")]
    Duplicate(String),
    /// A rule that leads back to itself.
    #[error("the rule <{name}> leads back to itself: {path}")]
    Recursion {
        /// The rule.
        name: String,
        /// The way round.
        path: String,
    },
    /// A group or optional part that isn't closed.
    #[error("this `{0}` is never closed")]
    Unterminated(char),
    /// A closing bracket without its opening one.
    #[error("this `{0}` closes nothing")]
    ClosesNothing(char),
    /// An alternative, group or rule without a word.
    #[error("there is nothing to say here")]
    Empty,
    /// A tag that follows no word or group.
    #[error("this tag follows nothing that is said")]
    TagAlone,
    /// A part of the format that we leave out.
    #[error("{what} are not taken here")]
    NotTaken {
        /// What it is.
        what: &'static str,
        /// What to write instead.
        instead: &'static str,
    },
    /// A character that has no place in a grammar.
    #[error("the character {0:?} has no place here")]
    StrayCharacter(char),
    /// Brackets or references nested more than the limit.
    #[error("this is nested more than {0} deep")]
    TooDeep(usize),
    /// With its references written out, the rule has too many parts.
    #[error("the rule <{name}> has more than {limit} parts once its references are written out")]
    TooLarge {
        /// The rule.
        name: String,
        /// How many parts are taken.
        limit: usize,
    },
}

/// A problem with its place, before it is bound to a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wrong {
    pub problem: Problem,
    pub span: Range<usize>,
}

impl Wrong {
    pub fn new(problem: Problem, span: Range<usize>) -> Self {
        Self { problem, span }
    }
}

impl GrammarError {
    pub(super) fn new(file: &str, text: &str, wrong: Wrong) -> Self {
        Self {
            problem: wrong.problem,
            span: wrong.span,
            source_text: NamedSource::new(file, text.to_owned()),
        }
    }
}

impl Problem {
    fn remedy(&self) -> String {
        match self {
            Self::NoHeader => "write `#JSGF V1.0;` as the first line".to_owned(),
            Self::NoName => "write `grammar name;` after the header".to_owned(),
            Self::NoSemicolon { .. } => "end it with `;`".to_owned(),
            Self::NotARule { .. } => {
                "write `<name> = what is said;` or `public <name> = …;`".to_owned()
            }
            Self::BadRuleName => {
                "write letters, digits, `-`, `_` or `.` between `<` and `>`".to_owned()
            }
            Self::UnknownRule {
                nearest: Some(nearest),
                ..
            } => {
                format!("did you mean <{nearest}>?")
            }
            Self::UnknownRule { nearest: None, .. } => {
                "add the rule, or take the reference out".to_owned()
            }
            Self::Duplicate(_) => "rename one, or join them with `|`".to_owned(),
            Self::Recursion { .. } => {
                "write out as many repetitions as are meant, with `[ ]` around what may be left out"
                    .to_owned()
            }
            Self::Unterminated('{') => "close the tag with `}`".to_owned(),
            Self::Unterminated('[') => "close it with `]`".to_owned(),
            Self::Unterminated('/') => "close the comment with `*/`".to_owned(),
            Self::Unterminated(_) => "close it with `)`".to_owned(),
            Self::ClosesNothing(_) => "take it out, or open it before".to_owned(),
            Self::Empty => "write a word, or use `[ ]` around what may be left unsaid".to_owned(),
            Self::TagAlone => "put the tag after the word or group that it is for".to_owned(),
            Self::NotTaken { instead, .. } => (*instead).to_owned(),
            Self::StrayCharacter(_) => "take it out".to_owned(),
            Self::TooDeep(_) => "split the rule, or take brackets out".to_owned(),
            Self::TooLarge { .. } => "split the rule".to_owned(),
        }
    }
}

impl Diagnostic for GrammarError {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.problem.remedy()))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source_text)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let label = LabeledSpan::new_with_span(Some("here".to_owned()), self.span.clone());
        Some(Box::new(std::iter::once(label)))
    }
}
