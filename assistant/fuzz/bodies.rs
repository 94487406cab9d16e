//! What must hold of any bytes. The fuzzer's targets call these, and so do the ordinary tests.

use std::collections::BTreeSet;
use steps::procedure::{Library, ReadError};
use steps::{Language, Procedure};

/// The bytes under the name that they give themselves, and a few of the shipped parts.
struct Shelf<'a> {
    name: &'a str,
    bytes: &'a [u8],
}

impl Library for Shelf<'_> {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        let part = match name {
            name if name == self.name => return Ok(self.bytes.to_vec()),
            "parts/park-and-chock" => include_str!("../../procedures/parts/park-and-chock.toml"),
            "parts/raise-and-support" => {
                include_str!("../../procedures/parts/raise-and-support.toml")
            }
            "parts/lower" => include_str!("../../procedures/parts/lower.toml"),
            "parts/wheel-off" => include_str!("../../procedures/parts/wheel-off.toml"),
            "parts/wheel-on" => include_str!("../../procedures/parts/wheel-on.toml"),
            _ => return Err(ReadError::Missing),
        };
        Ok(part.as_bytes().to_vec())
    }
}

/// A file is a procedure, or says what is wrong with it, and that can be drawn.
pub fn procedures(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let own = text.lines().find_map(|line| line.strip_prefix("id = \""));
    let name = own.and_then(|rest| rest.strip_suffix('"')).unwrap_or("job");
    let name = if name.starts_with("parts/") {
        "job"
    } else {
        name
    };
    match Procedure::load_for_its_author(name, &Shelf { name, bytes }) {
        Ok((procedure, doubts)) => {
            assert!(!procedure.make_safe.is_empty());
            for doubt in doubts {
                let _ = format!("{:?}", miette::Report::new(doubt));
            }
        }
        Err(problems) => {
            assert!(!problems.problems.is_empty());
            for problem in problems.problems {
                let _ = format!("{:?}", miette::Report::new(problem));
            }
        }
    }
}

/// How many phrases of a rule are looked at.
const MAX_PHRASES: usize = 2_000;

/// A grammar can be listed, and understands each phrase of its list; or it says what is wrong, and that can be drawn.
pub fn grammars(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    match words::jsgf::Grammar::parse("any.jsgf", text) {
        Ok(grammar) => {
            for rule in grammar.rules().iter().take(20) {
                let Ok(phrases) = grammar.expand(&rule.name, MAX_PHRASES) else {
                    continue;
                };
                for phrase in phrases.iter().take(20) {
                    let said: Vec<&str> = phrase.words.iter().map(AsRef::as_ref).collect();
                    assert!(
                        grammar.parse_words(&rule.name, &said).is_some(),
                        "<{}> doesn't take its own {said:?}",
                        rule.name
                    );
                }
            }
        }
        Err(error) => {
            let _ = format!("{:?}", miette::Report::new(*error));
        }
    }
}

/// What is read as a number can be said in several ways, each of which is read as the same number.
pub fn numbers(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let _ = words::wording::spoken(Language::English, text);
    let Ok(value) = words::number::read(Language::English, text) else {
        return;
    };
    let ways = words::number::spoken_variants(Language::English, value);
    assert!(!ways.is_empty(), "{value} can't be said");
    for way in ways {
        assert_eq!(
            words::number::read(Language::English, &way),
            Ok(value),
            "“{way}”"
        );
    }
    assert!(!words::number::written_variants(Language::English, value).is_empty());
}

/// A list becomes a draft that is TOML, holds each name once, and can't be used before its review; or says why not.
pub fn imports(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    for form in [drafts::Form::Csv, drafts::Form::Markdown] {
        let made = match drafts::draft(text, form, "job") {
            Ok(made) => made,
            Err(error) => {
                assert!(!error.to_string().is_empty());
                continue;
            }
        };
        let table: toml::Table = match toml::from_str(&made.toml) {
            Ok(table) => table,
            Err(error) => panic!("the draft is no TOML: {error}"),
        };
        assert!(table.contains_key("review"));
        let steps = table.get("step").and_then(toml::Value::as_array);
        let names: BTreeSet<&str> = steps
            .into_iter()
            .flatten()
            .filter_map(|step| step.get("id").and_then(toml::Value::as_str))
            .collect();
        assert_eq!(names.len(), made.steps, "two steps of one name");
        assert!(made.steps > 0);
        let shelf = Shelf {
            name: "job",
            bytes: made.toml.as_bytes(),
        };
        assert!(
            Procedure::load("job", &shelf).is_err(),
            "used without its review"
        );
    }
}
