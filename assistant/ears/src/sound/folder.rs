//! The recordings of a folder.

use super::file::{self, FileError, Recording};
use std::path::{Path, PathBuf};

/// Why a folder gave no recordings.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FolderError {
    /// The folder can't be listed.
    #[error("the folder {path} can't be read")]
    Unreadable {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// No file in it is named as a WAV file.
    #[error("no file in {0} ends in .wav: give a folder with recordings in WAV format")]
    NoWav(PathBuf),
}

/// The WAV files of a folder (not of the folders in it) in the order of their names' bytes. What
/// counts is the ending `.wav`, in capitals or not.
pub fn wav_files(folder: &Path) -> Result<Vec<PathBuf>, FolderError> {
    let unreadable = |source| FolderError::Unreadable {
        path: folder.to_owned(),
        source,
    };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let named_wav = path
            .extension()
            .is_some_and(|e| e.eq_ignore_ascii_case("wav"));
        if named_wav && !path.is_dir() {
            files.push(path);
        }
    }
    if files.is_empty() {
        return Err(FolderError::NoWav(folder.to_owned()));
    }
    files.sort();
    Ok(files)
}

/// Reads the WAV files of a folder in name order, each when it is asked for. A file that can't be
/// read is an item of its own and doesn't end the rest.
pub fn read(
    folder: &Path,
) -> Result<impl Iterator<Item = (PathBuf, Result<Recording, FileError>)>, FolderError> {
    Ok(wav_files(folder)?.into_iter().map(|path| {
        let recording = file::read(&path);
        (path, recording)
    }))
}
