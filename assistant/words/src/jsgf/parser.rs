//! Tokens to rules.

use super::error::{Problem, Wrong};
use super::lexer::{Placed, Token, tokens};
use super::{Expansion, Grammar, Rule};
use std::ops::Range;

/// How deep brackets may be nested, so that no text can exhaust the stack.
pub(super) const DEEPEST: usize = 32;

/// A grammar with the places of its names, before it is checked.
pub(super) struct Parsed {
    pub name: String,
    pub rules: Vec<(Rule, Range<usize>)>,
    /// Every reference with its place, per rule.
    pub references: Vec<Vec<(String, Range<usize>)>>,
}

impl Parsed {
    pub fn into_grammar(self) -> Grammar {
        Grammar {
            name: self.name,
            rules: self.rules.into_iter().map(|(rule, _)| rule).collect(),
        }
    }
}

pub(super) fn parse(text: &str) -> Result<Parsed, Wrong> {
    let start = header(text)?;
    let mut reader = Reader {
        tokens: tokens(text, start)?,
        at: 0,
        references: Vec::new(),
    };
    let name = reader.grammar_name()?;
    let mut rules = Vec::new();
    let mut references = Vec::new();
    while reader.peek().is_some() {
        rules.push(reader.rule()?);
        references.push(std::mem::take(&mut reader.references));
    }
    Ok(Parsed {
        name,
        rules,
        references,
    })
}

/// `#JSGF V1.0 [encoding [locale]];` (section 3.1 of the W3C Note). Returns where it ends.
fn header(text: &str) -> Result<usize, Wrong> {
    let line_end = text.find('\n').unwrap_or(text.len());
    let wrong = |problem| Wrong::new(problem, 0..line_end);
    let rest = text
        .strip_prefix("#JSGF V1.0")
        .ok_or_else(|| wrong(Problem::NoHeader))?;
    let end = rest
        .find([';', '\n'])
        .filter(|&end| rest[end..].starts_with(';'))
        .ok_or_else(|| {
            wrong(Problem::NoSemicolon {
                after: "the header".to_owned(),
            })
        })?;
    let names = &rest[..end];
    let wellformed = (names.is_empty() || names.starts_with([' ', '\t']))
        && names.split_whitespace().count() <= 2
        && names
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '\t' | '-' | '_'));
    if wellformed {
        Ok(text.len() - rest.len() + end + 1)
    } else {
        Err(wrong(Problem::NoHeader))
    }
}

struct Reader {
    tokens: Vec<Placed>,
    at: usize,
    references: Vec<(String, Range<usize>)>,
}

impl Reader {
    fn peek(&self) -> Option<&Token> {
        self.tokens.get(self.at).map(|(token, _)| token)
    }

    /// The place of the next token, or of the last one at the end.
    fn place(&self) -> Range<usize> {
        self.tokens
            .get(self.at)
            .or(self.tokens.last())
            .map_or(0..0, |(_, place)| place.clone())
    }

    /// The place of the token before.
    fn place_before(&self) -> Range<usize> {
        self.at
            .checked_sub(1)
            .and_then(|at| self.tokens.get(at))
            .map_or(0..0, |(_, p)| p.clone())
    }

    fn take(&mut self, wanted: &Token) -> bool {
        let is = self.peek() == Some(wanted);
        if is {
            self.at += 1;
        }
        is
    }

    fn take_word(&mut self) -> Option<String> {
        let Some(Token::Word(word)) = self.peek() else {
            return None;
        };
        let word = word.clone();
        self.at += 1;
        Some(word)
    }

    fn semicolon(&mut self, after: impl FnOnce() -> String) -> Result<(), Wrong> {
        if self.take(&Token::Semicolon) {
            Ok(())
        } else {
            Err(Wrong::new(
                Problem::NoSemicolon { after: after() },
                self.place_before(),
            ))
        }
    }

    fn grammar_name(&mut self) -> Result<String, Wrong> {
        let no_name = |reader: &Self| Wrong::new(Problem::NoName, reader.place());
        if !self.take(&Token::Word("grammar".to_owned())) {
            return Err(no_name(self));
        }
        let name = self.take_word().ok_or_else(|| no_name(self))?;
        self.semicolon(|| "the grammar's name".to_owned())?;
        Ok(name)
    }

    fn rule(&mut self) -> Result<(Rule, Range<usize>), Wrong> {
        let public = self.take(&Token::Word("public".to_owned()));
        let place = self.place();
        let not_a_rule = |reader: &Self| {
            let found = reader.peek().map_or("the end".to_owned(), Token::described);
            Wrong::new(Problem::NotARule { found }, reader.place())
        };
        let Some(Token::Rule(name)) = self.peek() else {
            return Err(not_a_rule(self));
        };
        let name = name.clone();
        self.at += 1;
        if !self.take(&Token::Equals) {
            return Err(not_a_rule(self));
        }
        let expansion = self.alternatives(0)?;
        match self.peek() {
            Some(&Token::Close(bracket)) => {
                Err(Wrong::new(Problem::ClosesNothing(bracket), self.place()))
            }
            _ => {
                self.semicolon(|| format!("the rule <{name}>"))?;
                Ok((
                    Rule {
                        name,
                        public,
                        expansion,
                    },
                    place,
                ))
            }
        }
    }

    fn alternatives(&mut self, depth: usize) -> Result<Expansion, Wrong> {
        let mut choices = vec![self.sequence(depth)?];
        while self.take(&Token::Or) {
            choices.push(self.sequence(depth)?);
        }
        Ok(one_or(choices, Expansion::Alternatives))
    }

    fn sequence(&mut self, depth: usize) -> Result<Expansion, Wrong> {
        let mut parts = Vec::new();
        while let Some(part) = self.part(depth)? {
            parts.push(part);
        }
        if parts.is_empty() {
            return Err(Wrong::new(Problem::Empty, self.place()));
        }
        Ok(one_or(parts, Expansion::Sequence))
    }

    /// A word, reference, group or optional part with the tags after it; `None` where the sequence ends.
    fn part(&mut self, depth: usize) -> Result<Option<Expansion>, Wrong> {
        let place = self.place();
        let mut part = match self.peek() {
            Some(Token::Word(word)) => Expansion::Word(word.clone()),
            Some(Token::Rule(name)) => {
                let name = name.clone();
                self.references.push((name.clone(), place));
                Expansion::Reference(name)
            }
            Some(&Token::Open(bracket)) => {
                self.at += 1;
                self.bracketed(bracket, place, depth)?
            }
            Some(Token::Tag(_)) => return Err(Wrong::new(Problem::TagAlone, place)),
            // A missing semicolon is noticed at the next rule's `=`, one token late; the caller says so.
            Some(Token::Equals | Token::Or | Token::Semicolon | Token::Close(_)) | None => {
                return Ok(None);
            }
        };
        self.at += 1;
        if self.peek() == Some(&Token::Equals) {
            // `… word <next-rule> = …`: the semicolon before `<next-rule>` is missing.
            self.at -= 1;
            let before = self.place_before();
            let problem = Problem::NoSemicolon {
                after: "the rule before".to_owned(),
            };
            return Err(Wrong::new(problem, before));
        }
        while let Some(Token::Tag(tag)) = self.peek() {
            part = Expansion::Tagged(Box::new(part), tag.clone());
            self.at += 1;
        }
        Ok(Some(part))
    }

    /// What is in brackets. The opening one is taken; the closing one is left for the caller.
    fn bracketed(
        &mut self,
        bracket: char,
        opened: Range<usize>,
        depth: usize,
    ) -> Result<Expansion, Wrong> {
        if depth >= DEEPEST {
            return Err(Wrong::new(Problem::TooDeep(DEEPEST), opened));
        }
        let inner = self.alternatives(depth + 1)?;
        let (closing, expansion) = match bracket {
            '[' => (']', Expansion::Optional(Box::new(inner))),
            _ => (')', inner),
        };
        if self.peek() == Some(&Token::Close(closing)) {
            Ok(expansion)
        } else {
            Err(Wrong::new(Problem::Unterminated(bracket), opened))
        }
    }
}

fn one_or(mut parts: Vec<Expansion>, many: fn(Vec<Expansion>) -> Expansion) -> Expansion {
    match (parts.len(), parts.pop()) {
        (1, Some(only)) => only,
        (_, Some(last)) => {
            parts.push(last);
            many(parts)
        }
        (_, None) => many(parts),
    }
}
