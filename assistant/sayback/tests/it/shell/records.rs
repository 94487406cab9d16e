//! What is on record, how it reads, and whether it was changed.

use super::harness::{Bay, run, sayback, text, typed_to_the_end};
use rusqlite::Connection;
use std::process::Command;

/// A bay with one finished rehearsal, and its name.
fn rehearsed() -> (Bay, String) {
    let bay = Bay::new();
    bay.rehearse("trailer-hub", &typed_to_the_end("trailer-hub"))
        .exits(0);
    let id = bay.jobs().remove(0);
    (bay, id)
}

#[test]
fn no_record_is_nothing_wrong() {
    let bay = Bay::of_a_new_shop();
    bay.sayback(&["records"])
        .exits(0)
        .prints("No job is on record.");
    // Also where the usual folder isn't there yet.
    let mut command = Command::new(env!("CARGO_BIN_EXE_sayback"));
    run(command
        .arg("records")
        .env("XDG_DATA_HOME", bay.path("data")))
    .exits(0)
    .prints("No job is on record.");
    assert_eq!(bay.jobs(), Vec::<String>::new());
}

#[test]
fn a_rehearsal_is_marked_as_one_wherever_it_shows() {
    let (bay, id) = rehearsed();
    bay.sayback(&["records"])
        .exits(0)
        .prints("(finished, REHEARSAL)");
    let record = bay.sayback(&["record", &id]).exits(0);
    assert!(record.out.contains("REHEARSAL"), "{}", record.out);
    bay.sayback(&["record", &id, "--journal"])
        .exits(0)
        .prints("rehearsal");
    let json = bay.sayback(&["record", &id, "--json"]).exits(0).json();
    assert_eq!(json["mode"], "rehearsal");
}

#[test]
fn records_in_json_have_their_keys() {
    let (bay, id) = rehearsed();
    let list = bay.sayback(&["records", "--json"]).exits(0).json();
    let job = &list[0];
    assert_eq!(job["id"], id.as_str());
    assert_eq!(job["procedure"], "trailer-hub");
    assert_eq!(job["mode"], "rehearsal");
    assert_eq!(job["outcome"], "finished");
    for key in ["title", "started", "last"] {
        assert!(!job[key].is_null(), "{key} of {job}");
    }
    let record = bay.sayback(&["record", &id, "--json"]).exits(0).json();
    for key in [
        "job",
        "procedure",
        "title",
        "procedure_sha256",
        "opened",
        "head",
        "whole",
    ] {
        assert!(!record[key].is_null(), "{key} of {record}");
    }
    assert_eq!(record["whole"], true);
    assert!(record["lines"].as_array().unwrap().len() > 30);
}

#[test]
fn a_record_that_was_changed_says_so_and_where() {
    let (bay, id) = rehearsed();
    bay.sayback(&["record", &id, "--verify"])
        .exits(0)
        .prints("is whole");
    // Somebody with a general tool for such files makes a torque look better.
    let forger = Connection::open(bay.records().join(record::sqlite::FILE)).unwrap();
    forger
        .execute_batch("DROP TRIGGER entries_stay; DROP TRIGGER entries_stay_the_same;")
        .unwrap();
    let seq: i64 = forger
        .query_row(
            "SELECT seq FROM entries WHERE event LIKE '%\"next\"%' ORDER BY seq LIMIT 1 OFFSET 5",
            [],
            |row| row.get(0),
        )
        .unwrap();
    let changed = forger
        .execute(
            "UPDATE entries SET event = replace(event, 'next', 'what torque') WHERE seq = ?1",
            [seq],
        )
        .unwrap();
    assert_eq!(changed, 1);
    drop(forger);
    bay.sayback(&["record", &id, "--verify"])
        .exits(1)
        .prints(&format!("is not whole: entry {seq}"));
    bay.sayback(&["record", &id])
        .exits(0)
        .prints("THIS RECORD WAS CHANGED");
    let json = bay.sayback(&["record", &id, "--json"]).exits(0).json();
    assert_eq!(json["whole"], false);
}

#[test]
fn a_name_that_is_not_on_record_says_where_the_names_are() {
    let bay = Bay::of_a_new_shop();
    for words in [
        &["record", "9"][..],
        &["record", "9", "--verify"],
        &["record", "9", "--json"],
        &["resume", "9"],
    ] {
        let ran = bay.sayback(words).exits(1).tells("9");
        assert_eq!(ran.out, "");
    }
}

#[test]
fn a_records_folder_that_cannot_be_used_is_named() {
    let bay = Bay::new();
    // A file where the folder should be: refused to everybody, the administrator included.
    let file = bay.file("taken", "this is a file");
    let inside = file.join("records");
    for words in [&["records"][..], &["rehearse", "trailer-hub"]] {
        for folder in [&file, &inside] {
            let words = words.iter().copied().chain(["--records", text(folder)]);
            sayback(words)
                .exits(1)
                .tells("taken")
                .tells("can't be used");
        }
    }
}

#[test]
fn a_file_that_is_no_record_is_left_alone() {
    let bay = Bay::new();
    std::fs::create_dir(bay.records()).unwrap();
    let file = bay.records().join(record::sqlite::FILE);
    std::fs::write(&file, "shopping list: brake cleaner, rags").unwrap();
    bay.sayback(&["records"])
        .exits(1)
        .tells(record::sqlite::FILE);
    let left = std::fs::read_to_string(&file).unwrap();
    assert_eq!(left, "shopping list: brake cleaner, rags");
}
