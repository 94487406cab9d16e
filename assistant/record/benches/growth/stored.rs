//! Many stored jobs, put into the journal's tables in one transaction. Adding them one by one would take a
//! sync of the disk for each entry.

use crate::harness::{TEXT, at, procedure, said, whole_job};
use record::{Archive, Checkpoint, Event, FORMAT, JobId, PROGRAM, Row};
use rusqlite::{Connection, params};
use std::error::Error;
use std::path::Path;
use steps::{Command, Input, Job, Settings};

/// A job that isn't closed, of so many entries.
pub const LONG: &str = "2026-03-02-long";
pub const LONG_ENTRIES: usize = 10_000;

/// The first of the stored jobs.
pub fn first() -> JobId {
    named(0)
}

fn named(number: usize) -> JobId {
    JobId::new(&format!("2026-03-01-trailer-wheel-{number:06}"))
}

/// Stores this many whole jobs, and the long one.
pub fn jobs(folder: &Path, number: usize) -> Result<(), Box<dyn Error>> {
    drop(Archive::open(folder)?);
    let inputs: Vec<_> = std::iter::once(Input::Begin).chain(whole_job()).collect();
    let whole = worked(&first(), &inputs, true)?;
    let where_am_i = || said(Command::WhereAmI, "where am i");
    // Past the gate, then questions.
    let long: Vec<_> = std::iter::once(Input::Begin)
        .chain(whole_job().into_iter().take(4))
        .chain(std::iter::repeat_with(where_am_i))
        .take(LONG_ENTRIES - 1)
        .collect();
    let mut connection = Connection::open(folder.join(record::sqlite::FILE))?;
    let transaction = connection.transaction()?;
    {
        let mut add = transaction.prepare(
            "INSERT INTO entries (job, seq, at, kind, event, reached, previous, hash)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        )?;
        let mut put = |row: &Row| {
            add.execute(params![
                row.job.as_str(),
                row.seq as i64,
                row.at.0 as i64,
                row.kind,
                row.event,
                row.reached,
                row.previous,
                row.hash
            ])
        };
        for job in 0..number {
            let mut previous = String::new();
            for row in &whole {
                let mut row = Row {
                    job: named(job),
                    previous,
                    ..row.clone()
                };
                row.hash = row.hashed();
                put(&row)?;
                previous = row.hash;
            }
        }
        for row in worked(&JobId::new(LONG), &long, false)? {
            put(&row)?;
        }
    }
    transaction.execute(
        "INSERT INTO ends SELECT job, max(seq), hash FROM entries GROUP BY job",
        [],
    )?;
    transaction.commit()?;
    connection.execute_batch("PRAGMA wal_checkpoint(TRUNCATE)")?;
    Ok(())
}

/// The rows of a job that takes these inputs, ten seconds apart.
fn worked(id: &JobId, inputs: &[Input], closed: bool) -> Result<Vec<Row>, Box<dyn Error>> {
    let procedure = procedure(TEXT);
    let mut job = Job::new(procedure.clone(), Settings::default());
    let mut rows: Vec<Row> = Vec::new();
    let mut add = |event: &Event, seconds: u64| -> Result<(), Box<dyn Error>> {
        let mut row = Row {
            job: id.clone(),
            seq: rows.len() as u64,
            at: at(seconds),
            kind: event.kind().to_owned(),
            event: serde_json::to_string(event)?,
            reached: String::new(),
            previous: rows.last().map(|row| row.hash.clone()).unwrap_or_default(),
            hash: String::new(),
        };
        row.hash = row.hashed();
        rows.push(row);
        Ok(())
    };
    let opened = Event::Opened {
        procedure: procedure.id.clone(),
        title: procedure.title.clone(),
        sha256: procedure.sha256.clone(),
        settings: Settings::default(),
        program: PROGRAM.to_owned(),
        format: FORMAT,
    };
    add(&opened, 0)?;
    let mut seconds = 0;
    for input in inputs {
        seconds += 10;
        let event = Event::Input {
            input: input.clone(),
        };
        add(&event, seconds)?;
        let effects = job.take(input.clone(), at(seconds));
        add(&Event::LedTo(Checkpoint::by(&job, &effects)), seconds)?;
    }
    if closed {
        let outcome = job.outcome().ok_or("the stored job should be finished")?;
        add(&Event::Closed { outcome }, seconds)?;
    }
    Ok(rows)
}
