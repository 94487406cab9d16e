//! What can be wrong with a file that was named.

use std::path::PathBuf;

/// Why a file was not read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FileError {
    /// There is none of this name.
    #[error("there is no file {}: look at its name", .0.display())]
    Missing(PathBuf),
    /// It is a pipe, a device, a socket or a folder.
    #[error("{} is {what}: name a file", path.display())]
    NotAFile {
        /// What was named.
        path: PathBuf,
        /// What it is.
        what: &'static str,
    },
    /// It holds more than is read.
    #[error("{} is larger than {most} bytes: is this the right file?", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Bytes that are read.
        most: u64,
    },
    /// It isn't text.
    #[error("{} is not UTF-8 text: byte {at}, in line {line}, is no letter. Save the file as UTF-8", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
        /// The byte that is none.
        at: usize,
        /// Its line, from 1.
        line: usize,
    },
    /// It is a link out of the folder that it should lie in.
    #[error("{} is a link out of {}: put a copy of the file in its place", path.display(), folder.display())]
    Elsewhere {
        /// The file.
        path: PathBuf,
        folder: PathBuf,
    },
    /// Something is there already.
    #[error("{} is there already, and was left as it is: name another file{}", path.display(), if *may { ", or say --overwrite" } else { "" })]
    Exists {
        /// What is there.
        path: PathBuf,
        /// Whether the command can be told to write over it.
        may: bool,
    },
    /// What is there is a link.
    #[error("{} is a link, and nothing is written through links: name the file itself", .0.display())]
    Link(PathBuf),
    /// The system refuses.
    #[error("{} can't be {what}", path.display())]
    System {
        /// The file.
        path: PathBuf,
        /// “read” or “written”.
        what: &'static str,
        /// What the system says.
        source: std::io::Error,
    },
}

impl FileError {
    /// Returns true if there simply is no such file.
    pub fn is_missing(&self) -> bool {
        matches!(self, Self::Missing(_))
    }
}

/// What something is that isn't a plain file.
pub(crate) fn kind(of: std::fs::FileType) -> &'static str {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        if of.is_fifo() {
            return "a pipe";
        }
        if of.is_char_device() || of.is_block_device() {
            return "a device";
        }
        if of.is_socket() {
            return "a socket";
        }
    }
    match of.is_dir() {
        true => "a folder",
        false => "no plain file",
    }
}
