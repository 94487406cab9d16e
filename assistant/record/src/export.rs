//! One job in one file, which anybody can verify without this program's database, or without this program.
//!
//! # The file
//!
//! A ZIP archive (APPNOTE 6.3.10; stored or deflated, no encryption) of:
//!
//! - `manifest.json`: `format` (1), `job`, and in `files` the SHA-256 of every other file by its name, in hexadecimal.
//! - `journal.jsonl`: the job's entries in order, one JSON object a line (UTF-8, line feed): `job`, `seq` (from 0), `at`
//!   (milliseconds since 1970-01-01 UTC), `kind`, `event`, `reached`, `previous` and `hash`. `event` and `reached` are strings
//!   which hold JSON themselves, exactly as it was hashed.
//! - `procedures/NAME-SHA256.json`: the texts of the procedure's files by name, as it was worked by.
//! - `sounds/…`, `photos/…`: what the entries name; the SHA-256 of each stands in its name, before its ending. Those that were
//!   discarded by a rule are missing.
//! - `successions.json`: which of the bay's keys followed which, where any did.
//!
//! # How it is verified
//!
//! 1. An entry's `hash` is SHA-256, in hexadecimal, over `job`, `seq`, `at`, `kind`, `event`, `reached` and `previous`, each as
//!    UTF-8 (numbers in decimal) and with its length in bytes before it as a little-endian number of 64 bits.
//! 2. `previous` is the `hash` of the entry before it, and empty in the first; `seq` counts from 0.
//! 3. An entry of the kind `signed` has in its `event` a `key` (Ed25519, RFC 8032) and its `signature`, both in lower-case hexadecimal, over
//!    these lines, each with a line feed at its end: `sayback record signature 1`, `job JOB`, `entries SEQ`,
//!    `head PREVIOUS`, `at AT`, `bay BAY`, `program PROGRAM`; BAY and PROGRAM from its `event`, the rest from the entry itself.
//! 4. A sound or photo is what its name says. The procedure is SHA-256 over its texts by name, each name and each text with a
//!    byte 0 after it, and must be the `sha256` of the newest `opened` or `taken-up` entry.
//! 5. Replaying the inputs with the procedure must lead to what the `led-to` entries tell. That takes this program.

use crate::job_history::JobHistory;
use crate::journal::{Ends, Hold, Journal, ListPage};
use crate::verify::{Verified, verified};
use crate::{Archive, JobId, RecordError, Report, Row, Succession};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::sync::Arc;
use steps::Procedure;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

const MANIFEST: &str = "manifest.json";
const JOURNAL: &str = "journal.jsonl";
const SUCCESSIONS: &str = "successions.json";

/// The format of the file.
const FORMAT: u32 = 1;

/// The most bytes of one file in it, and of all together.
const MAX_BYTES: u64 = 1 << 30;

#[derive(Serialize, Deserialize)]
struct Manifest {
    format: u32,
    job: JobId,
    files: BTreeMap<String, String>,
}

/// An exported job, read.
#[derive(Debug)]
pub struct Exported {
    job: JobId,
    rows: Vec<Row>,
    files: BTreeMap<String, Vec<u8>>,
    /// Which of the bay's keys followed which.
    pub successions: Vec<Succession>,
}

impl Archive {
    /// Writes a job, with all that its proof needs, as one file.
    ///
    /// # Errors
    /// When there is no such job, when something of it can't be read, or the file can't be written.
    pub fn export(
        &self,
        id: &JobId,
        successions: &[Succession],
        to: impl Write + Seek,
    ) -> Result<(), RecordError> {
        let history = self.past(id)?;
        let (rows, _) = self.journal().rows(id)?;
        let mut journal = Vec::new();
        for row in &rows {
            journal.extend(crate::chain::json(row)?.into_bytes());
            journal.push(b'\n');
        }
        let mut files = BTreeMap::from([(JOURNAL.to_owned(), journal)]);
        if !successions.is_empty() {
            let text = crate::chain::json(&successions)?;
            files.insert(SUCCESSIONS.to_owned(), text.into_bytes());
        }
        let opening = &history.opening;
        let procedure = crate::procedures::name(&opening.procedure, &opening.sha256);
        let named = history
            .entries
            .iter()
            .filter_map(|told| crate::verify::file_of(&told.event))
            .collect::<BTreeSet<_>>();
        for name in named.into_iter().chain([procedure.as_str()]) {
            if let Some(bytes) = crate::sound::Files::read(self.folder(), name) {
                files.insert(name.to_owned(), bytes);
            }
        }
        let manifest = Manifest {
            format: FORMAT,
            job: id.clone(),
            files: files
                .iter()
                .map(|(name, bytes)| (name.clone(), format!("{:x}", Sha256::digest(bytes))))
                .collect(),
        };
        let failed = |error: &dyn std::fmt::Display| RecordError::Export {
            path: id.as_str().into(),
            what: format!("it can't be written: {error}"),
        };
        let mut zip = ZipWriter::new(to);
        let mut put = |name: &str, bytes: &[u8]| {
            let compression = match name.rsplit_once('.') {
                Some((_, "jpg")) => CompressionMethod::Stored,
                _ => CompressionMethod::Deflated,
            };
            // No times in it: the same job makes the same file.
            let options = SimpleFileOptions::default()
                .compression_method(compression)
                .last_modified_time(zip::DateTime::default());
            zip.start_file(name, options)?;
            zip.write_all(bytes).map_err(zip::result::ZipError::from)
        };
        let text = crate::chain::json(&manifest)?;
        put(MANIFEST, text.as_bytes()).map_err(|error| failed(&error))?;
        for (name, bytes) in &files {
            put(name, bytes).map_err(|error| failed(&error))?;
        }
        let mut to = zip.finish().map_err(|error| failed(&error))?;
        to.flush().map_err(|error| failed(&error))
    }
}

impl Exported {
    /// Reads an exported job.
    ///
    /// # Errors
    /// When it can't be read, is something else, or isn't as its manifest says.
    pub fn read(path: &Path) -> Result<Self, RecordError> {
        let file = File::open(path).map_err(|source| RecordError::of_folder(path, source))?;
        Self::from_zip(file).map_err(|what| RecordError::Export {
            path: path.to_owned(),
            what,
        })
    }

    fn from_zip(file: impl Read + Seek) -> Result<Self, String> {
        let mut zip =
            ZipArchive::new(file).map_err(|error| format!("it is no ZIP archive: {error}"))?;
        let mut files = BTreeMap::new();
        let mut left = MAX_BYTES;
        for place in 0..zip.len() {
            let file = zip.by_index(place).map_err(|error| error.to_string())?;
            let name = file.name().to_owned();
            let mut bytes = Vec::new();
            file.take(left + 1)
                .read_to_end(&mut bytes)
                .map_err(|error| format!("{name} in it can't be read: {error}"))?;
            left = left
                .checked_sub(bytes.len() as u64)
                .ok_or_else(|| format!("it holds more than {MAX_BYTES} bytes"))?;
            if files.insert(name.clone(), bytes).is_some() {
                return Err(format!("{name} is in it twice"));
            }
        }
        let missing = |name: &str| format!("{name} isn't in it");
        let manifest = files.remove(MANIFEST).ok_or_else(|| missing(MANIFEST))?;
        let manifest: Manifest = serde_json::from_slice(&manifest)
            .map_err(|error| format!("its {MANIFEST} can't be read: {error}"))?;
        if manifest.format != FORMAT {
            return Err(format!(
                "it is of format {}, this program knows {FORMAT}: use a newer one",
                manifest.format
            ));
        }
        for (name, sha256) in &manifest.files {
            let bytes = files.get(name).ok_or_else(|| missing(name))?;
            if format!("{:x}", Sha256::digest(bytes)) != *sha256 {
                return Err(format!(
                    "{name} in it was changed: it isn't as the manifest says"
                ));
            }
        }
        if let Some(name) = files
            .keys()
            .find(|name| !manifest.files.contains_key(*name))
        {
            return Err(format!("{name} is in it, and not in its manifest"));
        }
        let journal = files.get(JOURNAL).ok_or_else(|| missing(JOURNAL))?;
        let rows = journal
            .split(|byte| *byte == b'\n')
            .filter(|line| !line.is_empty())
            .map(serde_json::from_slice)
            .collect::<Result<Vec<Row>, _>>()
            .map_err(|error| format!("its {JOURNAL} can't be read: {error}"))?;
        let successions = match files.get(SUCCESSIONS) {
            Some(text) => serde_json::from_slice(text)
                .map_err(|error| format!("its {SUCCESSIONS} can't be read: {error}"))?,
            None => Vec::new(),
        };
        Ok(Self {
            job: manifest.job,
            rows,
            files,
            successions,
        })
    }

    /// The job's name.
    pub fn job(&self) -> &JobId {
        &self.job
    }

    /// Whether the job's record is as it was written, as [`Archive::verify`] tells it.
    ///
    /// # Errors
    /// When nothing of it can be read.
    pub fn verify(&self) -> Result<Verified, RecordError> {
        Ok(self.verified()?.1)
    }

    /// The job's record, as [`Archive::report`] gives it.
    ///
    /// # Errors
    /// When nothing of it can be read.
    pub fn report(&self) -> Result<Report, RecordError> {
        let (history, verified) = self.verified()?;
        Ok(Report::of(&history, &verified, self.procedure(&history)))
    }

    /// The procedure that came with it.
    fn procedure(&self, history: &JobHistory) -> Option<Arc<Procedure>> {
        let opening = &history.opening;
        crate::procedures::kept(&self.files, &opening.procedure, &opening.sha256)
    }

    fn verified(&self) -> Result<(JobHistory, Verified), RecordError> {
        let mut history = JobHistory::read(self, &self.job)?;
        let procedure = self.procedure(&history);
        let (verified, open_end) = verified(&self.files, &history, procedure);
        history.complete(open_end);
        Ok((history, verified))
    }

    fn only_read(&self) -> RecordError {
        RecordError::ReadOnly {
            path: self.job.as_str().into(),
        }
    }
}

/// It can only be read.
impl Journal for Exported {
    fn add(&self, _rows: &[Row]) -> Result<(), RecordError> {
        Err(self.only_read())
    }

    fn add_soon(&self, _row: &Row) -> Result<(), RecordError> {
        Err(self.only_read())
    }

    fn has(&self, job: &JobId) -> Result<bool, RecordError> {
        Ok(*job == self.job)
    }

    fn end(&self, _job: &JobId) -> Result<Option<(u64, String)>, RecordError> {
        Ok(None)
    }

    fn rows(&self, _job: &JobId) -> Result<(Vec<Row>, Option<RecordError>), RecordError> {
        Ok((self.rows.clone(), None))
    }

    fn jobs(&self, _page: &ListPage) -> Result<Vec<Ends>, RecordError> {
        Ok(Vec::new())
    }

    fn hold(&self, _job: &JobId) -> Result<Box<dyn Hold>, RecordError> {
        Err(self.only_read())
    }
}
