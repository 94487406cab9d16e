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
mod schema;

use crate::journal::{Ends, Hold, Journal};
use crate::{JobId, RecordError, Row};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use steps::Moment;

/// The file's name in its folder.
pub const FILE: &str = "records.sqlite3";

/// The folder in which the locks lie, one file a job.
const LOCKS: &str = "locks";

/// How long another program's writing is waited for. An entry takes milliseconds.
const PATIENCE: Duration = Duration::from_secs(5);

/// The journal's file, open.
#[derive(Debug)]
pub struct Records {
    path: PathBuf,
    locks: PathBuf,
    durable: Mutex<Connection>,
    quick: Mutex<Connection>,
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
            quick: Mutex::new(quick),
        })
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

fn row(from: &rusqlite::Row<'_>) -> rusqlite::Result<Row> {
    Ok(Row {
        job: JobId::new(&from.get::<_, String>("job")?),
        seq: unsigned(from.get("seq")?),
        at: Moment(unsigned(from.get("at")?)),
        kind: from.get("kind")?,
        event: from.get("event")?,
        reached: from.get("reached")?,
        previous: from.get("previous")?,
        hash: from.get("hash")?,
    })
}

/// SQLite's whole numbers have a sign; ours are kept bit by bit.
fn unsigned(number: i64) -> u64 {
    number.cast_unsigned()
}

impl Journal for Records {
    fn add(&self, row: &Row) -> Result<(), RecordError> {
        let mut connection = locked(&self.durable);
        let mut add = || {
            let transaction =
                connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
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
            transaction.commit()
        };
        add().map_err(|error| self.failed(error))
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

    fn reached(&self, job: &JobId, seq: u64, reached: &str) -> Result<(), RecordError> {
        let connection = locked(&self.quick);
        let keep = || {
            connection
                .prepare_cached(
                    "INSERT INTO newest (job, seq, reached) VALUES (?1, ?2, ?3)
                     ON CONFLICT (job) DO UPDATE SET seq = excluded.seq, reached = excluded.reached",
                )?
                .execute(params![job.as_str(), seq.cast_signed(), reached])
        };
        keep().map_err(|error| self.failed(error))?;
        Ok(())
    }

    fn last_reached(&self, job: &JobId) -> Result<Option<(u64, String)>, RecordError> {
        locked(&self.durable)
            .query_row(
                "SELECT seq, reached FROM newest WHERE job = ?1",
                [job.as_str()],
                |row| Ok((unsigned(row.get(0)?), row.get(1)?)),
            )
            .optional()
            .map_err(|error| self.failed(error))
    }

    fn rows(&self, job: &JobId) -> Result<(Vec<Row>, Option<RecordError>), RecordError> {
        let connection = locked(&self.durable);
        let mut rows = Vec::new();
        let read = |rows: &mut Vec<Row>| {
            let mut statement =
                connection.prepare_cached("SELECT * FROM entries WHERE job = ?1 ORDER BY seq")?;
            for it in statement.query_map([job.as_str()], row)? {
                rows.push(it?);
            }
            Ok(())
        };
        let broken = read(&mut rows).err().map(|error| self.failed(error));
        Ok((rows, broken))
    }

    fn jobs(&self) -> Result<Vec<Ends>, RecordError> {
        let connection = locked(&self.durable);
        let list = || {
            let mut statement = connection.prepare_cached(
                "SELECT *,
                        (SELECT at FROM entries AS newer
                          WHERE newer.job = entries.job ORDER BY seq DESC LIMIT 1) AS last,
                        (SELECT event FROM entries AS closing
                          WHERE closing.job = entries.job AND closing.kind = 'closed') AS closed
                   FROM entries WHERE kind = 'opened' ORDER BY at DESC, job DESC",
            )?;
            statement
                .query_map([], |it| {
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
