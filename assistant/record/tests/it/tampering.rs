//! A record that was altered says so, and where.

use crate::evidence::work_with_evidence;
use crate::harness::*;
use record::{Archive, Fault, IfChanged, JobId, RecordError, Replay, Row, Verified};
use rusqlite::{Connection, params};
use std::path::Path;
use steps::{Mode, Moment};

/// A finished job of 30 entries, altered; what checking finds, without the procedure and with it.
fn altered(how: impl FnOnce(&Connection, &JobId)) -> (Verified, Verified) {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, Mode::Work).unwrap();
    assert_eq!(rows(folder.path(), &id).len(), 30);
    let forger = forger(folder.path());
    how(&forger, &id);
    let check = || archive.verify(&id, None).unwrap();
    let with_procedure = check();
    std::fs::remove_dir_all(folder.path().join("procedures")).unwrap();
    let found = (check(), with_procedure);
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
        (30, Replay::Same)
    );
}

#[test]
fn a_change_of_any_field_of_any_entry_shows_at_that_entry() {
    for field in [
        "at = at + 1",
        "event = replace(event, '\"', ' \"')",
        "reached = reached || ' '",
        "previous = previous || '0'",
        "kind = kind || 's'",
    ] {
        for seq in 1..30 {
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
    for seq in 1..29 {
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
        let mut row = read(forger, id)[11].clone();
        row.event = row.event.replace("1.4", "1.8");
        row.hash = row.hashed();
        put(forger, &row);
    });
    assert_eq!(found.fault, Some((12, Fault::Unchained)));
}

#[test]
fn a_forger_who_makes_all_hashes_fit_is_found_by_replaying_and_by_the_head() {
    let mut head = String::new();
    // "1.4" is what was heard; a reading within limits would look better.
    let (alone, with_procedure) = altered(|forger, id| {
        let rows = read(forger, id);
        head.clone_from(&rows[29].hash);
        let mut previous = rows[10].hash.clone();
        for mut row in rows.into_iter().skip(11) {
            row.event = row.event.replace("1.4", "1.8");
            row.previous = previous;
            row.hash = row.hashed();
            previous = row.hash.clone();
            put(forger, &row);
        }
        forger
            .execute("UPDATE ends SET hash = ?1", [&previous])
            .unwrap();
    });
    assert!(alone.is_whole(), "{alone}");
    assert_ne!(alone.head, head);
    assert!(!with_procedure.is_whole());
    assert_eq!(with_procedure.replay, Replay::Elsewhere);
    let (seq, fault) = with_procedure.fault.unwrap();
    // It is taken for "1.8?", a question, which the state then holds.
    assert_eq!((seq, fault), (11, Fault::Differs));
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
        .execute("DELETE FROM entries WHERE seq > 6", [])
        .unwrap();
    assert_eq!(
        archive.verify(&id, None).unwrap().fault,
        Some((6, Fault::Cut))
    );
    let error = archive
        .resume(&id, procedure(TEXT), IfChanged::GoOn, at(9))
        .unwrap_err();
    assert!(
        matches!(
            error,
            RecordError::NotWhole {
                seq: 6,
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
    let (middle, head) = (&rows[7].hash, &rows[29].hash);
    // A head of any time before is still in the chain.
    for kept in [middle, head, &head.to_uppercase(), &format!(" {head}\n")] {
        assert!(archive.verify_against(&id, kept).unwrap().is_whole());
    }
    let forger = forger(folder.path());
    forger
        .execute_batch(
            "DELETE FROM entries WHERE seq > 10;
             UPDATE ends SET seq = 10, hash = (SELECT hash FROM entries WHERE seq = 10);",
        )
        .unwrap();
    // The chain alone can't tell.
    assert!(archive.verify(&id, None).unwrap().is_whole());
    let found = archive.verify_against(&id, head).unwrap();
    assert_eq!(found.fault, Some((10, Fault::OtherHead)));
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
    let forger = forger(folder.path());
    let spoil = |job: &JobId| {
        let sql = "UPDATE entries SET event = '{}' WHERE job = ?1 AND seq = 0";
        forger.execute(sql, [job.as_str()]).unwrap();
    };
    spoil(&spoilt);
    let listed: Vec<_> = archive
        .jobs()
        .unwrap()
        .into_iter()
        .map(|job| job.id)
        .collect();
    assert_eq!(listed, std::slice::from_ref(&whole));
    let unlisted = archive.unlisted().unwrap();
    assert_eq!(unlisted.len(), 1);
    assert!(unlisted[0].to_string().contains(spoilt.as_str()));
    // Nor does it end a page of the list early.
    spoil(&work(&archive, Mode::Work).unwrap());
    let page = record::ListPage {
        most: Some(1),
        ..record::ListPage::default()
    };
    assert_eq!(archive.page(&page).unwrap()[0].id, whole);
}

/// A signed job with a sound and a photo, and another one beside it.
fn two_jobs(folder: &Path) -> Vec<JobId> {
    let (key, _) = record::BayKey::open(&folder.join("key"), "one").unwrap();
    let archive = Archive::open(&folder.join("records"))
        .unwrap()
        .signed_by(key);
    let first = work_with_evidence(&archive);
    let mut open = begin(&archive, Mode::Work);
    for input in whole_job().into_iter().take(4) {
        open.take(input, at(5)).unwrap();
    }
    vec![first, open.id().clone()]
}

/// What checking comes to for each job; what can't be read at all, in words.
fn found(records: &Path, jobs: &[JobId]) -> Vec<Result<Verified, String>> {
    let check = |id| Archive::open_to_read(records)?.verify(id, None);
    jobs.iter()
        .map(|id| check(id).map_err(|error| error.to_string()))
        .collect()
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true => copy(&entry.path(), &to),
            false => drop(std::fs::copy(entry.path(), to).unwrap()),
        }
    }
}

/// Each table, column and row there is, whatever it is called, and each file beside them.
#[test]
fn each_value_each_row_and_each_file_counts_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let jobs = two_jobs(folder.path());
    let (records, spoilt) = (folder.path().join("records"), folder.path().join("spoilt"));
    forger(&records);
    let whole = found(&records, &jobs);
    assert!(whole.iter().all(|it| {
        it.as_ref()
            .is_ok_and(|it| it.is_whole() && it.replay == Replay::Same)
    }));
    let mut tried = 0;
    let mut matters = |what: &str, how: &dyn Fn(&Path)| {
        let _ = std::fs::remove_dir_all(&spoilt);
        copy(&records, &spoilt);
        how(&spoilt);
        tried += 1;
        let now = found(&spoilt, &jobs);
        let noticed = now != whole
            && !now.iter().zip(&whole).all(|(now, whole)| {
                // What is still called whole and replayed must be what it was, with the same sounds and photos.
                now.as_ref().is_ok_and(|it| {
                    it.is_whole() && it.replay == Replay::Same && it.sounds.is_empty()
                }) && now == whole
            });
        assert!(noticed, "{what} isn't noticed: {now:?}");
    };
    let sql = |statement: String| {
        move |folder: &Path| {
            let connection = Connection::open(folder.join(record::sqlite::FILE)).unwrap();
            assert!(
                connection.execute(&statement, []).unwrap() > 0,
                "{statement}"
            );
        }
    };
    let connection = Connection::open(records.join(record::sqlite::FILE)).unwrap();
    let names = |query: &str| -> Vec<String> {
        let mut statement = connection.prepare(query).unwrap();
        statement
            .query_map([], |row| row.get(0))
            .unwrap()
            .map(Result::unwrap)
            .collect()
    };
    let tables = names("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name");
    assert_eq!(tables, ["ends", "entries"]);
    for table in tables {
        let keys = names(&format!(
            "SELECT name FROM pragma_table_info('{table}') WHERE pk > 0 ORDER BY pk"
        ));
        let columns = names(&format!("SELECT name FROM pragma_table_info('{table}')"));
        let row = keys
            .iter()
            .map(|key| format!("quote({key})"))
            .collect::<Vec<_>>()
            .join(" || ', ' || ");
        let rows = names(&format!(
            "SELECT {row} FROM {table} ORDER BY {}",
            keys.join(", ")
        ));
        let is = |row: &str| format!("({}) = ({row})", keys.join(", "));
        for (place, row) in rows.iter().enumerate() {
            for column in &columns {
                let changed = format!(
                    "CASE typeof({column}) WHEN 'integer' THEN {column} + 1000 ELSE {column} || '0' END"
                );
                let statement =
                    format!("UPDATE {table} SET {column} = {changed} WHERE {}", is(row));
                matters(&format!("{table} {row}, {column} changed"), &sql(statement));
            }
            let statement = format!("DELETE FROM {table} WHERE {}", is(row));
            matters(&format!("{table} {row} taken out"), &sql(statement));
            let Some(next) = rows.get(place + 1) else {
                continue;
            };
            // All but its key comes from the next row.
            let others: Vec<&String> = columns.iter().filter(|it| !keys.contains(it)).collect();
            let list = others
                .iter()
                .map(|it| it.as_str())
                .collect::<Vec<_>>()
                .join(", ");
            let statement = format!(
                "UPDATE {table} SET ({list}) = (SELECT {list} FROM {table} WHERE {}) WHERE {}",
                is(next),
                is(row)
            );
            matters(
                &format!("{table} {row} replaced by the next"),
                &sql(statement),
            );
        }
    }
    // A row put in: at a job's end, where it has a free number.
    for job in &jobs {
        let statement = format!(
            "INSERT INTO entries SELECT job, seq + 1, at, kind, event, reached, previous, hash FROM entries
              WHERE job = '{job}' ORDER BY seq DESC LIMIT 1"
        );
        matters(&format!("a row put in behind {job}"), &sql(statement));
    }
    let mut folders = vec![records.clone()];
    let mut files = Vec::new();
    while let Some(inside) = folders.pop() {
        for entry in std::fs::read_dir(inside).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => folders.push(path),
                false => files.push(path.strip_prefix(&records).unwrap().to_owned()),
            }
        }
    }
    for file in files {
        let name = file.to_str().unwrap();
        // The journal's file is looked at above; a lock only keeps two programs apart and says nothing.
        if name.starts_with(record::sqlite::FILE) || name.starts_with("locks") {
            continue;
        }
        matters(&format!("{name} taken away"), &|folder| {
            std::fs::remove_file(folder.join(&file)).unwrap()
        });
        matters(&format!("{name} changed"), &|folder| {
            let path = folder.join(&file);
            let mut bytes = std::fs::read(&path).unwrap();
            let middle = bytes.len() / 2;
            bytes[middle] ^= 1;
            std::fs::write(path, bytes).unwrap();
        });
    }
    println!("{tried} changes, each noticed");
    assert!(tried > 400, "{tried}");
}

/// Entries in memory, as somebody may have altered them.
#[derive(Debug)]
struct InMemory(Vec<Row>, (u64, String));

impl record::journal::Journal for InMemory {
    fn add(&self, _: &[Row]) -> Result<(), RecordError> {
        unreachable!("it is only read")
    }
    fn add_soon(&self, _: &Row) -> Result<(), RecordError> {
        unreachable!("it is only read")
    }
    fn has(&self, _: &JobId) -> Result<bool, RecordError> {
        Ok(true)
    }
    fn end(&self, _: &JobId) -> Result<Option<(u64, String)>, RecordError> {
        Ok(Some(self.1.clone()))
    }
    fn rows(&self, _: &JobId) -> Result<(Vec<Row>, Option<RecordError>), RecordError> {
        Ok((self.0.clone(), None))
    }
    fn jobs(&self, _: &record::ListPage) -> Result<Vec<record::journal::Ends>, RecordError> {
        Ok(Vec::new())
    }
    fn hold(&self, _: &JobId) -> Result<Box<dyn record::journal::Hold>, RecordError> {
        unreachable!("it is only read")
    }
}

/// A number below `most`, from a sequence that is the same in each run (SplitMix64).
fn random(state: &mut u64, most: usize) -> usize {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut it = *state;
    it = (it ^ (it >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    it = (it ^ (it >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((it ^ (it >> 31)) % most as u64) as usize
}

/// Alters entries in one of many ways, as a slip or a forger without the key would. Half the time all hashes are made to fit
/// again, and what is kept beside them, too.
fn alter(rows: &mut Vec<Row>, end: &mut (u64, String), state: &mut u64) {
    let place = random(state, rows.len());
    let other = random(state, rows.len());
    let letter = |text: &mut String, state: &mut u64| {
        let mut letters: Vec<char> = text.chars().collect();
        let new = char::from(b' ' + random(state, 95) as u8);
        match (letters.is_empty(), random(state, 3)) {
            (false, 0) => letters[random(state, text.chars().count())] = new,
            (false, 1) => drop(letters.remove(random(state, text.chars().count()))),
            _ => letters.insert(random(state, letters.len() + 1), new),
        }
        *text = letters.into_iter().collect();
    };
    match random(state, 12) {
        0 => letter(&mut rows[place].event, state),
        1 => letter(&mut rows[place].kind, state),
        2 => letter(&mut rows[place].reached, state),
        3 => letter(&mut rows[place].previous, state),
        4 => letter(&mut rows[place].hash, state),
        5 => rows[place].at = Moment(rows[place].at.0 ^ (1 << random(state, 20))),
        6 => drop(rows.remove(place)),
        7 => rows.swap(place, other),
        8 => rows.insert(place, rows[other].clone()),
        9 => rows.truncate(place),
        10 => rows[place].event = rows[other].event.clone(),
        _ => {
            let mut job = rows[place].job.as_str().to_owned();
            letter(&mut job, state);
            rows[place].job = JobId::new(&job);
        }
    }
    if random(state, 2) == 0 {
        let mut previous = String::new();
        for (seq, row) in rows.iter_mut().enumerate() {
            row.seq = seq as u64;
            row.previous = previous;
            row.hash = row.hashed();
            previous = row.hash.clone();
        }
        *end = (rows.len().saturating_sub(1) as u64, previous);
    }
}

/// The last signature has no other one over it: written in another way it would say the same, and yet be another entry.
#[test]
fn a_signature_is_written_in_one_way_only() {
    let folder = tempfile::tempdir().unwrap();
    let jobs = two_jobs(folder.path());
    let records = folder.path().join("records");
    let whole = rows(&records, &jobs[0]);
    let last = whole.len() - 1;
    let key = whole[last].event.find("\"key\":\"").unwrap() + 7;
    let upper = |text: &str| {
        let place = key
            + text[key..]
                .find(|it: char| it.is_ascii_lowercase())
                .unwrap();
        let letter = text[place..=place].to_ascii_uppercase();
        format!("{}{letter}{}", &text[..place], &text[place + 1..])
    };
    let spaced = |text: &str| text.replacen(':', ": ", 1);
    let more = |text: &str| text.replacen('{', "{\"seen\":true,", 1);
    for how in [&upper as &dyn Fn(&str) -> String, &spaced, &more] {
        let mut rows = whole.clone();
        rows[last].event = how(&rows[last].event);
        rows[last].hash = rows[last].hashed();
        let end = (rows[last].seq, rows[last].hash.clone());
        let archive = Archive::with(&records, std::sync::Arc::new(InMemory(rows, end)));
        let verified = archive.verify(&jobs[0], None).unwrap();
        assert_eq!(verified.fault, Some((last as u64, Fault::Signature)));
    }
}

#[test]
fn of_a_hundred_thousand_random_changes_none_verifies() {
    let folder = tempfile::tempdir().unwrap();
    let jobs = two_jobs(folder.path());
    let ring = record::Keyring::of_bay(&folder.path().join("key")).unwrap();
    let whole = rows(&folder.path().join("records"), &jobs[0]);
    let last = whole.last().unwrap();
    let end = (last.seq, last.hash.clone());
    // Neither sounds nor the procedure are there: the chain and the signature alone have to tell.
    let empty = folder.path().join("empty");
    let verifies = |rows: Vec<Row>, end| {
        let archive = Archive::with(&empty, std::sync::Arc::new(InMemory(rows, end)));
        archive.verify(&jobs[0], None).is_ok_and(|it| {
            let signed = it.signatures.iter().any(|it| ring.whose(&it.key).is_some());
            it.is_whole() && signed && it.signatures.iter().all(|by| by.entries == it.entries - 1)
        })
    };
    assert!(verifies(whole.clone(), end.clone()));
    let (verifies, whole, end) = (&verifies, &whole, &end);
    std::thread::scope(|scope| {
        for worker in 0..2_u64 {
            scope.spawn(move || {
                let mut state = worker;
                let mut tried = 0;
                while tried < 50_000 {
                    let (mut rows, mut kept) = (whole.clone(), end.clone());
                    for _ in 0..=random(&mut state, 3) {
                        if !rows.is_empty() {
                            alter(&mut rows, &mut kept, &mut state);
                        }
                    }
                    // What came out as it was is no change. And what the bay had signed before the photo came is a
                    // record that it signed: only a hash kept elsewhere shows that more came after it.
                    let signed = rows.last().is_some_and(|it| it.kind == "signed");
                    let earlier = signed && whole.starts_with(&rows);
                    if (rows == *whole && kept == *end) || earlier {
                        continue;
                    }
                    tried += 1;
                    let last = rows.last().map(|row| (row.seq, row.kind.clone()));
                    assert!(
                        !verifies(rows, kept),
                        "worker {worker}, change {tried}, which ends with {last:?}"
                    );
                }
            });
        }
    });
}
