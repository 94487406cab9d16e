//! What a procedure takes from a vehicle's sheet, for whoever enters one. The files are read key by key: a procedure that
//! needs a vehicle can't be loaded before there is one.

use super::desk::{Desk, Place};
use super::finding::Problems;
use super::load::{Library, text_of};
use super::sheet;
use std::collections::{BTreeMap, BTreeSet};

/// What a procedure and its parts take from the sheet of a vehicle.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SheetInputs {
    /// The values, each once, in the order of their declarations.
    pub values: Vec<DeclaredValue>,
    /// The variants, which a sheet may settle.
    pub variants: Vec<DeclaredVariant>,
}

/// A value that a procedure takes from a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeclaredValue {
    /// Its name.
    pub name: String,
    /// What it is.
    pub means: String,
    /// The value for practice, as TOML writes it.
    pub practice: Option<String>,
    /// Only for these options of variants.
    pub when: BTreeMap<String, String>,
}

/// A variant of a procedure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeclaredVariant {
    /// Its name.
    pub name: String,
    /// The question.
    pub ask: String,
    /// The names of its options.
    pub options: Vec<String>,
}

impl SheetInputs {
    /// Reads what the procedure of this name takes.
    ///
    /// # Errors
    /// When it, or one of its parts, can't be read.
    pub fn of(name: &str, library: &dyn Library) -> Result<Self, Problems> {
        let mut desk = Desk::default();
        let nowhere = Place {
            source: desk.open(name, ""),
            span: 0..0,
        };
        let mut inputs = Self::default();
        let (mut to_read, mut seen) = (vec![name.to_owned()], BTreeSet::new());
        while let Some(file) = to_read.pop() {
            if !seen.insert(file.clone()) {
                continue;
            }
            let Some((_, text)) = text_of(&file, library, &mut desk, &nowhere) else {
                continue;
            };
            let is_main = file == name;
            inputs.add(&text, is_main, &mut to_read);
        }
        match desk.problems.is_empty() {
            true => Ok(inputs),
            false => Err(Problems {
                procedure: name.to_owned(),
                problems: desk.problems,
            }),
        }
    }

    fn add(&mut self, text: &str, is_main: bool, to_read: &mut Vec<String>) {
        for it in sheet::declared(text) {
            let value = DeclaredValue {
                name: it.name.into_inner(),
                means: it.means,
                practice: it.practice.map(|it| it.as_ref().literal()),
                when: it
                    .when
                    .into_iter()
                    .map(|(variant, option)| (variant, option.into_inner()))
                    .collect(),
            };
            if !self.values.iter().any(|known| known.name == value.name) {
                self.values.push(value);
            }
        }
        // What isn't TOML is drawn by the checker.
        let table: toml::Table = text.parse().unwrap_or_default();
        let entries = |key: &str| {
            let list = table.get(key).and_then(toml::Value::as_array);
            list.into_iter().flatten().filter_map(toml::Value::as_table)
        };
        let of = |entry: &toml::Table, key: &str| {
            let text = entry.get(key).and_then(toml::Value::as_str);
            text.unwrap_or_default().to_owned()
        };
        if is_main {
            self.variants = entries("variant")
                .map(|variant| DeclaredVariant {
                    name: of(variant, "id"),
                    ask: of(variant, "ask"),
                    options: variant
                        .get("options")
                        .and_then(toml::Value::as_array)
                        .into_iter()
                        .flatten()
                        .filter_map(|option| Some(of(option.as_table()?, "id")))
                        .collect(),
                })
                .collect();
        }
        let includes = entries("step").map(|step| of(step, "include"));
        to_read.extend(includes.filter(|part| !part.is_empty()));
    }
}
