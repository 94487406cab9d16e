//! What an author's editor is helped with: the usual form of a file, and what differs between two versions.

use super::check::folder_and_name;
use miette::{IntoDiagnostic, WrapErr, miette};
use sayback::author::tidy::tidy;
use sayback::library::Shelf;
use serde_json::json;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use steps::Procedure;
use steps::procedure::{Library, ReadError, differences};

/// Writes each file in its usual form; with `look` it only says which aren't in it, and exits with 1 then.
pub fn tidy_files(files: &[PathBuf], look: bool) -> miette::Result<ExitCode> {
    let mut untidy = false;
    for file in files {
        let text = std::fs::read_to_string(file)
            .into_diagnostic()
            .wrap_err_with(|| format!("{} can't be read: look at its name", file.display()))?;
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
        replace(file, &tidied)?;
        tell!("{}", file.display());
    }
    Ok(if look && untidy {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    })
}

/// Puts a text in the place of a file's, whole or not at all.
fn replace(file: &Path, text: &str) -> miette::Result<()> {
    let mut beside = file.as_os_str().to_owned();
    beside.push(".new");
    let beside = PathBuf::from(beside);
    let written = || -> std::io::Result<()> {
        let mut new = std::fs::File::create_new(&beside)?;
        new.write_all(text.as_bytes())?;
        new.sync_all()?;
        std::fs::set_permissions(&beside, std::fs::metadata(file)?.permissions())?;
        std::fs::rename(&beside, file)
    };
    written()
        .into_diagnostic()
        .wrap_err_with(|| format!("{} can't be written", file.display()))
}

/// Tells what differs between two versions.
pub fn differ(old: &Path, new: &Path, as_json: bool) -> miette::Result<ExitCode> {
    let all = differences(&load(old)?, &load(new)?);
    if as_json {
        let all: Vec<_> = all
            .iter()
            .map(|it| json!({ "at_hold_point": it.at_gate, "difference": it.told }))
            .collect();
        tell!("{}", serde_json::to_string_pretty(&all).into_diagnostic()?);
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
    bytes: Vec<u8>,
    shelf: Shelf,
}

impl Library for Version {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        match name == self.id {
            true => Ok(self.bytes.clone()),
            false => self.shelf.read(name),
        }
    }
}

fn load(file: &Path) -> miette::Result<Procedure> {
    let (folder, name) = folder_and_name(file)?;
    let shelf = Shelf::Folder(folder);
    let bytes = shelf
        .read(&name)
        .into_diagnostic()
        .wrap_err_with(|| format!("{} can't be read: look at its name", file.display()))?;
    let text = String::from_utf8_lossy(&bytes);
    let table = text.parse::<toml::Table>().ok();
    let id = table.as_ref().and_then(|it| it.get("id")?.as_str());
    let id = id.unwrap_or(&name).to_owned();
    let version = Version { id, bytes, shelf };
    Ok(Procedure::load(&version.id, &version)?)
}
