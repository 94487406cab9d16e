//! Goes through a vehicle sheet with a second person, who compares each value with its document.

use super::check::{folder_and_name, in_procedures};
use files::IfThere;
use miette::{IntoDiagnostic, WrapErr, miette};
use sayback::author::releases::{Texts, Version};
use sayback::library::Shelf;
use std::collections::BTreeMap;
use std::io::BufRead;
use std::path::Path;
use std::process::ExitCode;
use steps::procedure::{MAX_BYTES, SheetInputs, SheetValue, Vehicle, as_heard};
use toml_edit::{DocumentMut, Item, TableLike, Value};

/// The keys of an approval: who, when, of which value, by which document.
const BY: &str = "approved_by";
const ON: &str = "approved_on";
const IS: &str = "approved_is";
const SOURCE: &str = "approved_source";

/// The key of the person who entered it.
const ENTERED: &str = "entered_by";

/// Asks about each value that nobody has approved as it is now, and notes each approval in the sheet at once.
pub fn approve(file: &Path, by: &str) -> miette::Result<ExitCode> {
    let (folder, id) = folder_and_name(file)?;
    let Some(procedures) = in_procedures(&folder) else {
        return Err(miette!(
            help =
                "the sheets of your vehicles lie in the folder `vehicles` beside your procedures",
            "{} is no vehicle sheet",
            file.display()
        ));
    };
    if as_heard(by).is_empty() {
        return Err(miette!(
            "name the person who compares the values, with --by"
        ));
    }
    let mut sheet = Sheet::open(file, &id, &Shelf::Folder(procedures))?;
    let pending = sheet.pending();
    if pending.is_empty() {
        tell!("Every value in this sheet is approved.");
        return Ok(ExitCode::SUCCESS);
    }
    let mut answers = std::io::stdin().lock();
    let mut left = Vec::new();
    let mut approved = 0;
    let mut asking = true;
    for (number, name) in pending.iter().enumerate() {
        let value = sheet.value(name);
        let why_not = match (&value.source, &value.entered) {
            (None, _) => Some("its document isn't named"),
            (Some(_), None) => Some("it doesn't say who entered it"),
            (Some(_), Some(_)) if sheet.entered_it(name, by) => Some("you entered it yourself"),
            (Some(_), Some(_)) => None,
        };
        if let Some(why_not) = why_not {
            left.push(format!("{name} ({why_not})"));
            continue;
        }
        if asking {
            tell!("{} of {}: {}", number + 1, pending.len(), sheet.means(name));
            tell!(
                "  {}   ({}; entered by {})",
                value.is,
                value.source.unwrap_or_default(),
                value.entered.unwrap_or_default()
            );
        }
        match asking.then(|| answer(&mut answers)).transpose()? {
            Some(Answer::Same) => {
                sheet.approve(name, by)?;
                approved += 1;
            }
            Some(Answer::Differs) => left.push(format!("{name} (differs from its document)")),
            Some(Answer::Later) => left.push(name.clone()),
            Some(Answer::Stop) | None => {
                asking = false;
                left.push(name.clone());
            }
        }
    }
    tell!("{approved} approved.");
    if left.is_empty() {
        return Ok(ExitCode::SUCCESS);
    }
    tell!("Not approved: {}.", left.join("; "));
    tell!(
        "Correct what differs in {}, then approve it.",
        file.display()
    );
    Ok(ExitCode::FAILURE)
}

enum Answer {
    Same,
    Differs,
    Later,
    Stop,
}

/// What is answered; the end of the answers stops.
fn answer(answers: &mut impl BufRead) -> miette::Result<Answer> {
    loop {
        tell!("Does its document say exactly this? (yes, no, later, stop)");
        let mut line = String::new();
        if answers.read_line(&mut line).into_diagnostic()? == 0 {
            return Ok(Answer::Stop);
        }
        match line.trim().to_lowercase().as_str() {
            "yes" | "y" => return Ok(Answer::Same),
            "no" | "n" => return Ok(Answer::Differs),
            "later" => return Ok(Answer::Later),
            "stop" => return Ok(Answer::Stop),
            _other => {}
        }
    }
}

/// A sheet that is being approved.
struct Sheet<'a> {
    file: &'a Path,
    /// The file as it is on disk.
    text: String,
    document: DocumentMut,
    /// The sheet with its types, its own approvals left out.
    vehicle: Vehicle,
    means: BTreeMap<String, String>,
}

impl<'a> Sheet<'a> {
    fn open(file: &'a Path, id: &str, shelf: &Shelf) -> miette::Result<Self> {
        let text = files::read_text(file, MAX_BYTES as u64).into_diagnostic()?;
        let document: DocumentMut = text
            .parse()
            .into_diagnostic()
            .wrap_err_with(|| format!("{} is not TOML: see `sayback check`", file.display()))?;
        // What is wrong with an approval is put right here.
        let mut bare = document.clone();
        for (_, value) in values(&mut bare) {
            for key in [BY, ON, IS, SOURCE] {
                value.remove(key);
            }
        }
        let texts = Texts::from([(format!("vehicles/{id}"), bare.to_string())]);
        let bare = Version {
            texts: &texts,
            beside: shelf,
        };
        let vehicle = Vehicle::load(id, &bare)?;
        let inputs = vehicle.fits.iter().map(|it| SheetInputs::of(it, &bare));
        let declared = inputs.flatten().flat_map(|it| it.values);
        let means = declared.map(|it| (it.name, it.means)).collect();
        Ok(Self {
            file,
            text,
            document,
            vehicle,
            means,
        })
    }

    /// The values of this file that nobody has approved as they are.
    fn pending(&mut self) -> Vec<String> {
        let sheet_says = self.document.get(ENTERED).cloned();
        let stands = |value: &dyn TableLike| {
            let person = |key| value.get(key).and_then(Item::as_str).map(as_heard);
            let text = |key| literal(Some(value), key).map(|it| it.to_string());
            let sheet_says = sheet_says.as_ref().and_then(Item::as_str).map(as_heard);
            let by = person(BY);
            by.is_some() && by != person(ENTERED).or(sheet_says) && text(IS) == text("is")
        };
        let compared_with = |name: &str, value: &dyn TableLike| {
            let before = value.get(SOURCE).and_then(Item::as_str);
            let sheet = self.vehicle.values.get(name);
            before == sheet.and_then(|it| it.source.as_deref())
        };
        values(&mut self.document)
            .filter(|(name, value)| !stands(*value) || !compared_with(name, *value))
            .map(|(name, _)| name)
            .collect()
    }

    fn value(&self, name: &str) -> SheetValue {
        // Whatever the file has under `[value]` was read into the sheet.
        self.vehicle.values[name].clone()
    }

    fn means<'b>(&'b self, name: &'b str) -> &'b str {
        self.means.get(name).map_or(name, String::as_str)
    }

    /// Whether this person entered the value.
    fn entered_it(&self, name: &str, person: &str) -> bool {
        let value = self.document.get("value").and_then(|it| it.get(name));
        let entered = value.and_then(|it| it.get(ENTERED));
        let entered = entered.or_else(|| self.document.get(ENTERED));
        let entered = entered.and_then(Item::as_str);
        entered.is_some_and(|it| as_heard(it) == as_heard(person))
    }

    /// Notes the approval in the file.
    fn approve(&mut self, name: &str, by: &str) -> miette::Result<()> {
        let on = jiff::ZonedDateTime::now().date().to_string();
        let source = self.value(name).source.unwrap_or_default();
        let value = self
            .document
            .get_mut("value")
            .and_then(|it| it.get_mut(name));
        if let Some(value) = value {
            let is = literal(value.as_table_like(), "is");
            if let Some(keys) = value.as_table_like_mut() {
                keys.insert(BY, toml_edit::value(by));
                keys.insert(ON, toml_edit::value(on));
                keys.insert(IS, is.map_or(Item::None, Item::Value));
                keys.insert(SOURCE, toml_edit::value(source));
            }
            if let Some(keys) = value.as_inline_table_mut() {
                keys.fmt();
            }
        }
        let text = self.document.to_string();
        if files::read_text(self.file, MAX_BYTES as u64).into_diagnostic()? != self.text {
            return Err(miette!(
                help = "what was approved before it changed is kept",
                "{} was changed while you were approving it: run `sayback approve` again",
                self.file.display()
            ));
        }
        files::write(self.file, text.as_bytes(), IfThere::Replace).into_diagnostic()?;
        self.text = text;
        Ok(())
    }
}

/// The values that stand in the file itself, by name.
fn values(document: &mut DocumentMut) -> impl Iterator<Item = (String, &mut dyn TableLike)> {
    let values = document.get_mut("value").and_then(Item::as_table_like_mut);
    let values = values.into_iter().flat_map(|it| it.iter_mut());
    values.filter_map(|(name, value)| Some((name.get().to_owned(), value.as_table_like_mut()?)))
}

/// What stands at a key, without the spaces around it.
fn literal(value: Option<&dyn TableLike>, key: &str) -> Option<Value> {
    let is = value?.get(key)?.as_value()?.clone();
    Some(is.decorated("", ""))
}
