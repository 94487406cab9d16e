//! The bay's own files, all in one folder.
//!
//! - [`tools`]: the technician's own tools.
//! - [`people`]: the people who work here.
//! - [`bay`]: the bars that the bay has raised.
//! - [`shop`]: the shop's name and address.
//! - [`key`]: the key that the bay signs its records with.

pub mod bay;
pub mod key;
pub mod people;
pub mod shop;
pub mod tools;

use miette::{Diagnostic, NamedSource, SourceSpan};
use serde::de::DeserializeOwned;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The largest of these files that is read, in bytes.
const MAX_BYTES: u64 = 100_000;

/// A file of the bay's that can't be used as it is.
#[derive(Debug, thiserror::Error, Diagnostic)]
#[error("the {kind} file {} can't be used: {why}", path.display())]
pub struct WrongFile {
    /// Which of the bay's files.
    kind: &'static str,
    path: PathBuf,
    why: String,
    /// How it is written.
    #[help]
    help: &'static str,
    #[source_code]
    text: Arc<NamedSource<String>>,
    /// Where.
    #[label("here")]
    place: Option<SourceSpan>,
}

/// Reads one of the bay's files; `help` says how it is written.
fn read<T, E>(path: &Path, kind: &'static str, help: &'static str) -> Result<T, E>
where
    T: DeserializeOwned,
    E: From<files::FileError> + From<WrongFile>,
{
    let text = files::read_text(path, MAX_BYTES)?;
    let read = toml::from_str(&text).map_err(|error| WrongFile {
        kind,
        path: path.to_owned(),
        why: error.message().to_owned(),
        help,
        place: error.span().map(SourceSpan::from),
        text: Arc::new(NamedSource::new(path.display().to_string(), text.clone())),
    });
    Ok(read?)
}
