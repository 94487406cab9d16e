//! Reading what is left of a damaged file.

use super::{ALL, FILE, beside, row};
use crate::{JobId, RecordError, Row};
use rusqlite::{Connection, params};
use std::collections::BTreeMap;
use std::fs::OpenOptions;
use std::path::Path;
use tempfile::TempDir;

/// A damaged journal, read around the damage. It works on a copy.
pub(crate) struct Salvage {
    connection: Option<Connection>,
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
            Ok(connection) => salvage.connection = Some(connection),
            Err(error) => salvage.trouble = Some(error.to_string()),
        }
        Ok(salvage)
    }

    /// What is wrong with the file.
    pub fn trouble(&self) -> Option<String> {
        self.trouble.clone()
    }

    /// The names of the jobs that can be found.
    pub fn jobs(&self) -> Vec<JobId> {
        let mut jobs = Vec::new();
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
                jobs.push(JobId::new(&job));
            }
        }
        for all in [
            "SELECT job FROM entries INDEXED BY openings WHERE kind = 'opened' ORDER BY at, job",
            "SELECT job FROM entries INDEXED BY openings WHERE kind = 'opened' ORDER BY at DESC, job DESC",
            "SELECT job FROM entries INDEXED BY closings WHERE kind = 'closed' ORDER BY job",
        ] {
            let Some(Ok(mut statement)) = self.connection.as_ref().map(|it| it.prepare(all)) else {
                continue;
            };
            if let Ok(found) = statement.query_map([], |row| row.get::<_, String>(0)) {
                jobs.extend(found.map_while(Result::ok).map(|job| JobId::new(&job)));
            }
        }
        jobs
    }

    /// The number and hash of a job's last entry, where they can be read.
    pub fn end(&self, job: &JobId) -> Option<(u64, String)> {
        let query = "SELECT seq, hash FROM ends WHERE job = ?1";
        let connection = self.connection.as_ref()?;
        let end = connection.query_row(query, [job.as_str()], |row| {
            Ok((super::unsigned(row.get(0)?), row.get(1)?))
        });
        end.ok()
    }

    fn name(&self, query: &str, from: &str) -> Option<String> {
        let connection = self.connection.as_ref()?;
        connection.query_row(query, [from], |row| row.get(0)).ok()?
    }

    /// The entries of a job that can be read, in order.
    pub fn rows(&self, job: &JobId) -> Vec<Row> {
        let mut rows = BTreeMap::new();
        let backwards = ALL.replace("ORDER BY seq", "ORDER BY seq DESC");
        for query in [ALL, &backwards] {
            let Some(Ok(mut statement)) = self.connection.as_ref().map(|it| it.prepare(query))
            else {
                continue;
            };
            if let Ok(found) = statement.query_map(params![job.as_str()], row) {
                rows.extend(found.map_while(Result::ok).map(|row| (row.seq, row)));
            }
        }
        rows.into_values().collect()
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
