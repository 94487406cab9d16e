//! The one folder where everything that set-up fetches or makes is kept.

use std::fs::File;
use std::path::{Path, PathBuf};

use crate::Failure;

/// The cache folder, made when it isn't there.
pub fn folder() -> Result<PathBuf, Failure> {
    let folder = ::cache::folder().ok_or_else(|| {
            Failure::new("no cache folder: neither SAYBACK_CACHE, XDG_CACHE_HOME nor HOME is set; set SAYBACK_CACHE to a folder with 1 GB free.")
        })?;
    std::fs::create_dir_all(&folder).map_err(|error| {
        Failure::new(format!(
            "the cache folder {} can't be made ({error}); set SAYBACK_CACHE to a folder that can be written.",
            folder.display()
        ))
    })?;
    folder.canonicalize().map_err(|error| {
        Failure::new(format!(
            "the cache folder {} can't be opened: {error}",
            folder.display()
        ))
    })
}

/// Held while set-up works, so that two set-ups at once don't unpack into each other.
pub struct Lock(#[allow(dead_code, reason = "the lock lasts as long as the open file")] File);

/// Waits until no other set-up works on this cache.
pub fn lock(cache: &Path) -> Result<Lock, Failure> {
    let path = cache.join(".setup-lock");
    let failed = |error| Failure::new(format!("{} can't be locked: {error}", path.display()));
    let file = File::create(&path).map_err(failed)?;
    if file.try_lock().is_err() {
        eprintln!(
            "Waiting for another set-up that works on {} …",
            cache.display()
        );
        file.lock().map_err(failed)?;
    }
    Ok(Lock(file))
}
