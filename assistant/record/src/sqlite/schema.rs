//! The tables, and their versions.

use super::errors;
use crate::RecordError;
use rusqlite::{Connection, TransactionBehavior};
use std::path::Path;

/// Marks the file as ours, in its header: "SYBK".
const APPLICATION: i64 = 0x5359_424b;

/// What leads from each version of the tables to the next; the first makes them. A step that was released
/// is never altered: another one is added.
const STEPS: [&str; 2] = ["
    -- What happened, only ever added to.
    CREATE TABLE entries (
        job      TEXT    NOT NULL,
        seq      INTEGER NOT NULL,
        at       INTEGER NOT NULL, -- milliseconds since 1970-01-01T00:00:00Z
        kind     TEXT    NOT NULL,
        event    TEXT    NOT NULL, -- JSON
        reached  TEXT    NOT NULL, -- JSON: where the entry before led to
        previous TEXT    NOT NULL, -- the hash of the entry before
        hash     TEXT    NOT NULL,
        PRIMARY KEY (job, seq)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX openings ON entries (at, job) WHERE kind = 'opened';
    CREATE INDEX closings ON entries (job) WHERE kind = 'closed';
    CREATE TRIGGER entries_stay BEFORE DELETE ON entries
        BEGIN SELECT RAISE(ABORT, 'entries of a journal are not deleted'); END;
    CREATE TRIGGER entries_stay_the_same BEFORE UPDATE ON entries
        BEGIN SELECT RAISE(ABORT, 'entries of a journal are not changed'); END;
    -- Where each job's newest entry led to, until the next entry holds it.
    CREATE TABLE newest (
        job     TEXT    NOT NULL PRIMARY KEY,
        seq     INTEGER NOT NULL,
        reached TEXT    NOT NULL
    ) STRICT, WITHOUT ROWID;
", "
    -- Each job's last entry: an end that was cut off shows. One that was cut off before keeps showing.
    CREATE TABLE ends (
        job  TEXT    NOT NULL PRIMARY KEY,
        seq  INTEGER NOT NULL,
        hash TEXT    NOT NULL
    ) STRICT, WITHOUT ROWID;
    INSERT INTO ends
        SELECT job, seq, hash FROM entries AS last
         WHERE seq = (SELECT max(seq) FROM entries WHERE job = last.job);
    INSERT OR REPLACE INTO ends
        SELECT job, seq, '' FROM newest
         WHERE seq > coalesce((SELECT max(seq) FROM entries WHERE job = newest.job), -1);
    DROP TABLE newest;
"];

/// The version of the tables that this program writes.
pub(super) const VERSION: i64 = STEPS.len() as i64;

/// The version of the file's tables, 0 for a new file; refuses a file that this program may not touch, so
/// it is asked before anything is changed in it.
pub(super) fn look_at(connection: &Connection, path: &Path) -> Result<i64, RecordError> {
    let failed = |error| errors::of(path, &error);
    let number = |pragma: &str| {
        connection
            .pragma_query_value(None, pragma, |row| row.get::<_, i64>(0))
            .map_err(failed)
    };
    let (application, found) = (number("application_id")?, number("user_version")?);
    let tables: i64 = connection
        .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))
        .map_err(failed)?;
    match (application, found, tables) {
        (APPLICATION, found, _) if found > VERSION => Err(RecordError::Newer {
            path: path.to_owned(),
            found,
            known: VERSION,
        }),
        (APPLICATION, found, _) => Ok(found),
        (0, 0, 0) => Ok(0),
        _ => Err(RecordError::NotOurs {
            path: path.to_owned(),
        }),
    }
}

/// Brings the tables up to today's version, all steps or none.
pub(super) fn bring_up(connection: &mut Connection, path: &Path) -> Result<(), RecordError> {
    // Most often it is up to date, and then nothing need wait for whoever is writing.
    if look_at(connection, path)? == VERSION {
        return Ok(());
    }
    let failed = |error| errors::of(path, &error);
    let transaction = connection
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .map_err(failed)?;
    // Another program may have brought it up meanwhile, even to a newer version.
    let found = look_at(&transaction, path)?;
    for step in STEPS.iter().skip(usize::try_from(found).unwrap_or(0)) {
        transaction.execute_batch(step).map_err(failed)?;
    }
    transaction
        .pragma_update(None, "application_id", APPLICATION)
        .map_err(failed)?;
    transaction
        .pragma_update(None, "user_version", VERSION)
        .map_err(failed)?;
    transaction.commit().map_err(failed)
}
