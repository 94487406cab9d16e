//! JSON with its schema, and CSV.

use crate::harness::{Bay, HOSTILE, Way};
use report::JobReport;
use steps::Mode;

#[test]
fn the_schema_in_the_repository_is_that_of_the_model() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/report.schema.json");
    let schema = serde_json::to_string_pretty(&JobReport::schema()).unwrap() + "\n";
    if std::env::var_os("UPDATE_SCHEMA").is_some() {
        std::fs::write(path, &schema).unwrap();
    }
    let kept = std::fs::read_to_string(path).unwrap();
    assert_eq!(kept, schema, "run with UPDATE_SCHEMA=1");
    // Each field says what it is, and in what unit where it has one.
    let schema: serde_json::Value = serde_json::from_str(&kept).unwrap();
    let types = schema["$defs"].as_object().unwrap().values();
    for one in types.chain([&schema]) {
        for (name, field) in one["properties"].as_object().into_iter().flatten() {
            assert!(
                field["description"].is_string(),
                "{name} has no description"
            );
        }
    }
}

#[test]
fn json_holds_all_that_the_report_holds() {
    let bay = Bay::new();
    for (mode, way) in [(Mode::Work, Way::Deferred), (Mode::Rehearsal, Way::GivenUp)] {
        let report = bay.report(&bay.work(mode, way, &[HOSTILE, ""]));
        let back: JobReport = serde_json::from_str(&report.json().unwrap()).unwrap();
        assert_eq!(back, report);
    }
}

#[test]
fn a_report_reads_like_this() {
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Deferred, &["the boot is split"]);
    let mut report = bay.report(&id);
    // Hashes follow from the program's every detail.
    let head = std::mem::replace(&mut report.proof.head, "(its hash)".to_owned());
    report.proof.verified = report.proof.verified.replace(&head, "(its hash)");
    report.proof.procedure_sha256 = "(its hash)".to_owned();
    report.proof.program = "(its version)".to_owned();
    insta::assert_snapshot!("json", report.json().unwrap());
    insta::assert_snapshot!("csv", report.csv().unwrap());
}

#[test]
fn csv_is_one_table_and_no_cell_is_a_formula() {
    let bay = Bay::new();
    let id = bay.work(
        Mode::Work,
        Way::Finished,
        &[HOSTILE, "two\nlines, \"quoted\""],
    );
    let text = bay.report(&id).csv().unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let columns = reader.headers().unwrap().clone();
    assert_eq!(columns.len(), 14);
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let at = |row: &csv::StringRecord, name: &str| {
        let place = columns.iter().position(|it| it == name).unwrap();
        row[place].to_owned()
    };
    for row in &rows {
        assert!(
            row.iter().all(|cell| !cell.starts_with(['=', '+', '@'])),
            "{row:?}"
        );
    }
    let kinds = |kind: &str| rows.iter().filter(|row| at(row, "kind") == kind).count();
    assert_eq!(
        (kinds("torque"), kinds("reading"), kinds("note")),
        (1, 1, 2)
    );
    let reading = rows
        .iter()
        .find(|row| at(row, "kind") == "reading")
        .unwrap();
    let wanted = [
        ("value", "1.4"),
        ("unit", "mm"),
        ("least_allowed", "1.6"),
        ("most_allowed", ""),
        ("verdict", "out-of-limits"),
    ];
    for (name, value) in wanted {
        assert_eq!(at(reading, name), value);
    }
}
