//! Releases: who answers for which version of a procedure or vehicle sheet, and which was withdrawn.
//!
//! They stand in `releases.jsonl` beside a shop's procedures, one entry to a line, and are only ever appended. An entry names every
//! file that the procedure or sheet is made of by the SHA-256 of its text, is signed with the key of the bay where it was
//! made, and names the line before it by its SHA-256. The texts themselves are kept in the folder `releases`.
//!
//! # What does an entry prove?
//!
//! That whoever made it had that key, and that neither it nor any line before it was changed since. Lines taken off the end
//! can't be noticed: then an older release counts, or none.

use files::{FileError, IfThere};
use record::{BayKey, Keyring};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use steps::Release;
use steps::procedure::{Library, MAX_BYTES, ReadError, sheet_named};

/// The file of the entries.
const ENTRIES: &str = "releases.jsonl";

/// The folder of the texts that were released.
const TEXTS: &str = "releases";

/// The largest file of entries that is read, in bytes.
const MAX_ENTRIES: u64 = 64 << 20;

/// Names of files, and their texts.
pub type Texts = BTreeMap<String, String>;

/// What became of a version.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Act {
    /// It may be worked by.
    Released,
    /// It may not any more.
    Withdrawn,
}

/// A release or a withdrawal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// What: `front-brakes`, `vehicles/van-four`.
    pub of: String,
    /// What became of it.
    pub act: Act,
    /// By whom.
    pub by: String,
    /// When: `2026-12-01`.
    pub on: String,
    /// Why; a withdrawal always has a reason.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<String>,
    /// SHA-256 of each text that it is made of, in hexadecimal; of a withdrawal none.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub texts: BTreeMap<String, String>,
    /// SHA-256 of the line before this one, in hexadecimal; empty in the first.
    pub before: String,
    /// The public key, in hexadecimal.
    pub key: String,
    /// Its signature over [`message`](Self::message), in hexadecimal.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub signature: String,
}

impl Entry {
    /// What is signed: a line that says what it is, and the entry as JSON without its signature.
    fn message(&self) -> Result<String, serde_json::Error> {
        let unsigned = Self {
            signature: String::new(),
            ..self.clone()
        };
        Ok(format!(
            "sayback release 1\n{}",
            serde_json::to_string(&unsigned)?
        ))
    }
}

/// Where a version stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// Released as it is.
    Released(Release),
    /// Never released.
    Unreleased,
    /// Another version was released last.
    Changed(Release),
    /// Withdrawn, and why.
    Withdrawn(Release, String),
}

impl Standing {
    /// Why it can't be worked by; `None` where it can.
    pub fn refusal(&self, of: &str) -> Option<String> {
        match self {
            Self::Released(_) => None,
            Self::Unreleased => Some(format!("“{of}” has not been released")),
            Self::Changed(Release { by, on, .. }) => {
                Some(format!("“{of}” has changed since {by} released it on {on}"))
            }
            Self::Withdrawn(Release { by, on, .. }, why) => {
                Some(format!("“{of}” was withdrawn by {by} on {on}: {why}"))
            }
        }
    }
}

/// Why releases can't be read or made.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
#[non_exhaustive]
pub enum ReleaseError {
    /// A file.
    #[error(transparent)]
    File(#[from] FileError),
    /// The folder of the texts.
    #[error("{} can't be made", .0.display())]
    Folder(PathBuf, #[source] std::io::Error),
    /// A line isn't as it was written.
    #[error("line {line} of {} {what}", .file.display())]
    #[diagnostic(help(
        "bring the file back from a copy; until then nothing in this folder counts as released"
    ))]
    Damaged {
        /// The file.
        file: PathBuf,
        /// The line.
        line: usize,
        /// What is wrong with it.
        what: &'static str,
    },
    /// A line was signed by a stranger.
    #[error("line {line} of {} is signed with a key that this bay doesn't know", .file.display())]
    #[diagnostic(help(
        "the key is {key}; if `sayback key` shows the same in the bay that released it, write it there with `sayback key --out office.pub` and copy that file into this bay's folder `sayback/bay`"
    ))]
    Stranger {
        /// The file.
        file: PathBuf,
        /// The line.
        line: usize,
        /// The key.
        key: String,
    },
    /// Somebody else has released something at the same time.
    #[error("{} was changed meanwhile: try again", .0.display())]
    Meanwhile(PathBuf),
    /// It can't be written as JSON.
    #[error(transparent)]
    Json(#[from] serde_json::Error),
    /// A kept text is gone or another one.
    #[error("the released text {0} isn't in the folder `releases` any more, or was changed")]
    Text(String),
}

/// The releases of a shop's folder.
#[derive(Debug)]
pub struct Releases {
    folder: PathBuf,
    /// The file as it was read, or written last.
    text: String,
    entries: Vec<Entry>,
    /// SHA-256 of the last line.
    head: String,
}

impl Releases {
    /// Reads those of a folder, each line checked; empty where nothing was ever released.
    ///
    /// # Errors
    /// When they can't be read, or a line was changed, taken out or signed with a key that isn't known.
    pub fn of(folder: &Path, known: &Keyring) -> Result<Self, ReleaseError> {
        let file = folder.join(ENTRIES);
        let text = match files::read_text(&file, MAX_ENTRIES) {
            Ok(text) => text,
            Err(error) if error.is_missing() => String::new(),
            Err(error) => return Err(error.into()),
        };
        let mut releases = Self {
            folder: folder.to_owned(),
            text: String::new(),
            entries: Vec::new(),
            head: String::new(),
        };
        for (number, line) in text.lines().enumerate() {
            let damaged = |what| ReleaseError::Damaged {
                file: file.clone(),
                line: number + 1,
                what,
            };
            let entry: Entry = serde_json::from_str(line).map_err(|_| damaged("can't be read"))?;
            if entry.before != releases.head {
                return Err(damaged("doesn't follow the line before it"));
            }
            if !record::signed(&entry.key, &entry.message()?, &entry.signature) {
                return Err(damaged("was changed after it was signed"));
            }
            if known.whose(&entry.key).is_none() {
                return Err(ReleaseError::Stranger {
                    file,
                    line: number + 1,
                    key: entry.key,
                });
            }
            releases.head = sha256(line);
            releases.entries.push(entry);
        }
        releases.text = text;
        Ok(releases)
    }

    /// Whether anything was ever released here: from then on only what is released is worked.
    pub fn are_kept(&self) -> bool {
        !self.entries.is_empty()
    }

    /// All entries of a procedure or sheet, the oldest first.
    pub fn entries_of(&self, of: &str) -> impl Iterator<Item = &Entry> {
        self.entries.iter().filter(move |it| it.of == of)
    }

    /// Where a version stands that consists of these texts.
    pub fn standing(&self, of: &str, texts: &Texts) -> Standing {
        let Some(last) = self.entries_of(of).last() else {
            return Standing::Unreleased;
        };
        let release = Release {
            of: of.to_owned(),
            by: last.by.clone(),
            on: last.on.clone(),
        };
        match last.act {
            Act::Withdrawn => {
                Standing::Withdrawn(release, last.because.clone().unwrap_or_default())
            }
            Act::Released if last.texts == sums(texts) => Standing::Released(release),
            Act::Released => Standing::Changed(release),
        }
    }

    /// Appends a release of these texts, or a withdrawal.
    ///
    /// # Errors
    /// When it can't be written; then nothing has changed.
    pub fn append(
        &mut self,
        of: &str,
        act: Act,
        (by, because): (&str, Option<&str>),
        texts: &Texts,
        key: &BayKey,
    ) -> Result<(), ReleaseError> {
        let kept = self.folder.join(TEXTS);
        for text in texts.values() {
            let place = kept.join(format!("{}.toml", sha256(text)));
            std::fs::create_dir_all(&kept)
                .map_err(|error| ReleaseError::Folder(kept.clone(), error))?;
            files::write(&place, text.as_bytes(), IfThere::Replace)?;
        }
        let mut entry = Entry {
            of: of.to_owned(),
            act,
            by: by.to_owned(),
            on: jiff::ZonedDateTime::now().date().to_string(),
            because: because.map(str::to_owned),
            texts: sums(texts),
            before: self.head.clone(),
            key: key.public(),
            signature: String::new(),
        };
        entry.signature = key.sign(&entry.message()?);
        let line = serde_json::to_string(&entry)?;
        let file = self.folder.join(ENTRIES);
        match files::read_text(&file, MAX_ENTRIES) {
            Ok(now) if now != self.text => return Err(ReleaseError::Meanwhile(file)),
            Err(error) if !error.is_missing() => return Err(error.into()),
            Ok(_) | Err(_) => {}
        }
        let text = format!("{}{line}\n", self.text);
        files::write(&file, text.as_bytes(), IfThere::Replace)?;
        self.text = text;
        self.head = sha256(&line);
        self.entries.push(entry);
        Ok(())
    }

    /// The texts of a release.
    ///
    /// # Errors
    /// When one of them is gone or was changed.
    pub fn texts_of(&self, release: &Entry) -> Result<Texts, ReleaseError> {
        let kept = self.folder.join(TEXTS);
        let read = |(name, sum): (&String, &String)| {
            let text = files::read_text(&kept.join(format!("{sum}.toml")), MAX_BYTES as u64)?;
            match sha256(&text) == *sum {
                true => Ok((name.clone(), text)),
                false => Err(ReleaseError::Text(name.clone())),
            }
        };
        release.texts.iter().map(read).collect()
    }
}

/// The texts of a procedure without those of the vehicle's sheet, or those alone.
pub fn parted(texts: &Texts) -> (Texts, Texts) {
    let all = texts
        .iter()
        .map(|(name, text)| (name.clone(), text.clone()));
    all.partition(|(name, _)| sheet_named(name).is_none())
}

/// A version that was released, beside what the folder has.
pub struct Version<'a> {
    /// Its texts.
    pub texts: &'a Texts,
    /// What it doesn't have itself.
    pub beside: &'a dyn Library,
}

impl Library for Version<'_> {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        match self.texts.get(name) {
            Some(text) => Ok(text.as_bytes().to_vec()),
            None => self.beside.read(name),
        }
    }
}

fn sums(texts: &Texts) -> BTreeMap<String, String> {
    texts
        .iter()
        .map(|(name, text)| (name.clone(), sha256(text)))
        .collect()
}

fn sha256(text: &str) -> String {
    format!("{:x}", Sha256::digest(text.as_bytes()))
}
