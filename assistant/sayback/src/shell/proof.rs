//! Verifies records, here or on another machine, and shows the key that signs them.

use super::options::RecordOptions;
use clap::Args;
use miette::IntoDiagnostic;
use record::{Exported, Found, JobId, Keyring, Lost, Succession, Verified};
use sayback::config::key;
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Whose keys are believed.
#[derive(Debug, Args)]
pub struct KeyOptions {
    /// A bay's public key, as `sayback key --out` wrote it there; may be given several times
    #[arg(long = "key", value_name = "FILE")]
    keys: Vec<PathBuf>,
}

impl KeyOptions {
    /// The keys that are known: this bay's, those that were named, and whichever these have signed as their successors.
    fn ring(&self, successions: &[Succession]) -> miette::Result<Keyring> {
        let mut ring = match key::folder() {
            Some(folder) => Keyring::of_bay(&folder).into_diagnostic()?,
            None => Keyring::default(),
        };
        for path in &self.keys {
            let whose = format!("the one in {}", path.display());
            ring.add(path, &whose).into_diagnostic()?;
        }
        ring.follow(successions);
        Ok(ring)
    }

    fn tell(&self, verified: &Verified, successions: &[Succession]) -> miette::Result<ExitCode> {
        let ring = self.ring(successions)?;
        tell!("{verified}");
        let mut all_known = true;
        for it in &verified.signatures {
            match ring.whose(&it.key) {
                Some(whose) => tell!("The key of bay “{}” is {whose}.", it.bay),
                None => {
                    all_known = false;
                    tell!(
                        "The key of bay “{}” isn't known here: compare it with what `sayback key` prints in that bay.",
                        it.bay
                    );
                }
            }
        }
        // Whoever names keys wants a signature by one of them over all of it.
        let signed = !verified.signatures.is_empty() && !verified.end_unsigned;
        let wanted = self.keys.is_empty() || (all_known && signed);
        Ok(match verified.is_whole() && wanted {
            true => ExitCode::SUCCESS,
            false => ExitCode::FAILURE,
        })
    }
}

fn own_successions() -> miette::Result<Vec<Succession>> {
    match key::folder() {
        Some(folder) => record::successions(&folder).into_diagnostic(),
        None => Ok(Vec::new()),
    }
}

/// `sayback record NAME --verify`.
pub fn verify(
    records: &RecordOptions,
    id: &JobId,
    head: Option<&str>,
    keys: &KeyOptions,
) -> miette::Result<ExitCode> {
    let archive = records.to_read()?;
    let verified = match head {
        Some(head) => archive.verify_against(id, head).into_diagnostic()?,
        None => archive.verify(id, None).into_diagnostic()?,
    };
    keys.tell(&verified, &own_successions()?)
}

/// `sayback record NAME --export FILE`.
pub fn export(records: &RecordOptions, id: &JobId, to: &Path) -> miette::Result<ExitCode> {
    let mut bytes = Cursor::new(Vec::new());
    let archive = records.to_read()?;
    archive
        .export(id, &own_successions()?, &mut bytes)
        .into_diagnostic()?;
    files::write(to, bytes.get_ref(), files::IfThere::Keep).into_diagnostic()?;
    tell!("{}", to.display());
    Ok(ExitCode::SUCCESS)
}

/// `sayback verify FILE`.
pub fn verify_exported(file: &Path, keys: &KeyOptions) -> miette::Result<ExitCode> {
    let exported = Exported::read(file).into_diagnostic()?;
    let verified = exported.verify().into_diagnostic()?;
    keys.tell(&verified, &exported.successions)
}

/// `sayback key`.
pub fn show_key(bay: Option<&str>, replace: bool, to: Option<&Path>) -> miette::Result<ExitCode> {
    if let Some(bay) = bay {
        key::call(bay)?;
    }
    let (mut own, found) = key::open()?.ok_or_else(key::no_home)?;
    tell_found(found);
    if replace {
        own = own
            .replace(sayback::work::conversation::now())
            .into_diagnostic()?;
        tell!(
            "The key was replaced. The former one has signed this one, and what it signed stays signed."
        );
    }
    tell!("Bay “{}” signs with the key {}", own.bay(), own.public());
    let pem = own.public_pem().into_diagnostic()?;
    match to {
        Some(path) => {
            files::write(path, pem.as_bytes(), files::IfThere::Keep).into_diagnostic()?;
            tell!("{}", path.display());
        }
        None => tell!("{}", pem.trim_end()),
    }
    Ok(ExitCode::SUCCESS)
}

/// Says what whoever relies on signatures must know about the key.
pub fn tell_found(found: Found) {
    match found {
        Found::Known | Found::New => {}
        Found::Lost => warn!(
            "This bay's private key is gone, so it has a new one. Whoever knew the former key must be given the new one: `sayback key`."
        ),
    }
}

/// `sayback repair FOLDER NEW`.
pub fn repair(damaged: &Path, new: &Path) -> miette::Result<ExitCode> {
    let repaired = record::repair(damaged, new).into_diagnostic()?;
    for (job, entries) in &repaired.jobs {
        tell!("{job}: {entries} entries");
    }
    for lost in &repaired.lost {
        tell!("Lost: {lost}.");
    }
    tell!(
        "{} jobs were brought to {}. {} was left as it is.",
        repaired.jobs.len(),
        new.display(),
        damaged.display()
    );
    Ok(match repaired.lost.is_empty() {
        true => ExitCode::SUCCESS,
        false => ExitCode::FAILURE,
    })
}

/// Names what can't be read of damaged records, and sounds that the journal knows nothing of.
pub fn tell_lost(lost: &[Lost]) {
    for it in lost {
        warn!("Lost: {it}.");
    }
    if !lost.is_empty() {
        warn!("`sayback repair` brings into a new folder what can still be read.");
    }
}
