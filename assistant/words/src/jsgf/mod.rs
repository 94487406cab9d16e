//! The subset of the JSpeech Grammar Format (W3C Note, 5 June 2000) that our grammars are written in.
//!
//! Taken: the header, `grammar name;`, public and private rules, sequences, alternatives, groups,
//! `[optional]` parts, `<references>`, `{tags}`, both kinds of comment. Refused with a sentence of its own:
//! imports, weights, quoted words, repetition (`*`, `+`) and recursion, since a finite grammar can be listed
//! phrase by phrase for a recogniser and checked for two meanings of one phrase.
//!
//! ```
//! use words::jsgf::Grammar;
//!
//! let grammar = Grammar::parse(
//!     "commands.jsgf",
//!     "#JSGF V1.0; grammar commands; public <next> = (next [step] | done) {next};",
//! )?;
//! assert_eq!(grammar.parse_words("next", &["next", "step"]), Some(vec!["next".to_owned()]));
//! assert_eq!(grammar.parse_words("next", &["next", "next"]), None);
//! # Ok::<(), Box<words::jsgf::GrammarError>>(())
//! ```

mod error;
mod expand;
mod lexer;
mod matching;
mod parser;
mod soundness;

pub use error::{GrammarError, Problem};
pub use expand::{ExpandError, Phrase};

/// A grammar whose rules all exist, don't recurse, and can be listed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grammar {
    name: String,
    rules: Vec<Rule>,
}

/// One rule: what may be said under its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rule {
    /// The name between `<` and `>`.
    pub name: String,
    /// Whether the rule may be said by itself.
    pub public: bool,
    /// What may be said.
    pub expansion: Expansion,
}

/// What a rule stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Expansion {
    Word(String),
    /// Another rule.
    Reference(String),
    /// One after another.
    Sequence(Vec<Expansion>),
    /// One of these; the first that fits wins.
    Alternatives(Vec<Expansion>),
    /// This or nothing.
    Optional(Box<Expansion>),
    /// This, and the tag is given when it was said.
    Tagged(Box<Expansion>, String),
}

impl Grammar {
    /// Reads a grammar. `file` names it in errors.
    ///
    /// # Errors
    /// The first thing that is wrong, with the place in the text and what would be right. Boxed because it
    /// carries the text.
    pub fn parse(file: &str, text: &str) -> Result<Self, Box<GrammarError>> {
        parser::parse(text)
            .and_then(|parsed| soundness::check(&parsed).map(|()| parsed))
            .map(parser::Parsed::into_grammar)
            .map_err(|wrong| Box::new(GrammarError::new(file, text, wrong)))
    }

    /// The name after `grammar`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// All rules, in the order in which they are written.
    pub fn rules(&self) -> &[Rule] {
        &self.rules
    }

    /// The rule of this name.
    pub fn rule(&self, name: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.name == name)
    }
}
