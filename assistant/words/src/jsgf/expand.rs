//! Listing all that a rule lets be said.

use super::{Expansion, Grammar};

/// One thing that may be said, with the tags that saying it gives.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Phrase {
    /// The words, in order.
    pub words: Vec<String>,
    /// The tags, in the order in which they are met.
    pub tags: Vec<String>,
}

/// Why a rule can't be listed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ExpandError {
    /// There is no such rule.
    #[error("the grammar has no rule <{0}>: add it, or ask for another")]
    UnknownRule(String),
    /// More than was asked for.
    #[error("the rule <{rule}> lets more than {limit} things be said: split it or raise the limit")]
    TooMany {
        rule: String,
        /// The limit that was given.
        limit: usize,
    },
}

/// More than the limit was met on the way.
struct Overflow;

impl Grammar {
    /// All that the rule lets be said, in the grammar's order, each phrase once.
    ///
    /// # Errors
    /// When there is no such rule, or when more than `limit` ways lead through it.
    pub fn expand(&self, rule: &str, limit: usize) -> Result<Vec<Phrase>, ExpandError> {
        let top = self
            .rule(rule)
            .ok_or_else(|| ExpandError::UnknownRule(rule.to_owned()))?;
        let mut phrases =
            self.list(&top.expansion, limit)
                .map_err(|Overflow| ExpandError::TooMany {
                    rule: rule.to_owned(),
                    limit,
                })?;
        let mut seen = std::collections::HashSet::new();
        phrases.retain(|phrase| seen.insert(phrase.clone()));
        Ok(phrases)
    }

    fn list(&self, expansion: &Expansion, limit: usize) -> Result<Vec<Phrase>, Overflow> {
        let listed = match expansion {
            Expansion::Word(word) => {
                vec![Phrase {
                    words: vec![word.clone()],
                    tags: Vec::new(),
                }]
            }
            Expansion::Reference(name) => match self.rule(name) {
                Some(rule) => self.list(&rule.expansion, limit)?,
                // A grammar that was read has no unknown rules.
                None => Vec::new(),
            },
            Expansion::Sequence(parts) => {
                let mut so_far = vec![nothing()];
                for part in parts {
                    let next = self.list(part, limit)?;
                    if so_far.len().saturating_mul(next.len()) > limit {
                        return Err(Overflow);
                    }
                    so_far = so_far
                        .iter()
                        .flat_map(|before| next.iter().map(|after| joined(before, after)))
                        .collect();
                }
                so_far
            }
            Expansion::Alternatives(choices) => {
                let mut all = Vec::new();
                for choice in choices {
                    all.extend(self.list(choice, limit)?);
                    if all.len() > limit {
                        return Err(Overflow);
                    }
                }
                all
            }
            Expansion::Optional(inner) => {
                let mut all = self.list(inner, limit)?;
                all.push(nothing());
                all
            }
            Expansion::Tagged(inner, tag) => {
                let mut all = self.list(inner, limit)?;
                for phrase in &mut all {
                    phrase.tags.push(tag.clone());
                }
                all
            }
        };
        if listed.len() > limit {
            Err(Overflow)
        } else {
            Ok(listed)
        }
    }
}

fn nothing() -> Phrase {
    Phrase {
        words: Vec::new(),
        tags: Vec::new(),
    }
}

fn joined(before: &Phrase, after: &Phrase) -> Phrase {
    let both = |a: &[String], b: &[String]| a.iter().chain(b).cloned().collect();
    Phrase {
        words: both(&before.words, &after.words),
        tags: both(&before.tags, &after.tags),
    }
}
