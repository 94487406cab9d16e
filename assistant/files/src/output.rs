//! Writing.

use crate::error::{FileError, kind};
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// What is done where a file of this name is there already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IfThere {
    /// It is left as it is; the command has no option to overwrite it.
    Keep,
    /// It is left as it is; the error names the option --overwrite.
    Refuse,
    /// It is replaced, if it is a plain file.
    Replace,
}

/// A file that is being written. It is kept next to its final place until it is [put there](Self::put), and deleted if
/// it never is.
#[derive(Debug)]
pub struct Output {
    path: PathBuf,
    if_there: IfThere,
    beside: NamedTempFile,
}

impl Output {
    /// Begins a file for this place.
    ///
    /// # Errors
    /// When something is there that mustn't be replaced, or the folder can't be written to.
    pub fn begin(path: &Path, if_there: IfThere) -> Result<Self, FileError> {
        check_place(path, if_there)?;
        let folder = path.parent().filter(|it| !it.as_os_str().is_empty());
        let mut new = tempfile::Builder::new();
        new.prefix(".sayback-");
        // What the user asked for is readable as their umask has it, not for the owner only.
        #[cfg(unix)]
        new.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let beside = new
            .tempfile_in(folder.unwrap_or(Path::new(".")))
            .map_err(|source| refused(path, source))?;
        Ok(Self {
            path: path.to_owned(),
            if_there,
            beside,
        })
    }

    /// Where to write.
    pub fn file(&mut self) -> &mut File {
        self.beside.as_file_mut()
    }

    /// Puts it in its place, whole and synced.
    ///
    /// # Errors
    /// When something has come there since, or the disk has no room.
    pub fn put(self) -> Result<File, FileError> {
        let Self {
            path,
            if_there,
            beside,
        } = self;
        beside
            .as_file()
            .sync_all()
            .map_err(|source| refused(&path, source))?;
        check_place(&path, if_there)?;
        let put = match if_there {
            IfThere::Replace => {
                if let Ok(about) = std::fs::metadata(&path) {
                    // Whoever could read the old one can read the new one.
                    let _ = beside.as_file().set_permissions(about.permissions());
                }
                beside.persist(&path)
            }
            IfThere::Keep | IfThere::Refuse => beside.persist_noclobber(&path),
        };
        put.map_err(|error| match error.error.kind() {
            std::io::ErrorKind::AlreadyExists => exists(&path, if_there),
            _ => refused(&path, error.error),
        })
    }
}

/// Writes a file whole or not at all.
///
/// # Errors
/// As [`Output`].
pub fn write(path: &Path, bytes: &[u8], if_there: IfThere) -> Result<(), FileError> {
    let mut output = Output::begin(path, if_there)?;
    output
        .file()
        .write_all(bytes)
        .map_err(|source| refused(path, source))?;
    output.put()?;
    Ok(())
}

/// Looks whether a file may be put there, before the work is done that it is to hold.
///
/// # Errors
/// When something is there that mustn't be replaced.
pub fn check_place(path: &Path, if_there: IfThere) -> Result<(), FileError> {
    let about = match std::fs::symlink_metadata(path) {
        Ok(about) => about,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(refused(path, error)),
    };
    if about.is_symlink() {
        return Err(FileError::Link(path.to_owned()));
    }
    if !about.is_file() {
        return Err(FileError::NotAFile {
            path: path.to_owned(),
            what: kind(about.file_type()),
        });
    }
    match if_there {
        IfThere::Replace => Ok(()),
        IfThere::Keep | IfThere::Refuse => Err(exists(path, if_there)),
    }
}

fn exists(path: &Path, if_there: IfThere) -> FileError {
    FileError::Exists {
        path: path.to_owned(),
        may: if_there == IfThere::Refuse,
    }
}

fn refused(path: &Path, source: std::io::Error) -> FileError {
    FileError::System {
        path: path.to_owned(),
        what: "written",
        source,
    }
}
