//! Releases procedures and vehicle sheets, withdraws them, and tells what was changed from release to release.

use super::options::near;
use miette::{IntoDiagnostic, WrapErr, miette};
use record::Keyring;
use sayback::author::releases::{Act, Releases, Standing, Texts, Version, parted};
use sayback::author::{Vocabulary, look};
use sayback::config::key;
use sayback::library::Shelf;
use std::path::Path;
use std::process::ExitCode;
use steps::procedure::{
    Difference, Finding, Library, SheetValue, Vehicle, differences, sheet_differences, sheet_named,
};
use steps::{Procedure, Release};

/// Releases what the folder has under this name, in the version that is there now.
pub fn release(
    shelf: &Shelf,
    of: &str,
    by: &str,
    because: Option<&str>,
) -> miette::Result<ExitCode> {
    let (folder, mut releases) = kept(shelf)?;
    let texts = texts_of(shelf, of)?;
    if let Standing::Released(Release { by, on, .. }) = releases.standing(of, &texts) {
        tell!("“{of}” was released as it is by {by} on {on}.");
        return Ok(ExitCode::SUCCESS);
    }
    match sheet_named(of) {
        Some(sheet) => may_be_released(&Vehicle::load(sheet, shelf)?, shelf)?,
        None => is_sound(shelf, of)?,
    }
    let key = bay_key()?;
    releases.append(of, Act::Released, (by, because), &texts, &key)?;
    tell!(
        "“{of}” is released by {by}. From now on `sayback work` takes only what is released in {}.",
        folder.display()
    );
    Ok(ExitCode::SUCCESS)
}

/// Withdraws what was released under this name.
pub fn withdraw(shelf: &Shelf, of: &str, by: &str, because: &str) -> miette::Result<ExitCode> {
    let (_, mut releases) = kept(shelf)?;
    match releases.entries_of(of).last().map(|it| it.act) {
        Some(Act::Released) => {}
        Some(Act::Withdrawn) => return Err(miette!("“{of}” is withdrawn already")),
        None => return Err(miette!("“{of}” was never released")),
    }
    let key = bay_key()?;
    releases.append(of, Act::Withdrawn, (by, Some(because)), &Texts::new(), &key)?;
    tell!("“{of}” is withdrawn: {because}. Nobody can begin it until it is released again.");
    Ok(ExitCode::SUCCESS)
}

/// Tells who released and withdrew it, when and why, and what was changed each time, hold points first.
pub fn revisions(shelf: &Shelf, of: &str) -> miette::Result<ExitCode> {
    let (_, releases) = kept(shelf)?;
    let mut before: Option<Texts> = None;
    for entry in releases.entries_of(of) {
        let because = entry.because.as_ref().map(|it| format!(": {it}"));
        let because = because.unwrap_or_default();
        match entry.act {
            Act::Withdrawn => tell!("{}  withdrawn by {}{because}", entry.on, entry.by),
            Act::Released => {
                tell!("{}  released by {}{because}", entry.on, entry.by);
                let texts = releases.texts_of(entry)?;
                if let Some(before) = &before {
                    tell_changes(of, before, &texts, shelf);
                }
                before = Some(texts);
            }
        }
    }
    let Some(before) = before else {
        return Err(miette!("“{of}” was never released"));
    };
    let now = texts_of(shelf, of)?;
    if now != before {
        tell!("Since then, not released:");
        tell_changes(of, &before, &now, shelf);
    }
    Ok(ExitCode::SUCCESS)
}

/// Warns where the procedure, or the sheet that it is used with, was withdrawn.
pub fn warn_of_withdrawn(shelf: &Shelf, procedure: &Procedure) -> miette::Result<()> {
    let Shelf::Folder(folder) = shelf else {
        return Ok(());
    };
    let releases = Releases::of(folder, &keyring()?)?;
    for (of, texts) in versions(procedure) {
        let standing = releases.standing(&of, &texts);
        if let (Standing::Withdrawn(..), Some(why)) = (&standing, standing.refusal(&of)) {
            warn!("{why}");
        }
    }
    Ok(())
}

/// The procedure, and the sheet that it has its values from, each with its texts.
fn versions(procedure: &Procedure) -> Vec<(String, Texts)> {
    let (own, of_sheet) = parted(&procedure.texts);
    let sheet = procedure.sheet.as_ref();
    let sheet = sheet.map(|sheet| (format!("vehicles/{}", sheet.id), of_sheet));
    std::iter::once((procedure.id.to_string(), own))
        .chain(sheet)
        .collect()
}

/// Who answers for the version that is to be worked: nobody where the folder keeps no releases.
///
/// # Errors
/// Why it may not be worked: it isn't released, or was changed or withdrawn since.
pub fn who_answers(shelf: &Shelf, procedure: &Procedure) -> miette::Result<Vec<Release>> {
    let Shelf::Folder(folder) = shelf else {
        return Ok(Vec::new());
    };
    let releases = Releases::of(folder, &keyring()?)?;
    if !releases.are_kept() {
        return Ok(Vec::new());
    }
    versions(procedure)
        .into_iter()
        .map(|(of, texts)| match releases.standing(&of, &texts) {
            Standing::Released(release) => Ok(release),
            standing => {
                let why = standing.refusal(&of).unwrap_or_default();
                Err(miette!(
                    help = "rehearse it, or have it released with `sayback release`; `sayback revisions` tells what has changed",
                    "{why}, so it can't be worked"
                ))
            }
        })
        .collect()
}

fn kept(shelf: &Shelf) -> miette::Result<(&Path, Releases)> {
    match shelf {
        Shelf::Folder(folder) => Ok((folder, Releases::of(folder, &keyring()?)?)),
        Shelf::Shipped => Err(miette!(
            help = "name your own folder with --procedures",
            "the program's own procedures are for practice and can't be released"
        )),
    }
}

fn keyring() -> miette::Result<Keyring> {
    match key::folder() {
        Some(folder) => Keyring::of_bay(&folder).into_diagnostic(),
        None => Ok(Keyring::default()),
    }
}

fn bay_key() -> miette::Result<record::BayKey> {
    let (key, _) = key::open()?.ok_or_else(key::no_home)?;
    Ok(key)
}

/// The texts that a procedure or sheet is made of.
fn texts_of(shelf: &Shelf, of: &str) -> miette::Result<Texts> {
    match sheet_named(of) {
        Some(sheet) => Ok(Vehicle::load(sheet, shelf)?.texts),
        None => {
            let names = super::work::names(shelf)?;
            if !names.iter().any(|it| it == of) {
                let sheets = shelf.sheets().into_diagnostic()?;
                let sheets: Vec<String> =
                    sheets.iter().map(|it| format!("vehicles/{it}")).collect();
                let known = names.iter().chain(&sheets).map(String::as_str);
                let near = near(of, known);
                let help = match near.is_empty() {
                    true => "a vehicle sheet is named like this: vehicles/van-four".to_owned(),
                    false => format!("did you mean {}?", near.join(", ")),
                };
                return Err(miette!(help = help, "there is no procedure called “{of}”"));
            }
            let procedure = shelf
                .load_to_list(of)
                .map_err(|it| miette::Report::new(*it))?;
            Ok(parted(&procedure.texts).0)
        }
    }
}

/// That the checker finds no mistake in a procedure, by itself or with any of the vehicles that it is for.
fn is_sound(shelf: &Shelf, of: &str) -> miette::Result<()> {
    let vehicles = shelf.vehicles_for(of).into_diagnostic()?;
    let sheets = vehicles.iter().map(|it| Some(it.id.as_str()));
    // One that takes its values from a sheet needn't be whole without one.
    let alone = vehicles.is_empty().then_some(None);
    for sheet in alone.into_iter().chain(sheets) {
        no_mistakes(shelf, of, sheet)?;
    }
    Ok(())
}

/// That each value of a sheet has a source and was approved, and that the checker finds no mistake with it.
fn may_be_released(vehicle: &Vehicle, shelf: &Shelf) -> miette::Result<()> {
    let open = |lacks: fn(&SheetValue) -> bool| {
        let values = vehicle.values.iter();
        let open: Vec<&str> = values
            .filter(|(_, it)| lacks(it))
            .map(|(name, _)| name.as_str())
            .collect();
        open.join(", ")
    };
    let unsourced = open(|it| it.source.is_none());
    if !unsourced.is_empty() {
        return Err(miette!(
            help = "name the document that each is from in the sheet",
            "these values have no source: {unsourced}"
        ));
    }
    let unapproved = open(|it| it.approved.is_none());
    if !unapproved.is_empty() {
        return Err(miette!(
            help = "have somebody else compare each with its document: `sayback approve`",
            "these values are not approved: {unapproved}"
        ));
    }
    for of in &vehicle.fits {
        no_mistakes(shelf, of, Some(vehicle.id.as_str()))?;
    }
    Ok(())
}

fn no_mistakes(shelf: &Shelf, of: &str, sheet: Option<&str>) -> miette::Result<()> {
    let looked = look(shelf, of, sheet, &mut Vocabulary::default()).into_diagnostic()?;
    let findings = looked.examined.findings;
    let with = sheet.map(|it| format!(", with {it}")).unwrap_or_default();
    match findings.into_iter().find(Finding::is_mistake) {
        None => Ok(()),
        Some(mistake) => Err(miette::Report::new(mistake))
            .wrap_err_with(|| format!("“{of}”{with} can't be released with a mistake in it")),
    }
}

/// What differs, a line each. A version that can't be read by today's program is only said to differ.
fn tell_changes(of: &str, old: &Texts, new: &Texts, shelf: &Shelf) {
    let version = |texts| Version {
        texts,
        beside: shelf,
    };
    let (old, new) = (version(old), version(new));
    match changes(of, &old, &new) {
        Some(all) if all.is_empty() => tell!("    nothing that is heard or worked by"),
        Some(all) => {
            for it in all {
                tell!("  {it}");
            }
        }
        None => tell!("    changed, but one of the versions can't be read on its own any more"),
    }
}

fn changes(of: &str, old: &dyn Library, new: &dyn Library) -> Option<Vec<String>> {
    if let Some(sheet) = sheet_named(of) {
        let (old, new) = (
            Vehicle::load(sheet, old).ok()?,
            Vehicle::load(sheet, new).ok()?,
        );
        let all = sheet_differences(&old, &new).into_iter();
        return Some(all.map(|it| format!("  {it}")).collect());
    }
    let (old, new) = (
        Procedure::load(of, old).ok()?,
        Procedure::load(of, new).ok()?,
    );
    let marked = |it: &Difference| match it.at_gate {
        true => format!("! {}", it.told),
        false => format!("  {}", it.told),
    };
    Some(differences(&old, &new).iter().map(marked).collect())
}
