//! Puts procedure files into their usual form, and compares two versions of one.

use super::check::{folder_and_name, in_procedures};
use super::terminal;
use files::IfThere;
use miette::{IntoDiagnostic, WrapErr, miette};
use sayback::author::tidy::tidy;
use sayback::library::Shelf;
use serde_json::json;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use steps::Procedure;
use steps::procedure::{
    Library, MAX_BYTES, ReadError, Vehicle, differences, sheet_differences, sheet_named,
};

/// Writes each file in its usual form; with `look` it only says which aren't in it, and exits with 1 then.
pub fn tidy_files(files: &[PathBuf], look: bool) -> miette::Result<ExitCode> {
    let mut untidy = false;
    for file in files {
        let text = files::read_text(file, MAX_BYTES as u64).into_diagnostic()?;
        let tidied = tidy(&text)
            .into_diagnostic()
            .wrap_err_with(|| format!("{} is not TOML: see `sayback check`", file.display()))?;
        let meaning = |text: &str| text.parse::<toml::Table>();
        if meaning(&text) != meaning(&tidied) {
            return Err(miette!(
                "{} was left as it is: its form can't be changed safely",
                file.display()
            ));
        }
        if text == tidied {
            continue;
        }
        untidy = true;
        if look {
            tell!("{} is not in its usual form", file.display());
            continue;
        }
        files::write(file, tidied.as_bytes(), IfThere::Replace).into_diagnostic()?;
        tell!("{}", file.display());
    }
    Ok(if look && untidy {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    })
}

/// Tells what differs between two versions.
pub fn differ(old: &Path, new: &Path, as_json: bool) -> miette::Result<ExitCode> {
    let (old, new) = (version(old)?, version(new)?);
    if old.is_sheet && new.is_sheet {
        let all = sheet_differences(
            &Vehicle::load(&old.id, &old)?,
            &Vehicle::load(&new.id, &new)?,
        );
        if as_json {
            let all: Vec<_> = all.iter().map(|it| json!({ "difference": it })).collect();
            terminal::tell_json(&all)?;
            return Ok(ExitCode::SUCCESS);
        }
        if all.is_empty() {
            tell!("No difference that is heard or worked by.");
        }
        for it in &all {
            tell!("  {it}");
        }
        return Ok(ExitCode::SUCCESS);
    }
    let all = differences(
        &Procedure::load(&old.id, &old)?,
        &Procedure::load(&new.id, &new)?,
    );
    if as_json {
        let all: Vec<_> = all
            .iter()
            .map(|it| json!({ "at_hold_point": it.at_gate, "difference": it.told }))
            .collect();
        terminal::tell_json(&all)?;
        return Ok(ExitCode::SUCCESS);
    }
    let (at_gates, other): (Vec<_>, Vec<_>) = all.iter().partition(|it| it.at_gate);
    if all.is_empty() {
        tell!("No difference that is heard or worked by.");
    }
    if !at_gates.is_empty() {
        tell!("HOLD POINTS DIFFER. Look at each, and tell whoever knows the old words:");
    }
    for it in at_gates {
        tell!("! {it}");
    }
    for it in other {
        tell!("  {it}");
    }
    Ok(ExitCode::SUCCESS)
}

/// A version under another file name than its own, such as `pump.old.toml`.
struct Version {
    id: String,
    is_sheet: bool,
    bytes: Vec<u8>,
    shelf: Shelf,
}

impl Library for Version {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        let own = match self.is_sheet {
            true => sheet_named(name),
            false => Some(name),
        };
        match own == Some(self.id.as_str()) {
            true => Ok(self.bytes.clone()),
            false => self.shelf.read(name),
        }
    }
}

fn version(file: &Path) -> miette::Result<Version> {
    let (folder, name) = folder_and_name(file)?;
    let in_folder = Shelf::Folder(folder.clone());
    let bytes = in_folder
        .read(&name)
        .into_diagnostic()
        .wrap_err_with(|| format!("{} can't be read: look at its name", file.display()))?;
    let text = String::from_utf8_lossy(&bytes);
    let table = text.parse::<toml::Table>().ok();
    let id = table.as_ref().and_then(|it| it.get("id")?.as_str());
    let id = id.unwrap_or(&name).to_owned();
    // A sheet's type lies beside it, in the folder `vehicles` of the procedures.
    let of_procedures = in_procedures(&folder);
    let is_sheet = of_procedures.is_some() || table.is_some_and(|it| it.contains_key("fits"));
    Ok(Version {
        id,
        is_sheet,
        bytes,
        shelf: of_procedures.map_or(in_folder, Shelf::Folder),
    })
}
