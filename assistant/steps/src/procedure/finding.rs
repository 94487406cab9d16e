//! What the checker finds in a procedure, and where.

use super::code::{Code, Severity};
use crate::Id;
use miette::{Diagnostic, LabeledSpan, NamedSource, SourceSpan};
use std::fmt::{self, Display};
use std::sync::Arc;

/// Something of a procedure that a finding can be drawn at.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum At {
    Title,
    /// The readback of a gate.
    Readback(Id),
    /// A decoy of a gate, as it is heard.
    Decoy(Id, String),
    /// The words of an option: variant and option.
    Option(Id, Id),
    /// What is said to get to a branch, as it is heard.
    Says(String),
    /// The name of an item, a fastener group or a reading.
    Name(Id),
}

impl fmt::Display for At {
    /// As the place is noted while the file is read.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Title => f.write_str("title"),
            Self::Readback(gate) => write!(f, "readback {gate}"),
            Self::Decoy(gate, words) => write!(f, "decoy {gate} {words}"),
            Self::Option(variant, option) => write!(f, "option {variant} {option}"),
            Self::Says(words) => write!(f, "says {words}"),
            Self::Name(thing) => write!(f, "name {thing}"),
        }
    }
}

/// One thing to put right or to look at again, drawn at its place in the file.
#[derive(Debug, Clone, thiserror::Error)]
#[error("{message}")]
pub struct Finding {
    /// Which kind it is.
    pub code: Code,
    /// What is wrong, naming the words in question.
    pub message: String,
    pub file: NamedSource<Arc<str>>,
    /// The wrong words.
    pub place: SourceSpan,
    /// What is said at the place.
    pub label: String,
    /// What to do now.
    pub remedy: String,
    /// The names of the steps or things that it is about, where it is a doubt; what `at` of an `[[accepted]]` names.
    /// In a part that is included twice there are two.
    pub about: Vec<String>,
    /// The author's reason why it is right as it stands. Only a doubt can have one.
    pub accepted: Option<String>,
}

impl Finding {
    /// Whether the procedure can't be used with it.
    pub fn is_mistake(&self) -> bool {
        self.code.severity() == Severity::Mistake
    }
}

impl Diagnostic for Finding {
    fn code(&self) -> Option<Box<dyn Display + '_>> {
        Some(Box::new(self.code))
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match (self.code.severity(), &self.accepted) {
            (Severity::Mistake, _) => miette::Severity::Error,
            (Severity::Doubt, None) => miette::Severity::Warning,
            (Severity::Doubt, Some(_)) | (Severity::Advice, _) => miette::Severity::Advice,
        })
    }

    fn help(&self) -> Option<Box<dyn Display + '_>> {
        Some(match &self.accepted {
            Some(reason) => Box::new(format!("accepted: {reason}")),
            None => Box::new(&self.remedy),
        })
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        Some(&self.file)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let label = LabeledSpan::new_with_span(Some(self.label.clone()), self.place);
        Some(Box::new(std::iter::once(label)))
    }
}

/// All that is wrong with a procedure. Never empty.
#[derive(Debug, Clone, thiserror::Error, Diagnostic)]
#[error("“{procedure}” can't be used: {} {} to put right", problems.len(), if problems.len() == 1 { "thing" } else { "things" })]
pub struct Problems {
    /// The procedure's file.
    pub procedure: String,
    /// One by one.
    #[related]
    pub problems: Vec<Finding>,
}
