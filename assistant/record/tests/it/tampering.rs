//! A record that was altered says so, and where.

use crate::harness::*;
use record::{Archive, Fault, IfChanged, JobId, RecordError, Replay, Row, Verified};
use rusqlite::{Connection, params};
use std::path::Path;
use steps::{Mode, Moment};

/// A finished job of 16 entries, altered; what checking finds, without the procedure and with it.
fn altered(how: impl FnOnce(&Connection, &JobId)) -> (Verified, Verified) {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, Mode::Work).unwrap();
    assert_eq!(rows(folder.path(), &id).len(), 16);
    let forger = forger(folder.path());
    how(&forger, &id);
    let check = |procedure| archive.verify(&id, procedure).unwrap();
    let found = (check(None), check(Some(procedure(TEXT))));
    let report = archive.report(&id).unwrap();
    assert_eq!(report.whole, found.0.is_whole());
    found
}

fn rows(folder: &Path, id: &JobId) -> Vec<Row> {
    use record::journal::Journal;
    let (rows, broken) = record::sqlite::Records::open(folder)
        .unwrap()
        .rows(id)
        .unwrap();
    assert!(broken.is_none());
    rows
}

/// Puts a row in the place of the one of its number.
fn put(forger: &Connection, row: &Row) {
    forger
        .execute(
            "UPDATE entries SET at = ?3, kind = ?4, event = ?5, reached = ?6, previous = ?7, hash = ?8
              WHERE job = ?1 AND seq = ?2",
            params![
                row.job.as_str(), row.seq as i64, row.at.0 as i64, row.kind, row.event, row.reached,
                row.previous, row.hash
            ],
        )
        .unwrap();
}

fn read(forger: &Connection, id: &JobId) -> Vec<Row> {
    forger
        .prepare("SELECT seq, at, kind, event, reached, previous, hash FROM entries WHERE job = ?1 ORDER BY seq")
        .unwrap()
        .query_map([id.as_str()], |row| {
            Ok(Row {
                job: id.clone(),
                seq: row.get::<_, i64>(0)? as u64,
                at: Moment(row.get::<_, i64>(1)? as u64),
                kind: row.get(2)?,
                event: row.get(3)?,
                reached: row.get(4)?,
                previous: row.get(5)?,
                hash: row.get(6)?,
            })
        })
        .unwrap()
        .map(Result::unwrap)
        .collect()
}

#[test]
fn an_untouched_record_is_whole() {
    let (alone, with_procedure) = altered(|_, _| {});
    assert!(alone.is_whole());
    assert_eq!(alone.replay, Replay::NotTried);
    assert!(with_procedure.is_whole());
    assert_eq!(
        (with_procedure.entries, with_procedure.replay),
        (16, Replay::Same)
    );
}

#[test]
fn a_change_of_any_field_of_any_entry_shows_at_that_entry() {
    for field in [
        "at = at + 1",
        "event = replace(event, '\"', ' \"')",
        "reached = reached || ' '",
    ] {
        for seq in 1..16 {
            let (found, _) = altered(|forger, _| {
                forger
                    .execute(&format!("UPDATE entries SET {field} WHERE seq = {seq}"), [])
                    .unwrap();
            });
            assert_eq!(found.fault, Some((seq, Fault::Changed)), "{field}");
            assert_eq!(found.entries, seq);
            assert!(!found.is_whole());
        }
    }
}

#[test]
fn entries_taken_out_or_exchanged_show() {
    for seq in 1..15 {
        let (found, _) = altered(|forger, _| {
            forger
                .execute("DELETE FROM entries WHERE seq = ?1", [seq])
                .unwrap();
        });
        assert_eq!(found.fault, Some((seq as u64, Fault::Missing)));
    }
    let (found, _) = altered(|forger, id| {
        let rows = read(forger, id);
        put(
            forger,
            &Row {
                seq: 5,
                ..rows[6].clone()
            },
        );
        put(
            forger,
            &Row {
                seq: 6,
                ..rows[5].clone()
            },
        );
    });
    assert_eq!(found.fault, Some((5, Fault::Changed)));
}

#[test]
fn a_forger_who_makes_one_hash_fit_is_found_at_the_next() {
    let (found, _) = altered(|forger, id| {
        let mut row = read(forger, id)[6].clone();
        row.event = row.event.replace("1.4", "1.8");
        row.hash = row.hashed();
        put(forger, &row);
    });
    assert_eq!(found.fault, Some((7, Fault::Unchained)));
}

#[test]
fn a_forger_who_makes_all_hashes_fit_is_found_by_replaying_and_by_the_head() {
    let mut head = String::new();
    // "1.4" is what was heard; a reading within limits would look better.
    let (alone, with_procedure) = altered(|forger, id| {
        let rows = read(forger, id);
        head.clone_from(&rows[15].hash);
        let mut previous = rows[5].hash.clone();
        for mut row in rows.into_iter().skip(6) {
            row.event = row.event.replace("1.4", "1.8");
            row.previous = previous;
            row.hash = row.hashed();
            previous = row.hash.clone();
            put(forger, &row);
        }
    });
    assert!(alone.is_whole(), "{alone}");
    assert_ne!(alone.head, head);
    assert!(!with_procedure.is_whole());
    assert_eq!(with_procedure.replay, Replay::Elsewhere);
    let (seq, fault) = with_procedure.fault.unwrap();
    // Entry 6 puts "1.8?" up as a question, which the state then holds.
    assert_eq!((seq, fault), (6, Fault::Differs));
}

#[test]
fn a_record_of_another_job_can_not_be_passed_off() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, Mode::Rehearsal).unwrap();
    let forger = forger(folder.path());
    forger
        .execute("UPDATE entries SET job = '2026-03-03-trailer-wheel'", [])
        .unwrap();
    let error = archive
        .verify(&JobId::new("2026-03-03-trailer-wheel"), None)
        .unwrap_err();
    assert!(
        matches!(
            error,
            RecordError::NotWhole {
                seq: 0,
                fault: Fault::Changed,
                ..
            }
        ),
        "{error}"
    );
    assert!(matches!(
        archive.verify(&id, None),
        Err(RecordError::NoSuchJob { .. })
    ));
}

#[test]
fn an_end_that_was_cut_off_an_open_job_shows_and_it_is_not_taken_up() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    for input in whole_job().into_iter().take(6) {
        worked.take(input, at(1)).unwrap();
    }
    let id = worked.id().clone();
    drop(worked);
    forger(folder.path())
        .execute("DELETE FROM entries WHERE seq > 5", [])
        .unwrap();
    assert_eq!(
        archive.verify(&id, None).unwrap().fault,
        Some((5, Fault::Cut))
    );
    let error = archive
        .resume(&id, procedure(TEXT), IfChanged::GoOn, at(9))
        .unwrap_err();
    assert!(
        matches!(
            error,
            RecordError::NotWhole {
                seq: 5,
                fault: Fault::Cut,
                ..
            }
        ),
        "{error}"
    );
}

#[test]
fn a_head_kept_elsewhere_shows_an_end_that_was_cut_off_without_a_trace() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, Mode::Work).unwrap();
    let rows = rows(folder.path(), &id);
    let (middle, head) = (&rows[7].hash, &rows[15].hash);
    // A head of any time before is still in the chain.
    for kept in [middle, head, &head.to_uppercase(), &format!(" {head}\n")] {
        assert!(archive.verify_against(&id, kept).unwrap().is_whole());
    }
    let forger = forger(folder.path());
    forger
        .execute_batch("DELETE FROM entries WHERE seq > 9; DELETE FROM newest;")
        .unwrap();
    // The chain alone can't tell.
    assert!(archive.verify(&id, None).unwrap().is_whole());
    let found = archive.verify_against(&id, head).unwrap();
    assert_eq!(found.fault, Some((9, Fault::OtherHead)));
    assert!(!found.is_whole());
    assert!(archive.verify_against(&id, middle).unwrap().is_whole());
    assert!(!archive.verify_against(&id, "").unwrap().is_whole());
}

#[test]
fn the_tables_themselves_refuse_changes() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    work(&archive, Mode::Work).unwrap();
    let connection = Connection::open(folder.path().join(record::sqlite::FILE)).unwrap();
    for change in ["DELETE FROM entries", "UPDATE entries SET at = 0"] {
        let error = connection.execute(change, []).unwrap_err();
        assert!(
            error.to_string().contains("of a journal are not"),
            "{error}"
        );
    }
}

#[test]
fn one_senseless_opening_hides_no_other_job() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let (spoilt, whole) = (
        work(&archive, Mode::Work).unwrap(),
        work(&archive, Mode::Work).unwrap(),
    );
    forger(folder.path())
        .execute(
            "UPDATE entries SET event = '{}' WHERE job = ?1 AND seq = 0",
            [spoilt.as_str()],
        )
        .unwrap();
    let listed: Vec<_> = archive
        .jobs()
        .unwrap()
        .into_iter()
        .map(|job| job.id)
        .collect();
    assert_eq!(listed, [whole]);
    let unlisted = archive.unlisted().unwrap();
    assert_eq!(unlisted.len(), 1);
    assert!(unlisted[0].to_string().contains(spoilt.as_str()));
}
