//! The pronouncing dictionary that set-up brings.

use std::path::{Path, PathBuf};
use words::sound::Lexicon;

/// The text of a dictionary.
#[derive(Debug)]
pub struct Dictionary(String);

/// Why there is none.
#[derive(Debug, thiserror::Error)]
pub enum NoDictionary {
    /// Set-up didn't bring it.
    #[error(
        "the pronouncing dictionary isn't in {}: `cargo xtask setup` brings it",
        _0.display()
    )]
    Missing(PathBuf),
    /// It can't be read.
    #[error("{} can't be read", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
}

/// Where PocketSphinx keeps it, below a folder of packages.
const IN_PACKAGES: &str = "site-packages/pocketsphinx/model/en-us/cmudict-en-us.dict";

impl Dictionary {
    /// The dictionary of the recogniser in set-up's environment.
    ///
    /// # Errors
    /// When it isn't there, or can't be read.
    pub fn of_set_up(cache: &Path) -> Result<Self, NoDictionary> {
        let environment = cache.join("venv");
        // `lib/python3.11` on most systems, the folder itself on some.
        let folders = ["lib", "lib64", "Lib"].map(|it| environment.join(it));
        let below = folders.iter().filter_map(|it| std::fs::read_dir(it).ok());
        let below = below.flatten().flatten().map(|entry| entry.path());
        let mut files = folders
            .iter()
            .cloned()
            .chain(below)
            .map(|it| it.join(IN_PACKAGES));
        match files.find(|it| it.is_file()) {
            Some(path) => Self::read(&path),
            None => Err(NoDictionary::Missing(environment)),
        }
    }

    /// A dictionary in the form of the CMU's.
    ///
    /// # Errors
    /// When it can't be read.
    pub fn read(path: &Path) -> Result<Self, NoDictionary> {
        let text = std::fs::read_to_string(path);
        text.map(Self).map_err(|source| NoDictionary::Unreadable {
            path: path.to_owned(),
            source,
        })
    }

    /// Its words.
    pub fn lexicon(&self) -> Lexicon<'_> {
        Lexicon::read(&self.0)
    }
}
