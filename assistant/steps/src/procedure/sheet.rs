//! Vehicle sheets: what is fitted to one vehicle, or to a type of vehicle, value by value and each with its source.
//!
//! # How does a value get from a sheet into a procedure?
//!
//! A procedure, or one of its parts, declares in `[[from_sheet]]` what it takes from a sheet, and writes the name in
//! braces where the value belongs: `torque = "{wheel-nut-torque}"`, `count = "{wheel-nuts}"`, or within a text. The
//! placeholders are replaced before anything else is read. So the checker, the job and the record all see a finished
//! procedure, and what comes after loading knows of a sheet only who vouches for its values.
//!
//! Without a sheet the values that the declaration gives for practice stand. With a sheet they never do: what the sheet
//! lacks is a mistake.

use super::code::Code;
use super::desk::{Desk, Place};
use super::file::{File, Text};
use super::finding::Problems;
use super::inputs::SheetInputs;
use super::load::{Library, is_known, text_of};
use super::names::as_heard;
use super::strings::Strings;
use crate::Id;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

/// The folder of the sheets, as a library names it.
const FOLDER: &str = "vehicles";

/// How many types a vehicle may be made up of, one above the other.
const MAX_TYPES: usize = 4;

/// The name of a sheet's file in a library.
pub(super) fn in_library(sheet: &str) -> String {
    format!("{FOLDER}/{sheet}")
}

/// The name of the sheet that is kept under this name in a library.
pub fn sheet_named(in_library: &str) -> Option<&str> {
    in_library.strip_prefix(FOLDER)?.strip_prefix('/')
}

/// A vehicle sheet as it is written: what is fitted to a vehicle, or to all vehicles of a type.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetFile {
    /// Version of this format; 1.
    #[schemars(with = "u32")]
    format: Spanned<u32>,
    /// Name of the sheet: the file's name without `.toml`.
    #[schemars(with = "String")]
    id: Text,
    /// What people call the vehicle, such as “van four”: any of them chooses it. A sheet of a type has none.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    names: Vec<Text>,
    /// The vehicle in a line, for the record.
    vehicle: Option<String>,
    /// Where the values come from. Said before the job starts.
    values: Option<String>,
    /// The sheet of its type. What that says holds here too, unless this sheet says otherwise.
    #[serde(rename = "type")]
    #[schemars(with = "Option<String>")]
    of_type: Option<Text>,
    /// Procedures that it supplies with values. The checker proves each of them with it.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    fits: Vec<Text>,
    /// Options of variants that are settled by this vehicle, and so not asked about: `rim = "alloy"`.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, String>")]
    options: BTreeMap<String, Text>,
    /// Who entered the values.
    entered_by: Option<String>,
    /// When they were entered: `2026-11-02`.
    entered_on: Option<String>,
    /// Documents that values are taken from, each by a name of its own.
    #[serde(default)]
    document: BTreeMap<String, DocumentFile>,
    /// The values, by the name that procedures call them by in `[[from_sheet]]`.
    #[serde(default)]
    value: BTreeMap<String, ValueFile>,
}

/// A document.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DocumentFile {
    title: String,
    /// Which edition, or its number.
    edition: Option<String>,
    /// When it was issued: `2026-11-02`.
    date: Option<String>,
}

/// A value, and where it is from.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ValueFile {
    /// The value as its source writes it, with its unit: `140 N·m`, `0.05 mm`, `5`, `[50, 100]`.
    #[schemars(with = "RawValue")]
    is: Spanned<RawValue>,
    /// The document that it is from.
    #[schemars(with = "Option<String>")]
    from: Option<Text>,
    /// The page or table in that document.
    page: Option<String>,
    /// Who entered it, if somebody else did.
    entered_by: Option<String>,
    /// When it was entered, if on another day.
    entered_on: Option<String>,
    /// Who compared it with the document afterwards.
    approved_by: Option<String>,
    /// When it was compared.
    approved_on: Option<String>,
    /// The value as it was compared. Where `is` has changed since, it must be compared again.
    #[schemars(with = "Option<RawValue>")]
    approved_is: Option<RawValue>,
    /// The document and page that it was compared with, in words; likewise.
    approved_source: Option<String>,
}

/// What a procedure takes from the sheet of the vehicle.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FromSheetFile {
    /// Its name. `{name}` stands for the value.
    #[schemars(with = "String")]
    pub name: Text,
    /// What the value is, in a few words: “torque of a wheel nut”.
    pub means: String,
    /// The value when the job is practised without a sheet. Without it the procedure can't be used without one.
    #[schemars(with = "Option<RawValue>")]
    pub practice: Option<Spanned<RawValue>>,
    /// Only for these options of variants.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, String>")]
    pub when: BTreeMap<String, Text>,
}

/// A value as it is written.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(untagged)]
pub(super) enum RawValue {
    Whole(i64),
    Number(f64),
    Text(String),
    List(Vec<RawValue>),
}

impl RawValue {
    /// As TOML writes it.
    pub fn literal(&self) -> String {
        match self {
            Self::Whole(number) => number.to_string(),
            Self::Number(number) => format!("{number:?}"),
            Self::Text(text) => toml::Value::from(text.as_str()).to_string(),
            Self::List(all) => {
                let all: Vec<String> = all.iter().map(Self::literal).collect();
                format!("[{}]", all.join(", "))
            }
        }
    }
}

/// The same, ready to take the place of a name in braces.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Replacement {
    Text(String),
    /// A number as TOML writes it.
    Number(String),
    List(Vec<Replacement>),
}

impl From<&RawValue> for Replacement {
    fn from(written: &RawValue) -> Self {
        match written {
            RawValue::Whole(_) | RawValue::Number(_) => Self::Number(written.literal()),
            RawValue::Text(text) => Self::Text(text.clone()),
            RawValue::List(all) => Self::List(all.iter().map(Self::from).collect()),
        }
    }
}

impl Replacement {
    /// As it stands within a text.
    pub fn words(&self) -> String {
        match self {
            Self::Text(words) | Self::Number(words) => words.clone(),
            Self::List(all) => all.iter().map(Self::words).collect::<Vec<_>>().join(", "),
        }
    }

    fn node(&self, span: &Range<usize>) -> Spanned<DeValue<'_>> {
        let value = match self {
            Self::Text(text) => DeValue::String(text.as_str().into()),
            Self::Number(literal) => DeValue::parse(literal).map_or(
                DeValue::String(literal.as_str().into()),
                Spanned::into_inner,
            ),
            Self::List(all) => {
                let mut array = DeArray::new();
                for one in all {
                    array.push(one.node(span));
                }
                DeValue::Array(array)
            }
        };
        Spanned::new(span.clone(), value)
    }
}

/// The sheet that a procedure has its values from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VehicleSheet {
    /// Its name.
    pub id: Id,
    /// What people call the vehicle, as it is heard.
    pub names: Vec<String>,
    /// The values that the procedure takes from it, by name.
    pub values: BTreeMap<String, SheetValue>,
}

/// A value that a procedure has from a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetValue {
    /// What it is.
    pub means: String,
    /// The value as the sheet writes it.
    pub is: String,
    /// Document, edition, date and page; `None` where the sheet gives none.
    pub source: Option<String>,
    /// Who entered it, and when.
    pub entered: Option<String>,
    /// Who compared it with its source, and when.
    pub approved: Option<String>,
}

/// A vehicle as its sheet introduces it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vehicle {
    /// Name of the sheet.
    pub id: Id,
    /// What people call it, as it is heard. A type has no such name.
    pub names: Vec<String>,
    /// The vehicle in a line.
    pub vehicle: String,
    /// Where its values come from.
    pub values_from: String,
    /// The procedures that the sheet is for.
    pub fits: BTreeSet<String>,
    /// The variants that it settles, and the options.
    pub options: BTreeMap<String, String>,
    /// Its values, by name.
    pub values: BTreeMap<String, SheetValue>,
    /// The files that it is made of, by name.
    pub texts: BTreeMap<String, String>,
}

impl Vehicle {
    /// Reads a sheet by its name, without a procedure.
    ///
    /// # Errors
    /// All that is wrong with the sheet by itself.
    pub fn load(sheet: &str, library: &dyn Library) -> Result<Self, Problems> {
        let mut desk = Desk::default();
        let read = read(sheet, library, &mut desk);
        match read {
            Some(sheet) if desk.problems.is_empty() => Ok(Self {
                id: sheet.id,
                names: sheet.names,
                vehicle: sheet.vehicle,
                values_from: sheet.values_from,
                fits: sheet.fits,
                texts: sheet.texts,
                options: sheet
                    .options
                    .into_iter()
                    .map(|(variant, (option, _))| (variant, option))
                    .collect(),
                values: sheet
                    .values
                    .into_iter()
                    .map(|(name, it)| {
                        let told = it.told(&name);
                        (name, told)
                    })
                    .collect(),
            }),
            Some(_) | None => Err(Problems {
                procedure: in_library(sheet),
                problems: desk.problems,
            }),
        }
    }
}

/// What differs between two versions of a sheet, a line for each.
pub fn sheet_differences(old: &Vehicle, new: &Vehicle) -> Vec<String> {
    let mut all = Vec::new();
    let mut field = |what: &str, before: String, after: String| {
        if before != after {
            all.push(format!("{what}: {before} → {after}"));
        }
    };
    let joined = |all: &BTreeSet<String>| all.iter().cloned().collect::<Vec<_>>().join(", ");
    field("names", old.names.join(", "), new.names.join(", "));
    field("vehicle", old.vehicle.clone(), new.vehicle.clone());
    field(
        "source of the values",
        old.values_from.clone(),
        new.values_from.clone(),
    );
    field(
        "procedures that it is for",
        joined(&old.fits),
        joined(&new.fits),
    );
    let none = || "none".to_owned();
    let variants: BTreeSet<&String> = old.options.keys().chain(new.options.keys()).collect();
    for variant in variants {
        let of = |vehicle: &Vehicle| vehicle.options.get(variant).cloned().unwrap_or_else(none);
        field(variant, of(old), of(new));
    }
    let values: BTreeSet<&String> = old.values.keys().chain(new.values.keys()).collect();
    for name in values {
        let of = |vehicle: &Vehicle| match vehicle.values.get(name) {
            Some(value) => {
                let source = value.source.as_deref().unwrap_or("no source");
                let approved = value.approved.as_ref();
                let approved = approved.map(|it| format!("; checked by {it}"));
                format!("{} ({source}{})", value.is, approved.unwrap_or_default())
            }
            None => none(),
        };
        field(name, of(old), of(new));
    }
    all
}

/// A sheet with what it has from its type.
#[derive(Debug)]
pub(super) struct Sheet {
    pub id: Id,
    pub names: Vec<String>,
    pub vehicle: String,
    pub values_from: String,
    pub fits: BTreeSet<String>,
    /// Option by variant, and where it is written.
    pub options: BTreeMap<String, (String, Place)>,
    pub values: BTreeMap<String, SheetEntry>,
    /// The files that it is made of.
    pub texts: BTreeMap<String, String>,
    /// The sheet's own name in its file.
    pub place: Place,
}

/// A value of a sheet.
#[derive(Debug)]
pub(super) struct SheetEntry {
    pub given: Replacement,
    pub place: Place,
    source: Option<String>,
    entered: Option<String>,
    approved: Option<String>,
}

impl SheetEntry {
    pub fn is_sourced(&self) -> bool {
        self.source.is_some()
    }

    pub fn told(&self, means: &str) -> SheetValue {
        SheetValue {
            means: means.to_owned(),
            is: self.given.words(),
            source: self.source.clone(),
            entered: self.entered.clone(),
            approved: self.approved.clone(),
        }
    }
}

/// Reads a sheet and those of its types.
pub(super) fn read(name: &str, library: &dyn Library, desk: &mut Desk) -> Option<Sheet> {
    let mut files = Vec::new();
    let mut texts = BTreeMap::new();
    let mut asked_at = Place {
        source: desk.open(&in_library(name), ""),
        span: 0..0,
    };
    let mut next = Some(name.to_owned());
    while let Some(name) = next {
        if files.len() > MAX_TYPES || texts.contains_key(&in_library(&name)) {
            desk.problem(
                Code::Includes,
                &asked_at,
                format!(
                    "`type` leads back to “{name}”, or types are nested more than {MAX_TYPES} deep"
                ),
                "this type",
                "leave `type` out of the outermost one",
            );
            return None;
        }
        let (source, text) = text_of(&in_library(&name), library, desk, &asked_at)?;
        if Strings::of(&text, &BTreeMap::new()).tell_hidden(source, desk) {
            return None;
        }
        let file: SheetFile = match toml::from_str(&text) {
            Ok(file) => file,
            Err(error) => {
                desk.problem(
                    Code::Format,
                    &Place {
                        source,
                        span: error.span().unwrap_or(0..0),
                    },
                    error.message().to_owned(),
                    "here",
                    "the format is described by procedures/vehicles/vehicle.schema.json",
                );
                return None;
            }
        };
        head(&name, &file, source, desk);
        next = file.of_type.as_ref().map(|it| it.as_ref().clone());
        if let Some(of_type) = &file.of_type {
            asked_at = Place {
                source,
                span: of_type.span(),
            };
        }
        texts.insert(in_library(&name), text);
        files.push((source, file));
    }
    let sheet = merged(name, &files, texts, desk)?;
    misnamed(&sheet, &files, library, desk);
    Some(sheet)
}

/// Reports values that nothing takes. Where the type has a value of the right name, a misnamed one would be passed over in
/// silence, and the job worked with the type's.
fn misnamed(sheet: &Sheet, files: &[(usize, SheetFile)], library: &dyn Library, desk: &mut Desk) {
    let mut taken = BTreeSet::new();
    for procedure in &sheet.fits {
        // Where one isn't at hand, as beside a record, what it takes isn't known.
        let Ok(inputs) = SheetInputs::of(procedure, library) else {
            return;
        };
        taken.extend(inputs.values.into_iter().map(|it| it.name));
    }
    if sheet.fits.is_empty() {
        return;
    }
    for (source, file) in files {
        for (name, value) in file.value.iter().filter(|(name, _)| !taken.contains(*name)) {
            desk.problem(
                Code::Sheet,
                &Place {
                    source: *source,
                    span: value.is.span(),
                },
                format!(
                    "no procedure that the sheet “{}” is for takes “{name}”",
                    sheet.id
                ),
                "not used",
                "correct its name, or take it out",
            );
        }
    }
}

/// Format and name of a sheet's file.
fn head(name: &str, file: &SheetFile, source: usize, desk: &mut Desk) {
    is_known(&file.format, source, desk);
    if file.id.as_ref() != name {
        desk.problem(
            Code::Name,
            &Place {
                source,
                span: file.id.span(),
            },
            format!(
                "the sheet “{name}.toml” calls itself “{}”",
                file.id.as_ref()
            ),
            "not the file's name",
            "make `id` the file's name without .toml",
        );
    }
}

/// The sheet, its own file first and each type after it.
fn merged(
    name: &str,
    files: &[(usize, SheetFile)],
    texts: BTreeMap<String, String>,
    desk: &mut Desk,
) -> Option<Sheet> {
    let (source, own) = files.first()?;
    let place = Place {
        source: *source,
        span: own.id.span(),
    };
    let first = |of: fn(&SheetFile) -> &Option<String>| {
        let mut all = files.iter().filter_map(|(_, file)| of(file).clone());
        all.next()
    };
    let mut told = |key: &str, found: Option<String>| {
        if found.is_none() {
            desk.problem(
                Code::MissingKey,
                &place,
                format!("the sheet “{name}” has no `{key}`"),
                "this sheet",
                format!("add `{key} = …` here or to its type"),
            );
        }
        found.unwrap_or_default()
    };
    let vehicle = told("vehicle", first(|file| &file.vehicle));
    let values_from = told("values", first(|file| &file.values));
    let mut sheet = Sheet {
        id: Id::new(name),
        names: Vec::new(),
        vehicle,
        values_from,
        fits: BTreeSet::new(),
        options: BTreeMap::new(),
        values: BTreeMap::new(),
        texts,
        place,
    };
    for called in &own.names {
        let heard = as_heard(called.as_ref());
        if heard.is_empty() || heard.chars().any(char::is_numeric) {
            desk.problem(
                Code::Name,
                &Place {
                    source: *source,
                    span: called.span(),
                },
                format!("“{}” can't be said as it is written", called.as_ref()),
                "has digits, or no words",
                "write the name in words: “van four”",
            );
        }
        sheet.names.push(heard);
    }
    for (number, (source, file)) in files.iter().enumerate() {
        // A name means the document of the same file, or else of a type.
        let from_here = &files[number..];
        let at = |span| Place {
            source: *source,
            span,
        };
        sheet
            .fits
            .extend(file.fits.iter().map(|it| it.as_ref().clone()));
        for (variant, option) in &file.options {
            let chosen = (option.as_ref().clone(), at(option.span()));
            sheet.options.entry(variant.clone()).or_insert(chosen);
        }
        for (name, value) in &file.value {
            if !Id::is_well_formed(name) {
                desk.problem(
                    Code::Name,
                    &at(value.is.span()),
                    format!("“{name}” can't be a name"),
                    "the value of this name",
                    "use lower-case letters, digits and hyphens, beginning with a letter",
                );
            }
            not_too_long(value.is.as_ref(), &at(value.is.span()), desk);
            let from = value.from.as_ref();
            let (by, on) = (
                value.entered_by.as_ref().or(file.entered_by.as_ref()),
                value.entered_on.as_ref().or(file.entered_on.as_ref()),
            );
            let document = from.and_then(|from| document(from_here, from, value, *source, desk));
            approval_holds(name, value, (by, &document), &at(value.is.span()), desk);
            let fitted = SheetEntry {
                given: Replacement::from(value.is.as_ref()),
                place: at(value.is.span()),
                source: document,
                entered: who_and_when(by, on),
                approved: who_and_when(value.approved_by.as_ref(), value.approved_on.as_ref()),
            };
            sheet.values.entry(name.clone()).or_insert(fitted);
        }
    }
    Some(sheet)
}

/// The longest text of a value, in bytes: it may stand in many places.
const MAX_VALUE: usize = 200;

/// Returns true if a value is short enough to be said; reports it otherwise.
pub(super) fn not_too_long(value: &RawValue, place: &Place, desk: &mut Desk) -> bool {
    let fits = value.literal().len() <= MAX_VALUE;
    if !fits {
        desk.problem(
            Code::Value,
            place,
            format!("the value is longer than {MAX_VALUE} bytes"),
            "too long",
            "give one value, or a few words",
        );
    }
    fits
}

/// Reports an approval that doesn't say of what, that was given for another value or document, or by whoever entered it.
fn approval_holds(
    name: &str,
    value: &ValueFile,
    (entered_by, source): (Option<&String>, &Option<String>),
    place: &Place,
    desk: &mut Desk,
) {
    let Some(by) = &value.approved_by else { return };
    let mut problem = |message: String, label: &str| {
        let remedy = "have somebody else compare it with its document: `sayback approve`";
        desk.problem(Code::Sheet, place, message, label, remedy);
    };
    if entered_by.is_some_and(|it| as_heard(it) == as_heard(by)) {
        problem(
            format!("“{name}” is approved by the person who entered it, {by}"),
            "not checked by anyone else",
        );
    }
    match &value.approved_is {
        None => problem(
            format!("the approval of “{name}” doesn't say which value {by} approved"),
            "no `approved_is`",
        ),
        Some(before) if before != value.is.as_ref() => problem(
            format!("“{name}” was {} when {by} approved it", before.literal()),
            "changed since",
        ),
        Some(_) if value.approved_source != *source => {
            let before = value.approved_source.as_deref().unwrap_or("no document");
            problem(
                format!("“{name}” was compared with {before} when {by} approved it"),
                "another document or page",
            );
        }
        Some(_) => {}
    }
}

fn who_and_when(who: Option<&String>, when: Option<&String>) -> Option<String> {
    let told: Vec<&str> = [who, when]
        .into_iter()
        .flatten()
        .map(String::as_str)
        .collect();
    (!told.is_empty()).then(|| told.join(", "))
}

/// “Workshop data, edition 3, 2026-11-02, page 12”.
fn document(
    files: &[(usize, SheetFile)],
    from: &Text,
    value: &ValueFile,
    source: usize,
    desk: &mut Desk,
) -> Option<String> {
    let mut all = files
        .iter()
        .filter_map(|(_, file)| file.document.get(from.as_ref()));
    let Some(found) = all.next() else {
        let name = from.as_ref();
        desk.problem(
            Code::Unknown,
            &Place {
                source,
                span: from.span(),
            },
            format!("no document is called “{name}”"),
            "unknown document",
            format!("add [document.{name}] here or to the sheet of the type"),
        );
        return None;
    };
    let edition = found.edition.as_ref().map(|it| format!("edition {it}"));
    let page = value.page.as_ref().map(|it| match it.parse::<u32>() {
        Ok(page) => format!("page {page}"),
        Err(_) => it.clone(),
    });
    let told = [Some(found.title.clone()), edition, found.date.clone(), page];
    Some(told.into_iter().flatten().collect::<Vec<_>>().join(", "))
}

/// A value that takes the place of its name in one file.
#[derive(Debug)]
pub(super) struct ResolvedValue {
    pub given: Replacement,
    /// Where the value is written.
    pub place: Place,
    /// Whether the sheet that it is from gives no source for it.
    pub unsourced: bool,
}

/// What a file declares to take from a sheet. A declaration that can't be read is left to the reading of the whole file.
pub(super) fn declared(text: &str) -> Vec<FromSheetFile> {
    // Most files declare nothing, and needn't be read twice.
    if !text.contains("from_sheet") {
        return Vec::new();
    }
    let Ok(table) = DeTable::parse(text) else {
        return Vec::new();
    };
    let entries = table.into_inner().into_iter();
    entries
        .filter(|(key, _)| key.get_ref() == "from_sheet")
        .filter_map(|(_, value)| Vec::deserialize(toml::de::ValueDeserializer::from(value)).ok())
        .flatten()
        .collect()
}

/// The keys of a file in which each string that is nothing but a name in braces has become the value of that name; and the
/// places where that was so, by where they begin.
pub(super) fn filled<'a>(
    text: &'a str,
    taken: &'a BTreeMap<String, ResolvedValue>,
) -> (Result<File, toml::de::Error>, Vec<(usize, String)>) {
    let mut filled = Vec::new();
    let file = DeTable::parse(text).and_then(|mut table| {
        for (key, value) in table.get_mut().iter_mut() {
            if key.get_ref() != "from_sheet" {
                fill_value(value, taken, &mut filled);
            }
        }
        File::deserialize(toml::de::Deserializer::from(table))
    });
    (file, filled)
}

fn fill_value<'i>(
    value: &mut Spanned<DeValue<'i>>,
    taken: &'i BTreeMap<String, ResolvedValue>,
    filled: &mut Vec<(usize, String)>,
) {
    let span = value.span();
    match value.get_mut() {
        DeValue::String(text) => {
            let name = text.strip_prefix('{').and_then(|it| it.strip_suffix('}'));
            if let Some((name, of)) = name.and_then(|name| taken.get_key_value(name)) {
                filled.push((span.start, name.clone()));
                *value = of.given.node(&span);
            }
        }
        DeValue::Array(all) => {
            for one in all.iter_mut() {
                fill_value(one, taken, filled);
            }
        }
        DeValue::Table(table) => {
            for (_, one) in table.iter_mut() {
                fill_value(one, taken, filled);
            }
        }
        DeValue::Integer(_) | DeValue::Float(_) | DeValue::Boolean(_) | DeValue::Datetime(_) => {}
    }
}
