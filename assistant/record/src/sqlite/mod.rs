//! The journal in one SQLite file.
//!
//! `journal_mode=WAL` with `synchronous=FULL`: an entry that was added is synced to the disk before
//! [`add`](Journal::add) returns (SQLite's manual, "PRAGMA synchronous"). A second connection with
//! `synchronous=NORMAL` keeps what can be worked out again, without waiting for the disk.
//!
//! # Why SQLite?
//!
//! It is one durable and well-tested file. An input is committed before the job acts on it, and the chain of hashes
//! shows where a record was changed.

mod errors;
mod salvage;
mod schema;

pub(crate) use salvage::Salvage;

use crate::journal::{Ends, Hold, Journal, ListPage};
use crate::{JobId, RecordError, Row};
use rusqlite::{Connection, OpenFlags, TransactionBehavior, params};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use steps::Moment;
use tempfile::TempDir;

/// The file's name in its folder.
pub const FILE: &str = "records.sqlite3";

/// The folder in which the locks lie, one file a job.
const LOCKS: &str = "locks";

/// A job's entries.
const ALL: &str = "SELECT job, seq, at, kind, event, reached, previous, hash FROM entries
                    WHERE job = ?1 ORDER BY seq";

/// How long another program's writing is waited for. An entry takes milliseconds.
const PATIENCE: Duration = Duration::from_secs(5);

/// The journal's file, open.
#[derive(Debug)]
pub struct Records {
    path: PathBuf,
    locks: PathBuf,
    durable: Mutex<Connection>,
    /// None where it is only read.
    quick: Option<Mutex<Connection>>,
    /// Whether it has the table of the jobs' ends.
    has_ends: bool,
    /// Where it lies on a medium that SQLite can't read it on: a copy, gone with this.
    _copy: Option<TempDir>,
}

impl Records {
    /// Opens the file in this folder, which is there; makes it when it isn't, and brings an older one up to
    /// the tables of today.
    ///
    /// # Errors
    /// When it can't be written, is damaged, is something else, or was written by a newer program.
    pub fn open(folder: &Path) -> Result<Self, RecordError> {
        let path = folder.join(FILE);
        let locks = folder.join(LOCKS);
        crate::owner_only::make_folder(&locks)
            .map_err(|source| RecordError::of_folder(&locks, source))?;
        // SQLite gives -wal and -shm the rights of this file.
        crate::owner_only::prepare(&path)
            .map_err(|source| RecordError::of_folder(&path, source))?;
        let mut durable = connection(&path, "FULL")?;
        schema::bring_up(&mut durable, &path)?;
        let quick = connection(&path, "NORMAL")?;
        // The file's name must outlive a power cut as well as what is in it.
        sync_folder(folder)?;
        Ok(Self {
            path,
            locks,
            durable: Mutex::new(durable),
            quick: Some(Mutex::new(quick)),
            has_ends: true,
            _copy: None,
        })
    }

    /// Opens the file in this folder to read it, and writes nothing there: also one of an older or newer program, on a
    /// medium that can't be written, or with a write-ahead log that was left behind. Where there is no file, it holds nothing.
    ///
    /// # Errors
    /// When it can't be read, is damaged, or is something else.
    pub fn open_to_read(folder: &Path) -> Result<Self, RecordError> {
        let path = folder.join(FILE);
        let failed = |error| errors::of(&path, &error);
        // A file of no bytes holds as much as none.
        let (connection, copy) = match std::fs::metadata(&path).is_ok_and(|file| file.len() > 0) {
            true => to_read(&path)?,
            false => {
                let mut nothing = Connection::open_in_memory().map_err(failed)?;
                schema::bring_up(&mut nothing, &path)?;
                (nothing, None)
            }
        };
        match schema::look_at(&connection, &path) {
            Ok(_) => {}
            // Its entries may still be of the kind that this program can check.
            Err(newer @ RecordError::Newer { .. }) => {
                connection.prepare(ALL).map_err(|_| newer)?;
            }
            Err(error) => return Err(error),
        }
        let has_ends = connection.table_exists(None, "ends").map_err(failed)?;
        Ok(Self {
            locks: folder.join(LOCKS),
            durable: Mutex::new(connection),
            quick: None,
            has_ends,
            _copy: copy,
            path,
        })
    }

    /// Keeps another end of a job than its last entry: a repair doesn't make an end that was lost look like one.
    pub(crate) fn keep_end(&self, job: &JobId, seq: u64, hash: &str) -> Result<(), RecordError> {
        locked(&self.durable)
            .execute(
                "UPDATE ends SET seq = ?2, hash = ?3 WHERE job = ?1",
                params![job.as_str(), seq.cast_signed(), hash],
            )
            .map_err(|error| self.failed(error))?;
        Ok(())
    }

    fn failed(&self, error: rusqlite::Error) -> RecordError {
        errors::of(&self.path, &error)
    }

    fn lock_of(&self, job: &JobId) -> PathBuf {
        // A job's name that somebody typed must not lead out of the folder.
        let name: String = job
            .as_str()
            .chars()
            .map(|it| if it.is_ascii_alphanumeric() { it } else { '-' })
            .collect();
        self.locks.join(name)
    }
}

/// A connection, with what must be so on each.
fn connection(path: &Path, synchronous: &str) -> Result<Connection, RecordError> {
    let failed = |error| errors::of(path, &error);
    let connection = Connection::open(path).map_err(failed)?;
    connection.busy_timeout(PATIENCE).map_err(failed)?;
    schema::look_at(&connection, path)?;
    connection
        .pragma_update(None, "journal_mode", "WAL")
        .map_err(failed)?;
    connection
        .pragma_update(None, "synchronous", synchronous)
        .map_err(failed)?;
    Ok(connection)
}

/// A connection that writes nothing into the file's folder, and the folder of the copy that it reads where it needs one.
fn to_read(path: &Path) -> Result<(Connection, Option<TempDir>), RecordError> {
    let failed = |error| errors::of(path, &error);
    let log = beside(path, "-wal");
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    if !std::fs::metadata(&log).is_ok_and(|log| log.len() > 0) {
        // Nobody is writing it: SQLite needs no file beside it then (SQLite's manual, "URI Filenames", immutable).
        let uri = format!("file:{}?immutable=1", in_uri(path));
        return Ok((
            Connection::open_with_flags(uri, flags).map_err(failed)?,
            None,
        ));
    }
    // Whoever is writing it has an index of the log there, too.
    if beside(path, "-shm").exists() {
        let connection = Connection::open_with_flags(path, flags).map_err(failed)?;
        connection.busy_timeout(PATIENCE).map_err(failed)?;
        match schema::look_at(&connection, path) {
            Err(RecordError::ReadOnly { .. }) => {}
            Ok(_) | Err(_) => return Ok((connection, None)),
        }
    }
    // The log was left behind, and SQLite would make an index of it.
    let folder = tempfile::tempdir().map_err(|source| RecordError::of_folder(path, source))?;
    let copy = folder.path().join(FILE);
    for (from, to) in [(path, &copy), (&log, &beside(&copy, "-wal"))] {
        std::fs::copy(from, to).map_err(|source| RecordError::of_folder(from, source))?;
    }
    Ok((Connection::open(&copy).map_err(failed)?, Some(folder)))
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// A path as it stands in a URI (RFC 3986).
fn in_uri(path: &Path) -> String {
    let bytes = path.as_os_str().as_encoded_bytes().iter();
    bytes
        .map(|byte| match byte {
            b'/' | b'-' | b'.' | b'_' | b'~' => char::from(*byte).to_string(),
            byte if byte.is_ascii_alphanumeric() => char::from(*byte).to_string(),
            byte => format!("%{byte:02X}"),
        })
        .collect()
}

/// Makes sure that new names in a folder are on disk.
pub(crate) fn sync_folder(folder: &Path) -> Result<(), RecordError> {
    // Windows can't open folders this way, and its file systems keep names in their own journal.
    if cfg!(unix) {
        File::open(folder)
            .and_then(|it| it.sync_all())
            .map_err(|source| RecordError::of_folder(folder, source))?;
    }
    Ok(())
}

/// A thread that died while it held a connection left at most an open transaction, which SQLite rolls back.
fn locked(connection: &Mutex<Connection>) -> MutexGuard<'_, Connection> {
    connection.lock().unwrap_or_else(PoisonError::into_inner)
}

/// An entry, from its columns in the order of [`ALL`] and of the table: looking them up by name takes longer than the rest.
fn row(from: &rusqlite::Row<'_>) -> rusqlite::Result<Row> {
    Ok(Row {
        job: JobId::new(from.get_ref(0)?.as_str()?),
        seq: unsigned(from.get(1)?),
        at: Moment(unsigned(from.get(2)?)),
        kind: from.get(3)?,
        event: from.get(4)?,
        reached: from.get(5)?,
        previous: from.get(6)?,
        hash: from.get(7)?,
    })
}

/// SQLite's whole numbers have a sign; ours are kept bit by bit.
fn unsigned(number: i64) -> u64 {
    number.cast_unsigned()
}

fn add(connection: &mut Connection, rows: &[Row]) -> rusqlite::Result<()> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    for row in rows {
        transaction
            .prepare_cached(
                "INSERT INTO entries (job, seq, at, kind, event, reached, previous, hash)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            )?
            .execute(params![
                row.job.as_str(),
                row.seq.cast_signed(),
                row.at.0.cast_signed(),
                row.kind,
                row.event,
                row.reached,
                row.previous,
                row.hash
            ])?;
    }
    if let Some(last) = rows.last() {
        transaction
            .prepare_cached(
                "INSERT INTO ends (job, seq, hash) VALUES (?1, ?2, ?3)
                 ON CONFLICT (job) DO UPDATE SET seq = excluded.seq, hash = excluded.hash",
            )?
            .execute(params![
                last.job.as_str(),
                last.seq.cast_signed(),
                last.hash
            ])?;
    }
    transaction.commit()
}

impl Journal for Records {
    fn add(&self, rows: &[Row]) -> Result<(), RecordError> {
        add(&mut locked(&self.durable), rows).map_err(|error| self.failed(error))
    }

    fn add_soon(&self, row: &Row) -> Result<(), RecordError> {
        let Some(quick) = &self.quick else {
            return Err(RecordError::ReadOnly {
                path: self.path.clone(),
            });
        };
        add(&mut locked(quick), std::slice::from_ref(row)).map_err(|error| self.failed(error))
    }

    fn has(&self, job: &JobId) -> Result<bool, RecordError> {
        locked(&self.durable)
            .query_row(
                "SELECT EXISTS (SELECT 1 FROM entries WHERE job = ?1)",
                [job.as_str()],
                |row| row.get(0),
            )
            .map_err(|error| self.failed(error))
    }

    fn end(&self, job: &JobId) -> Result<Option<(u64, String)>, RecordError> {
        if !self.has_ends {
            return Ok(None);
        }
        locked(&self.durable)
            .query_row(
                "SELECT seq, hash FROM ends WHERE job = ?1",
                [job.as_str()],
                |row| Ok(Some((unsigned(row.get(0)?), row.get(1)?))),
            )
            .map_err(|error| self.failed(error))
    }

    fn rows(&self, job: &JobId) -> Result<(Vec<Row>, Option<RecordError>), RecordError> {
        let connection = locked(&self.durable);
        let mut rows = Vec::new();
        let read = |rows: &mut Vec<Row>| {
            let mut statement = connection.prepare_cached(ALL)?;
            for it in statement.query_map([job.as_str()], row)? {
                rows.push(it?);
            }
            Ok(())
        };
        let broken = read(&mut rows).err().map(|error| self.failed(error));
        Ok((rows, broken))
    }

    fn jobs(&self, page: &ListPage) -> Result<Vec<Ends>, RecordError> {
        let connection = locked(&self.durable);
        let list = || {
            let mut statement = connection.prepare_cached(
                "SELECT *,
                        (SELECT at FROM entries AS newer
                          WHERE newer.job = entries.job ORDER BY seq DESC LIMIT 1) AS last,
                        (SELECT event FROM entries AS closing
                          WHERE closing.job = entries.job AND closing.kind = 'closed') AS closed
                   FROM entries WHERE kind = 'opened'
                    AND (?1 IS NULL OR at < ?1)
                    AND (?2 IS NULL OR (at, job) < (SELECT at, job FROM entries WHERE job = ?2 AND seq = 0))
                  ORDER BY at DESC, job DESC LIMIT ?3",
            )?;
            let before = page.before.map(|before| before.0.cast_signed());
            let after = page.after.as_ref().map(JobId::as_str);
            // −1 is no limit.
            let most = page.most.and_then(|most| i64::try_from(most).ok());
            statement
                .query_map(params![before, after, most.unwrap_or(-1)], |it| {
                    Ok(Ends {
                        first: row(it)?,
                        last: Moment(unsigned(it.get("last")?)),
                        closed: it.get("closed")?,
                    })
                })?
                .collect::<rusqlite::Result<_>>()
        };
        list().map_err(|error| self.failed(error))
    }

    fn hold(&self, job: &JobId) -> Result<Box<dyn Hold>, RecordError> {
        let path = self.lock_of(job);
        let failed = |source| RecordError::of_folder(&path, source);
        let file = crate::owner_only::file(&path).map_err(failed)?;
        match file.try_lock() {
            Ok(()) => Ok(Box::new(FileLock { file, path })),
            Err(std::fs::TryLockError::WouldBlock) => Err(RecordError::InUse { job: job.clone() }),
            Err(std::fs::TryLockError::Error(source)) => Err(failed(source)),
        }
    }
}

/// A lock of the system's on an open file; it goes with the process, however that ends.
#[derive(Debug)]
struct FileLock {
    file: File,
    path: PathBuf,
}

impl Drop for FileLock {
    fn drop(&mut self) {
        // Closing alone lets go only when no copy of the handle is left: a program that is being started on another
        // thread has one for a moment.
        let _ = self.file.unlock();
    }
}

impl Hold for FileLock {
    fn done(&mut self) {
        // Whoever opened this file just before finds the job closed. A file that stays does no harm.
        let _ = std::fs::remove_file(&self.path);
    }
}
