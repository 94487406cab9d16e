//! The bay's key, and the name that it signs for.

use miette::{IntoDiagnostic, WrapErr, miette};
use record::{BayKey, Found};
use std::path::{Path, PathBuf};

/// The folder of the key: `sayback/bay` in the user's configuration folder; `None` without a home folder.
pub fn folder() -> Option<PathBuf> {
    super::tools::usual_place().map(|tools| tools.with_file_name("bay"))
}

/// The file of the bay's name.
const NAME: &str = "name";

/// What the bay calls itself: the name it was given, else the machine's.
///
/// # Errors
/// When the file of its name is there and can't be read.
pub fn name(folder: &Path) -> miette::Result<String> {
    let path = folder.join(NAME);
    match std::fs::read_to_string(&path) {
        Ok(name) => Ok(name.trim().to_owned()),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            Ok(gethostname::gethostname().to_string_lossy().into_owned())
        }
        Err(error) => Err(error)
            .into_diagnostic()
            .wrap_err_with(|| format!("{} can't be read", path.display())),
    }
}

/// The bay's key, made on first use. `None` without a home folder.
///
/// # Errors
/// When it can't be read or made, or may be read by others.
pub fn open() -> miette::Result<Option<(BayKey, Found)>> {
    let Some(folder) = folder() else {
        return Ok(None);
    };
    let name = name(&folder)?;
    BayKey::open(&folder, &name).into_diagnostic().map(Some)
}

/// Calls the bay this from now on.
///
/// # Errors
/// When no bay can be called so, or it can't be kept.
pub fn call(bay: &str) -> miette::Result<()> {
    let folder = folder().ok_or_else(no_home)?;
    // Which names there are is the key's to say.
    BayKey::open(&folder, bay).into_diagnostic()?;
    let path = folder.join(NAME);
    std::fs::write(&path, format!("{}\n", bay.trim()))
        .into_diagnostic()
        .wrap_err_with(|| format!("{} can't be written", path.display()))
}

/// What is said where nothing can be kept.
pub fn no_home() -> miette::Report {
    miette!("no home folder is set: there is nowhere to keep the bay's key")
}
