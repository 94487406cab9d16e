//! Reading.

use crate::error::{FileError, kind};
use std::fs::{File, OpenOptions};
use std::io::Read;
use std::path::Path;

/// Opens a plain file for reading, and says how many bytes it has. It doesn't wait for a pipe's other end.
///
/// # Errors
/// When there is none, when it is no plain file, or when the system refuses.
pub fn open(path: &Path) -> Result<(File, u64), FileError> {
    let mut options = OpenOptions::new();
    options.read(true);
    // A pipe that nobody writes to would never open; a terminal could become this program's own.
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::custom_flags(
        &mut options,
        libc::O_NONBLOCK | libc::O_NOCTTY,
    );
    let file = options.open(path).map_err(|error| refused(path, error))?;
    // Of what was opened, not of what the name leads to by now.
    let about = file.metadata().map_err(|error| refused(path, error))?;
    match about.is_file() {
        true => Ok((file, about.len())),
        false => Err(FileError::NotAFile {
            path: path.to_owned(),
            what: kind(about.file_type()),
        }),
    }
}

/// The bytes of a plain file that has at most `most`.
///
/// # Errors
/// As [`open`], and when it is larger.
pub fn read(path: &Path, most: u64) -> Result<Vec<u8>, FileError> {
    let (file, length) = open(path)?;
    bytes(&file, length, path, most)
}

fn bytes(file: &File, length: u64, path: &Path, most: u64) -> Result<Vec<u8>, FileError> {
    let mut bytes = Vec::new();
    if length <= most {
        // It may grow meanwhile: one byte more than is allowed shows it.
        file.take(most.saturating_add(1))
            .read_to_end(&mut bytes)
            .map_err(|error| refused(path, error))?;
    }
    match length.max(bytes.len() as u64) > most {
        true => Err(FileError::TooLarge {
            path: path.to_owned(),
            most,
        }),
        false => Ok(bytes),
    }
}

/// The text of a plain file that has at most `most` bytes.
///
/// # Errors
/// As [`read`], and when it isn't UTF-8.
pub fn read_text(path: &Path, most: u64) -> Result<String, FileError> {
    String::from_utf8(read(path, most)?).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let before = &error.as_bytes()[..at];
        FileError::NotText {
            path: path.to_owned(),
            at,
            line: 1 + before.iter().filter(|byte| **byte == b'\n').count(),
        }
    })
}

/// The bytes of a plain file at `name` below a folder: no link on the way may lead out of it.
///
/// # Errors
/// As [`read`], and when it lies elsewhere.
pub fn read_below(folder: &Path, name: &Path, most: u64) -> Result<Vec<u8>, FileError> {
    let path = folder.join(name);
    let (file, length) = open(&path)?;
    let home = folder
        .canonicalize()
        .map_err(|error| refused(&path, error))?;
    let real = path.canonicalize().map_err(|error| refused(&path, error))?;
    if !(real.starts_with(&home) && is_same(&file, &real)) {
        return Err(FileError::Elsewhere {
            path,
            folder: folder.to_owned(),
        });
    }
    bytes(&file, length, &path, most)
}

/// Whether a path without links leads to what is open.
#[cfg(unix)]
fn is_same(file: &File, real: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let key = |about: std::fs::Metadata| (about.dev(), about.ino());
    let (open, there) = (file.metadata(), std::fs::symlink_metadata(real));
    open.map(key).ok() == there.map(key).ok()
}

#[cfg(not(unix))]
fn is_same(_: &File, _: &Path) -> bool {
    true
}

fn refused(path: &Path, source: std::io::Error) -> FileError {
    let path = path.to_owned();
    match source.kind() {
        std::io::ErrorKind::NotFound => FileError::Missing(path),
        _ => FileError::System {
            path,
            what: "read",
            source,
        },
    }
}
