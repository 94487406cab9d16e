//! Jobs are looked for, and many of them are shown side by side.

use super::harness::{Bay, text};
use record::{Archive, JournaledJob};
use std::sync::Arc;
use steps::{Command, Heard, Input, Moment, Settings};

/// A bay with a job that was begun on 2026-03-02, in which two things were asked.
fn begun() -> Bay {
    let bay = Bay::new();
    let archive = Archive::open(&bay.records()).unwrap();
    let procedure = Arc::new(
        sayback::library::Shelf::Shipped
            .load("trailer-hub")
            .unwrap(),
    );
    let at = |minutes: u64| Moment(1_772_442_000_000 + 60_000 * minutes);
    let mut worked = JournaledJob::begin(&archive, procedure, Settings::default(), at(0))
        .unwrap()
        .0;
    for (number, words) in ["where am i", "where am i"].iter().enumerate() {
        let heard = Heard::typed(words);
        let command = Command::WhereAmI;
        worked
            .take(Input::Said { command, heard }, at(number as u64))
            .unwrap();
    }
    bay
}

#[test]
fn jobs_are_found_by_procedure_day_and_outcome() {
    let bay = begun();
    for (options, found) in [
        (&["--procedure", "trailer-hub"][..], true),
        (&["--procedure", "front-brakes"], false),
        (&["--from", "2026-03-02", "--to", "2026-03-02"], true),
        (&["--to", "2026-03-01"], false),
        (&["--from", "2026-03-03"], false),
        (&["--outcome", "open"], true),
        (&["--outcome", "finished"], false),
        (&["--text", "TRAILER"], true),
        (&["--text", "gearbox"], false),
        (&["--person", "Mara"], false),
    ] {
        let words: Vec<_> = ["records"].iter().chain(options).copied().collect();
        let expected = if found {
            "trailer-hub"
        } else {
            "No job on record matches"
        };
        bay.sayback(&words).exits(0).prints(expected);
    }
    bay.sayback(&["records", "--from", "2026-02-30"])
        .exits(2)
        .tells("no day of the calendar");
    bay.sayback(&["records", "--from", "2026-03-02", "--to", "2026-03-01"])
        .exits(1)
        .tells("earlier day");
}

#[test]
fn many_jobs_are_shown_as_a_table_as_json_and_as_a_picture() {
    let bay = begun();
    let picture = bay.path("picture.svg");
    bay.sayback(&["statistics", "trailer-hub", "--picture", text(&picture)])
        .exits(0)
        .prints("1 job on record");
    assert!(
        std::fs::read_to_string(&picture)
            .unwrap()
            .starts_with("<svg")
    );
    let json = bay
        .sayback(&["statistics", "trailer-hub", "--json"])
        .exits(0)
        .json();
    assert_eq!(
        (&json["procedure"], &json["jobs"]),
        (&"trailer-hub".into(), &1.into())
    );
    bay.sayback(&["statistics", "front-brakes"])
        .exits(0)
        .prints("No job by");
}

#[test]
fn a_job_that_another_program_has_is_refused_in_one_clear_line() {
    let bay = Bay::new();
    let archive = Archive::open(&bay.records()).unwrap();
    let procedure = Arc::new(
        sayback::library::Shelf::Shipped
            .load("trailer-hub")
            .unwrap(),
    );
    let settings = Settings {
        mode: steps::Mode::Rehearsal,
        ..Settings::default()
    };
    let worked = JournaledJob::begin(&archive, procedure, settings, Moment(0))
        .unwrap()
        .0;
    let id = worked.id().to_string();
    bay.sayback(&["resume", &id])
        .exits(1)
        .tells("is open in another program");
    drop(worked);
    bay.sayback(&["resume", &id]).exits(3);
}
