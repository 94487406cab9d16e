//! Journals of each format that was ever written, as they were written then. They must be read, replayed and gone on with for
//! ever; nothing in these files is ever changed.

use crate::harness::*;
use record::{Archive, Fault, IfChanged, JobId, JournaledJob, Replay, Row};
use rusqlite::{Connection, params};
use std::path::Path;
use std::sync::Arc;
use steps::{Command, Entry, Mode, Moment, Outcome, Procedure};

const PROCEDURE: &str = include_str!("../golden/procedure.toml");

/// The tables of the first format, as they were made then.
const TABLES_1: &str = "
    PRAGMA application_id = 1398358603;
    PRAGMA user_version = 1;
    CREATE TABLE entries (
        job TEXT NOT NULL, seq INTEGER NOT NULL, at INTEGER NOT NULL, kind TEXT NOT NULL, event TEXT NOT NULL,
        reached TEXT NOT NULL, previous TEXT NOT NULL, hash TEXT NOT NULL,
        PRIMARY KEY (job, seq)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX openings ON entries (at, job) WHERE kind = 'opened';
    CREATE INDEX closings ON entries (job) WHERE kind = 'closed';
    CREATE TRIGGER entries_stay BEFORE DELETE ON entries
        BEGIN SELECT RAISE(ABORT, 'entries of a journal are not deleted'); END;
    CREATE TRIGGER entries_stay_the_same BEFORE UPDATE ON entries
        BEGIN SELECT RAISE(ABORT, 'entries of a journal are not changed'); END;
    CREATE TABLE newest (
        job TEXT NOT NULL PRIMARY KEY, seq INTEGER NOT NULL, reached TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;";

fn lines(text: &str) -> impl Iterator<Item = serde_json::Value> {
    text.lines().map(|line| serde_json::from_str(line).unwrap())
}

/// A folder of records as the first format's program left it.
fn format_1(folder: &Path) {
    let connection = Connection::open(folder.join(record::sqlite::FILE)).unwrap();
    connection.execute_batch(TABLES_1).unwrap();
    for it in lines(include_str!("../golden/format-1.entries.jsonl")) {
        let text = |name: &str| it[name].as_str().unwrap();
        let number = |name: &str| it[name].as_i64().unwrap();
        connection
            .execute(
                "INSERT INTO entries VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                params![
                    text("job"),
                    number("seq"),
                    number("at"),
                    text("kind"),
                    text("event"),
                    text("reached"),
                    text("previous"),
                    text("hash")
                ],
            )
            .unwrap();
    }
    for it in lines(include_str!("../golden/format-1.newest.jsonl")) {
        let values = params![
            it["job"].as_str(),
            it["seq"].as_i64(),
            it["reached"].as_str()
        ];
        connection
            .execute("INSERT INTO newest VALUES (?1, ?2, ?3)", values)
            .unwrap();
    }
}

fn golden() -> Arc<Procedure> {
    procedure(PROCEDURE)
}

fn jobs() -> [JobId; 3] {
    [
        "2026-03-02-trailer-wheel",
        "2026-03-02-trailer-wheel-2",
        "2026-03-02-trailer-wheel-3",
    ]
    .map(JobId::new)
}

#[test]
fn the_first_format_is_read_and_replayed_as_it_lies_and_brought_up() {
    let folder = tempfile::tempdir().unwrap();
    format_1(folder.path());
    let check = |archive: &Archive| {
        for id in jobs() {
            let alone = archive.verify(&id, None).unwrap();
            assert!(
                alone.is_whole() && alone.replay == Replay::NotTried,
                "{alone}"
            );
            let verified = archive.verify(&id, Some(golden())).unwrap();
            assert!(
                verified.is_whole() && verified.replay == Replay::Same,
                "{verified}"
            );
        }
        let [finished, open, given_up] = jobs();
        let report = archive.report_replayed(&finished, golden()).unwrap();
        assert_eq!(report.outcome, Some(Outcome::Finished));
        // What the last input led to lay outside the chain: replaying tells it.
        let lines: Vec<String> = report.journal_lines().collect();
        assert!(
            lines.iter().any(|it| it.contains("not the words")),
            "{lines:#?}"
        );
        assert_eq!(archive.report(&open).unwrap().outcome, None);
        let report = archive.report(&given_up).unwrap();
        assert_eq!(report.outcome, Some(Outcome::Abandoned));
        let text = report.journal_lines().collect::<String>();
        assert!(
            text.contains("wheel off") && text.contains("wheel nuts loose"),
            "{text}"
        );
    };
    let before = std::fs::read(folder.path().join(record::sqlite::FILE)).unwrap();
    check(&Archive::open_to_read(folder.path()).unwrap());
    assert_eq!(
        std::fs::read(folder.path().join(record::sqlite::FILE)).unwrap(),
        before
    );
    check(&Archive::open(folder.path()).unwrap());
    check(&Archive::open_to_read(folder.path()).unwrap());
}

#[test]
fn an_open_job_of_the_first_format_is_gone_on_with() {
    let folder = tempfile::tempdir().unwrap();
    format_1(folder.path());
    let archive = Archive::open(folder.path()).unwrap();
    let [_, id, _] = jobs();
    let now = Moment(NINE + 1000 * 90_000);
    let again = JournaledJob::resume(&archive, &id, golden(), IfChanged::Refuse, now).unwrap();
    let mut worked = again.worked;
    let readback = said(
        Command::Readback {
            gate: "supported".into(),
            colour: worked.job().colour_asked(),
        },
        "trailer rests on two stands and stays put",
    );
    let opened = worked.take(readback, Moment(now.0 + 5_000)).unwrap();
    let is_gate = |it: &steps::Effect| matches!(it, steps::Effect::Write(Entry::GateOpened { .. }));
    assert!(opened.iter().any(is_gate));
    let verified = archive.verify(&id, Some(golden())).unwrap();
    assert!(
        verified.is_whole() && verified.replay == Replay::Same,
        "{verified}"
    );
}

/// A folder of records as the second format's program left it, with the bay's signatures.
fn format_2(folder: &Path) {
    use record::journal::Journal;
    let records = record::sqlite::Records::open(folder).unwrap();
    let rows: Vec<Row> = include_str!("../golden/format-2.jsonl")
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    for job in rows.chunk_by(|one, other| one.job == other.job) {
        records.add(job).unwrap();
    }
}

#[test]
fn the_second_format_is_read_replayed_and_gone_on_with() {
    let folder = tempfile::tempdir().unwrap();
    format_2(folder.path());
    let archive = Archive::open(folder.path()).unwrap();
    let [finished, open, given_up] = jobs();
    for id in jobs() {
        let verified = archive.verify(&id, Some(golden())).unwrap();
        assert!(
            verified.is_whole() && verified.replay == Replay::Same,
            "{verified}"
        );
        // The closed ones are signed to their end; the open one lasted over an hour.
        let signed = verified.signatures.last().expect("it is signed");
        assert!(id == open || signed.entries == verified.entries - 1);
    }
    let outcome = |id| archive.report(id).unwrap().outcome;
    assert_eq!(outcome(&finished), Some(Outcome::Finished));
    assert_eq!(outcome(&given_up), Some(Outcome::Abandoned));
    let now = Moment(NINE + 1000 * 90_000);
    let again = JournaledJob::resume(&archive, &open, golden(), IfChanged::Refuse, now).unwrap();
    assert!(again.worked.job().colour_asked().is_some());
}

#[test]
fn an_end_that_was_cut_off_before_it_was_brought_up_keeps_showing() {
    let folder = tempfile::tempdir().unwrap();
    format_1(folder.path());
    let [_, id, _] = jobs();
    forger(folder.path())
        .execute(
            "DELETE FROM entries WHERE job = ?1 AND seq > 20",
            [id.as_str()],
        )
        .unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let verified = archive.verify(&id, Some(golden())).unwrap();
    assert_eq!(verified.fault, Some((20, Fault::Cut)), "{verified}");
}

#[test]
fn a_forged_end_beside_the_chain_is_not_believed() {
    let folder = tempfile::tempdir().unwrap();
    format_1(folder.path());
    let [id, _, _] = jobs();
    let before = Archive::open_to_read(folder.path())
        .unwrap()
        .report(&id)
        .unwrap();
    let forged =
        r#"{"state":"","entries":[{"entry":"noted","words":"the brake holds","sound":null}]}"#;
    Connection::open(folder.path().join(record::sqlite::FILE))
        .unwrap()
        .execute(
            "UPDATE newest SET seq = 15, reached = ?1 WHERE job = ?2",
            [forged, id.as_str()],
        )
        .unwrap();
    for archive in [
        Archive::open_to_read(folder.path()),
        Archive::open(folder.path()),
    ] {
        assert_eq!(archive.unwrap().report(&id).unwrap().lines, before.lines);
    }
}

#[test]
fn a_newer_programs_journal_verifies_as_a_chain_and_is_not_taken_up() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let worked = begin(&archive, Mode::Work);
    let id = worked.id().clone();
    drop(worked);
    drop(archive);
    // As a later program might: a new field, a new kind of entry, a new input, and tables with more in them.
    let connection = forger(folder.path());
    use record::journal::Journal;
    let (mut rows, _) = record::sqlite::Records::open(folder.path())
        .unwrap()
        .rows(&id)
        .unwrap();
    rows[0].event = rows[0]
        .event
        .replace("\"format\":2", "\"format\":3,\"moon\":\"full\"");
    let mut more = rows[2].clone();
    for (kind, event) in [
        ("weighed", r#"{"event":"weighed","kilograms":1140}"#),
        ("input", r#"{"event":"input","input":{"input":"nodded"}}"#),
        (
            "led-to",
            r#"{"event":"led-to","state":"9:ab","entries":[{"entry":"levelled","by":2}]}"#,
        ),
    ] {
        more.seq += 1;
        (more.kind, more.event) = (kind.to_owned(), event.to_owned());
        rows.push(more.clone());
    }
    let mut previous = String::new();
    connection.execute("DELETE FROM entries", []).unwrap();
    for mut row in rows {
        row.previous = previous;
        row.hash = row.hashed();
        previous = row.hash.clone();
        connection
            .execute(
                "INSERT INTO entries VALUES (?1, ?2, ?3, ?4, ?5, '', ?6, ?7)",
                params![
                    id.as_str(),
                    row.seq as i64,
                    row.at.0 as i64,
                    row.kind,
                    row.event,
                    row.previous,
                    row.hash
                ],
            )
            .unwrap();
    }
    connection
        .execute("UPDATE ends SET seq = 5, hash = ?1", [&previous])
        .unwrap();
    connection
        .execute_batch("CREATE TABLE scales (id TEXT) STRICT;")
        .unwrap();

    let verified = Archive::open(folder.path())
        .unwrap()
        .verify(&id, None)
        .unwrap();
    assert!(verified.is_whole(), "{verified}");
    assert_eq!(
        (verified.entries, verified.newer, verified.replay),
        (6, 3, Replay::NotTried)
    );
    let error = Archive::open(folder.path())
        .unwrap()
        .resume(&id, procedure(TEXT), IfChanged::GoOn, at(9))
        .unwrap_err();
    assert!(error.to_string().contains("newer program"), "{error}");
    // Also where the tables themselves are newer: to be read only.
    connection.pragma_update(None, "user_version", 7).unwrap();
    drop(connection);
    assert!(Archive::open(folder.path()).is_err());
    let archive = Archive::open_to_read(folder.path()).unwrap();
    assert!(archive.verify(&id, None).unwrap().is_whole());
    assert!(
        archive
            .report(&id)
            .unwrap()
            .verified
            .contains("newer program")
    );
}
