//! Where everything is kept that set-up fetches or makes.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// The cache folder: `$SAYBACK_CACHE`, else `$XDG_CACHE_HOME/sayback`, else `~/.cache/sayback`. `None` when no such
/// variable is set. Whether it is there isn't looked at.
pub fn folder() -> Option<PathBuf> {
    choose(|name| std::env::var_os(name).filter(|value| !value.is_empty()))
}

fn choose(variable: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    if let Some(chosen) = variable("SAYBACK_CACHE") {
        return Some(PathBuf::from(chosen));
    }
    if let Some(base) = variable("XDG_CACHE_HOME") {
        return Some(Path::new(&base).join("sayback"));
    }
    Some(Path::new(&variable("HOME")?).join(".cache/sayback"))
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
