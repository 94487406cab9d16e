//! A record in plain text.

use crate::small_job::*;
use record::{Archive, IfChanged, JournaledJob};
use report::Summary;
use steps::Mode;

#[test]
fn a_summary_reads_like_this() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    for (mode, name) in [(Mode::Work, "work"), (Mode::Rehearsal, "rehearsal")] {
        let id = work(&archive, mode).unwrap();
        let mut report = archive.report_replayed(&id, procedure(TEXT)).unwrap();
        assert!(report.verified.contains("Replaying them led to the same."));
        // Hashes follow from the program's every detail.
        report.verified = report.verified.replace(&report.head, "(its hash)");
        report.procedure_sha256 = "(its hash)".to_owned();
        report.program = "(its version)".to_owned();
        insta::assert_snapshot!(name, Summary(&report));
    }
}

#[test]
fn a_summary_leaves_nothing_out_and_no_part_without_its_mark() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, Mode::Rehearsal).unwrap();
    let report = archive.report(&id).unwrap();
    let text = Summary(&report).to_string();
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    // The mark stands on top and over each part.
    let parts = text.lines().filter(|it| it.starts_with("---")).count();
    assert_eq!(text.matches("REHEARSAL").count(), parts + 1);
    for words in [
        "1.4 mm, OUT OF LIMITS",
        "wanted 110 N·m, told 110 N·m",
        "CONFIRMED: the trailer stands on stands.",
        "inner rim is bent",
        "heard, unchecked",
        "2026-03-02 09:00:40",
    ] {
        assert!(text.contains(words), "{words} is missing:\n{text}");
    }
}

#[test]
fn a_change_of_the_procedure_and_one_of_the_record_show() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    for (number, input) in whole_job().into_iter().take(6).enumerate() {
        worked.take(input, at(number as u64 + 1)).unwrap();
    }
    let id = worked.id().clone();
    drop(worked);
    let ahead = procedure(&TEXT.replace("Lift the wheel off.", "Pull the wheel off."));
    JournaledJob::resume(&archive, &id, ahead, IfChanged::GoOn, at(9)).unwrap();
    let text = Summary(&archive.report(&id).unwrap()).to_string();
    assert!(text.contains("text changed:"), "{text}");
    assert!(!text.contains("THIS RECORD WAS CHANGED"), "{text}");

    forger(folder.path())
        .execute("UPDATE entries SET at = at + 1 WHERE seq = 5", [])
        .unwrap();
    let text = Summary(&archive.report(&id).unwrap()).to_string();
    assert!(text.contains("THIS RECORD WAS CHANGED"), "{text}");
}
