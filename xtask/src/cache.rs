//! The one folder where everything that set-up fetches or makes is kept.

use std::fs::File;
use std::path::{Path, PathBuf};

use crate::Failure;

/// The cache folder, made when it isn't there.
///
/// `$SAYBACK_CACHE`, else `$XDG_CACHE_HOME/sayback`, else `~/.cache/sayback`.
pub fn folder() -> Result<PathBuf, Failure> {
    let folder = choose(|name| std::env::var_os(name).filter(|value| !value.is_empty()))
        .ok_or_else(|| {
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

fn choose(variable: impl Fn(&str) -> Option<std::ffi::OsString>) -> Option<PathBuf> {
    if let Some(chosen) = variable("SAYBACK_CACHE") {
        return Some(PathBuf::from(chosen));
    }
    if let Some(base) = variable("XDG_CACHE_HOME") {
        return Some(Path::new(&base).join("sayback"));
    }
    Some(Path::new(&variable("HOME")?).join(".cache/sayback"))
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

#[cfg(test)]
mod tests {
    use super::*;

    fn chosen(set: &[(&str, &str)]) -> Option<PathBuf> {
        choose(|name| {
            set.iter()
                .find(|(key, _)| *key == name)
                .map(|(_, value)| (*value).into())
        })
    }

    #[test]
    fn the_more_particular_variable_wins() {
        let all = [
            ("HOME", "/h"),
            ("XDG_CACHE_HOME", "/x"),
            ("SAYBACK_CACHE", "/s"),
        ];
        assert_eq!(chosen(&all), Some("/s".into()));
        assert_eq!(chosen(&all[..2]), Some("/x/sayback".into()));
        assert_eq!(chosen(&all[..1]), Some("/h/.cache/sayback".into()));
        assert_eq!(chosen(&[]), None);
    }
}
