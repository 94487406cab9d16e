//! Text to tokens with their places.

use super::error::{Problem, Wrong};
use std::ops::Range;

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Token {
    Word(String),
    Rule(String),
    Tag(String),
    Equals,
    Or,
    Semicolon,
    Open(char),
    Close(char),
}

impl Token {
    /// How the token is named in a sentence.
    pub fn described(&self) -> String {
        match self {
            Self::Word(word) => format!("`{word}`"),
            Self::Rule(name) => format!("`<{name}>`"),
            Self::Tag(tag) => format!("`{{{tag}}}`"),
            Self::Equals => "`=`".to_owned(),
            Self::Or => "`|`".to_owned(),
            Self::Semicolon => "`;`".to_owned(),
            Self::Open(bracket) | Self::Close(bracket) => format!("`{bracket}`"),
        }
    }
}

pub(super) type Placed = (Token, Range<usize>);

/// Splits all after the header. `start` is where the header ended.
pub(super) fn tokens(text: &str, start: usize) -> Result<Vec<Placed>, Wrong> {
    let mut found: Vec<Placed> = Vec::new();
    let mut at = start;
    while let Some(next) = rest(text, at).chars().next() {
        let here = at..at + next.len_utf8();
        at = match next {
            _ if next.is_whitespace() => here.end,
            '/' => comment(text, at)?,
            '<' => {
                let (name, end) = rule_name(text, at)?;
                found.push((Token::Rule(name), at..end));
                end
            }
            '{' => {
                let (tag, end) = tag(text, at)?;
                found.push((Token::Tag(tag), at..end));
                end
            }
            '=' | '|' | ';' | '(' | '[' | ')' | ']' => {
                let token = match next {
                    '=' => Token::Equals,
                    '|' => Token::Or,
                    ';' => Token::Semicolon,
                    '(' | '[' => Token::Open(next),
                    _ => Token::Close(next),
                };
                found.push((token, here.clone()));
                here.end
            }
            '}' => return Err(Wrong::new(Problem::ClosesNothing('}'), here)),
            '*' | '+' => {
                let problem = Problem::NotTaken {
                    what: "repetitions (`*`, `+`)",
                    instead: "write out as many as are meant, with `[ ]` around what may be left out",
                };
                return Err(Wrong::new(problem, here));
            }
            '"' => {
                let problem = Problem::NotTaken {
                    what: "quoted words",
                    instead: "write the words without quotation marks",
                };
                return Err(Wrong::new(problem, here));
            }
            '>' | '\\' => return Err(Wrong::new(Problem::StrayCharacter(next), here)),
            _ if next.is_control() => return Err(Wrong::new(Problem::StrayCharacter(next), here)),
            _ => {
                let length = rest(text, at)
                    .find(|c: char| c.is_whitespace() || c.is_control() || SPECIAL.contains(c))
                    .unwrap_or(text.len() - at);
                let word = &text[at..at + length];
                let begins = found
                    .last()
                    .is_none_or(|(token, _)| *token == Token::Semicolon);
                if word == "import" && begins {
                    let problem = Problem::NotTaken {
                        what: "imports",
                        instead: "write the rule into this file",
                    };
                    return Err(Wrong::new(problem, at..at + length));
                }
                found.push((Token::Word(word.to_owned()), at..at + length));
                at + length
            }
        };
    }
    Ok(found)
}

/// The characters that no word holds (section 2.2 of the W3C Note).
const SPECIAL: &str = ";=|*+<>()[]{}/\"\\";

fn rest(text: &str, at: usize) -> &str {
    text.get(at..).unwrap_or("")
}

fn comment(text: &str, at: usize) -> Result<usize, Wrong> {
    let slash = rest(text, at);
    if slash.starts_with("//") {
        Ok(at + slash.find('\n').unwrap_or(slash.len()))
    } else if let Some(body) = slash.strip_prefix("/*") {
        body.find("*/")
            .map(|length| at + 2 + length + 2)
            .ok_or_else(|| Wrong::new(Problem::Unterminated('/'), at..at + 2))
    } else {
        let problem = Problem::NotTaken {
            what: "weights (`/…/`)",
            instead: "take the weight out: what may be said is equally likely here",
        };
        Err(Wrong::new(problem, at..at + 1))
    }
}

fn rule_name(text: &str, at: usize) -> Result<(String, usize), Wrong> {
    let body = rest(text, at + 1);
    let length = body
        .find(|c: char| !(c.is_alphanumeric() || matches!(c, '-' | '_' | '.')))
        .unwrap_or(body.len());
    let end = at + 1 + length;
    if length == 0 || !rest(text, end).starts_with('>') {
        return Err(Wrong::new(Problem::BadRuleName, at..end));
    }
    let name = &body[..length];
    if matches!(name, "NULL" | "VOID") {
        let problem = Problem::NotTaken {
            what: "the special rules <NULL> and <VOID>",
            instead: "use `[ ]` for what may be left unsaid, and leave out what can't be said",
        };
        return Err(Wrong::new(problem, at..end + 1));
    }
    Ok((name.to_owned(), end + 1))
}

/// A tag's text; `\` takes the next character as it stands (section 4.6.1 of the W3C Note).
fn tag(text: &str, at: usize) -> Result<(String, usize), Wrong> {
    let mut tag = String::new();
    let mut characters = rest(text, at + 1).char_indices();
    while let Some((offset, character)) = characters.next() {
        match character {
            '}' => return Ok((tag.trim().to_owned(), at + 1 + offset + 1)),
            '\\' => match characters.next() {
                Some((_, escaped)) => tag.push(escaped),
                None => break,
            },
            _ => tag.push(character),
        }
    }
    Err(Wrong::new(Problem::Unterminated('{'), at..at + 1))
}
