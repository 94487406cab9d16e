//! Reading what is left of a damaged file.

use super::{ALL, FILE, beside, locked, row};
use crate::journal::{Ends, Hold, Journal, ListPage};
use crate::{Event, JobId, RecordError, Row};
use rusqlite::{Connection, params};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::OpenOptions;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use tempfile::TempDir;

/// A damaged journal, read around the damage. It works on a copy.
#[derive(Debug)]
pub(crate) struct Salvage {
    path: PathBuf,
    connection: Option<Mutex<Connection>>,
    trouble: Option<String>,
    _copy: TempDir,
}

impl Salvage {
    /// What is left in this folder.
    ///
    /// # Errors
    /// When the copy can't be made.
    pub fn of(folder: &Path) -> Result<Self, RecordError> {
        let path = folder.join(FILE);
        let failed = |source| RecordError::of_folder(&path, source);
        let copied = tempfile::tempdir().map_err(failed)?;
        let copy = copied.path().join(FILE);
        let mut salvage = Self {
            path: path.clone(),
            connection: None,
            trouble: None,
            _copy: copied,
        };
        if !path.exists() {
            salvage.trouble = Some("it isn't there".to_owned());
            return Ok(salvage);
        }
        std::fs::copy(&path, &copy).map_err(failed)?;
        let log = beside(&path, "-wal");
        if log.exists() {
            std::fs::copy(&log, beside(&copy, "-wal")).map_err(failed)?;
        }
        salvage.trouble = lengthened(&copy).map_err(failed)?;
        let opened = Connection::open(&copy).and_then(|connection| {
            connection.prepare(ALL)?;
            let verdict = connection.query_row("PRAGMA integrity_check(1)", [], |row| {
                row.get::<_, String>(0)
            });
            match verdict {
                Ok(fine) if fine == "ok" => {}
                Ok(what) => salvage.trouble = salvage.trouble.take().or(Some(what)),
                Err(error) => {
                    salvage.trouble = salvage.trouble.take().or(Some(error.to_string()));
                }
            }
            Ok(connection)
        });
        match opened {
            Ok(connection) => salvage.connection = Some(Mutex::new(connection)),
            Err(error) => salvage.trouble = Some(error.to_string()),
        }
        Ok(salvage)
    }

    /// What is wrong with the file.
    pub fn trouble(&self) -> Option<String> {
        self.trouble.clone()
    }

    /// The names of the jobs that can be found.
    pub fn names(&self) -> BTreeSet<JobId> {
        let mut jobs = BTreeSet::new();
        // From both ends, and by each way that leads to them: damage ends each somewhere else.
        for (from, next) in [
            ("", "SELECT min(job) FROM entries WHERE job > ?1"),
            ("\u{10ffff}", "SELECT max(job) FROM entries WHERE job < ?1"),
            ("", "SELECT min(job) FROM ends WHERE job > ?1"),
            ("\u{10ffff}", "SELECT max(job) FROM ends WHERE job < ?1"),
        ] {
            let mut at = from.to_owned();
            while let Some(job) = self.name(next, &at) {
                at.clone_from(&job);
                jobs.insert(JobId::new(&job));
            }
        }
        for all in [
            "SELECT job FROM entries INDEXED BY openings WHERE kind = 'opened' ORDER BY at, job",
            "SELECT job FROM entries INDEXED BY openings WHERE kind = 'opened' ORDER BY at DESC, job DESC",
            "SELECT job FROM entries INDEXED BY closings WHERE kind = 'closed' ORDER BY job",
        ] {
            let Some(connection) = self.connection.as_ref().map(locked) else {
                break;
            };
            let Ok(mut statement) = connection.prepare(all) else {
                continue;
            };
            if let Ok(found) = statement.query_map([], |row| row.get::<_, String>(0)) {
                jobs.extend(found.map_while(Result::ok).map(|job| JobId::new(&job)));
            }
        }
        jobs
    }

    /// The number and hash of a job's last entry as they were kept, where they can be read.
    pub fn kept_end(&self, job: &JobId) -> Option<(u64, String)> {
        let query = "SELECT seq, hash FROM ends WHERE job = ?1";
        let connection = self.connection.as_ref().map(locked)?;
        let end = connection.query_row(query, [job.as_str()], |row| {
            Ok((super::unsigned(row.get(0)?), row.get(1)?))
        });
        end.ok()
    }

    /// The end that a job should have. A closed job is closed; of another one of which no end can be read nobody knows what
    /// came after the last entry that was found, so it isn't taken for the end.
    pub fn end_of(&self, job: &JobId, found: &[Row]) -> Option<(u64, String)> {
        let open = || found.last().filter(|last| !is_closed(last));
        let unknown = || open().map(|last| (last.seq + 1, String::new()));
        self.kept_end(job).or_else(unknown)
    }

    fn name(&self, query: &str, from: &str) -> Option<String> {
        let connection = self.connection.as_ref().map(locked)?;
        connection.query_row(query, [from], |row| row.get(0)).ok()?
    }

    /// The entries of a job that can be read, in order.
    pub fn found(&self, job: &JobId) -> Vec<Row> {
        let mut rows = BTreeMap::new();
        let backwards = ALL.replace("ORDER BY seq", "ORDER BY seq DESC");
        for query in [ALL, &backwards] {
            let Some(connection) = self.connection.as_ref().map(locked) else {
                break;
            };
            let Ok(mut statement) = connection.prepare(query) else {
                continue;
            };
            if let Ok(found) = statement.query_map(params![job.as_str()], row) {
                rows.extend(found.map_while(Result::ok).map(|row| (row.seq, row)));
            }
        }
        rows.into_values().collect()
    }

    fn only_read(&self) -> RecordError {
        RecordError::ReadOnly {
            path: self.path.clone(),
        }
    }
}

/// Whether a job that ends with this entry is closed.
fn is_closed(last: &Row) -> bool {
    let event = serde_json::from_str::<Event>(&last.event);
    event.is_ok_and(|it| matches!(it, Event::Closed { .. }) || it.may_follow_the_closing())
}

/// It can only be read.
impl Journal for Salvage {
    fn add(&self, _rows: &[Row]) -> Result<(), RecordError> {
        Err(self.only_read())
    }

    fn add_soon(&self, _row: &Row) -> Result<(), RecordError> {
        Err(self.only_read())
    }

    fn has(&self, job: &JobId) -> Result<bool, RecordError> {
        Ok(!self.found(job).is_empty())
    }

    fn end(&self, job: &JobId) -> Result<Option<(u64, String)>, RecordError> {
        Ok(self.end_of(job, &self.found(job)))
    }

    fn rows(&self, job: &JobId) -> Result<(Vec<Row>, Option<RecordError>), RecordError> {
        Ok((self.found(job), None))
    }

    fn jobs(&self, page: &ListPage) -> Result<Vec<Ends>, RecordError> {
        let ends = self.names().into_iter().filter_map(|job| {
            let rows = self.found(&job);
            let (first, last) = (rows.first()?, rows.last()?);
            let closed = rows.iter().find(|row| row.kind == "closed");
            (first.seq == 0).then(|| Ends {
                first: first.clone(),
                last: last.at,
                closed: closed.map(|row| row.event.clone()),
            })
        });
        let mut all: Vec<Ends> = ends.collect();
        all.sort_by(|a, b| (b.first.at, &b.first.job).cmp(&(a.first.at, &a.first.job)));
        Ok(page.of(all, |ends| (&ends.first.job, ends.first.at)))
    }

    fn hold(&self, _job: &JobId) -> Result<Box<dyn Hold>, RecordError> {
        Err(self.only_read())
    }
}

/// Makes a file that was cut short as long as it says it is, so that SQLite reads what is left of it; says so if it was.
/// The size of a page stands in bytes 16 and 17, the number of pages in 28 to 31 (SQLite's manual, "Database File Format").
fn lengthened(path: &Path) -> std::io::Result<Option<String>> {
    let bytes = std::fs::read(path)?;
    let number = |range: std::ops::Range<usize>| {
        let bytes = bytes.get(range)?;
        Some(
            bytes
                .iter()
                .fold(0_u64, |sum, byte| (sum << 8) | u64::from(*byte)),
        )
    };
    let (Some(size), Some(pages)) = (number(16..18), number(28..32)) else {
        return Ok(Some("it is cut short before its first page".to_owned()));
    };
    let size = if size == 1 { 65_536 } else { size };
    let (is, wanted) = (bytes.len() as u64, size * pages);
    // One that says it is far longer says something else.
    if is >= wanted || wanted > is.saturating_mul(1_000) {
        return Ok(None);
    }
    OpenOptions::new().write(true).open(path)?.set_len(wanted)?;
    Ok(Some(format!(
        "{} of its {wanted} bytes are missing",
        wanted - is
    )))
}
