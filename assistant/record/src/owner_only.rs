//! Records, sounds and photos are for their owner's eyes: other accounts of the machine can't read them.

use std::fs::{DirBuilder, File, OpenOptions};
use std::path::Path;

/// Makes a folder, and those above it that aren't there. Each new one can be entered by its owner only.
pub(crate) fn make_folder(folder: &Path) -> std::io::Result<()> {
    let mut make = DirBuilder::new();
    make.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut make, 0o700);
    make.create(folder)
}

/// Opens a file for writing, and makes it where there is none, for its owner only. What is in it stays.
pub(crate) fn file(path: &Path) -> std::io::Result<File> {
    let mut open = OpenOptions::new();
    open.write(true).create(true).truncate(false);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut open, 0o600);
    open.open(path)
}

/// Makes the file that another library is going to open, unless something is there.
pub(crate) fn prepare(path: &Path) -> std::io::Result<()> {
    match path.exists() {
        true => Ok(()),
        false => file(path).map(drop),
    }
}

/// Returns true if other accounts of this machine can read what lies in a folder of records. Where that can't be
/// known, nothing is said.
pub fn others_can_read(folder: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        std::fs::metadata(folder).is_ok_and(|about| about.permissions().mode() & 0o077 != 0)
    }
    #[cfg(not(unix))]
    {
        let _ = folder;
        false
    }
}
