//! What a record proves, to whom, and on which machine.

use super::harness::{Bay, text, typed_to_the_end};
use std::fs;

/// A bay with a rehearsed job.
fn rehearsed() -> (Bay, String) {
    let bay = Bay::new();
    bay.rehearse("starter-battery", &typed_to_the_end("starter-battery"))
        .exits(0);
    let job = bay.jobs().remove(0);
    (bay, job)
}

#[test]
fn a_job_is_signed_and_says_by_whom() {
    let (bay, job) = rehearsed();
    bay.sayback(&["record", &job, "--verify"])
        .exits(0)
        .prints("is whole")
        .prints("Replaying them led to the same.")
        .prints("is this bay’s.");
    bay.sayback(&["record", &job]).exits(0);
    // Another machine's user has another key.
    let stranger = Bay::new();
    fs::create_dir(stranger.path("config")).unwrap();
    stranger
        .alone(&[
            "record",
            &job,
            "--verify",
            "--records",
            text(&bay.records()),
        ])
        .exits(0)
        .prints("isn't known here");
}

#[test]
fn an_exported_job_is_verified_elsewhere_by_the_bays_public_key() {
    let (bay, job) = rehearsed();
    let (file, key) = (bay.path("job.zip"), bay.path("one.pub"));
    bay.sayback(&["record", &job, "--export", text(&file)])
        .exits(0);
    bay.alone(&["key", "--out", text(&key)]).exits(0);
    bay.sayback(&["record", &job, "--export", text(&file)])
        .exits(1)
        .tells("already");
    let stranger = Bay::new();
    stranger
        .alone(&["verify", text(&file)])
        .exits(0)
        .prints("isn't known here");
    stranger
        .alone(&["verify", text(&file), "--key", text(&key)])
        .exits(0)
        .prints("is the one in");
    // By a key that didn't sign it, it isn't what was asked for.
    let other = stranger.path("other.pub");
    stranger.alone(&["key", "--out", text(&other)]).exits(0);
    stranger
        .alone(&["verify", text(&file), "--key", text(&other)])
        .exits(1)
        .prints("isn't known here");
    // The key is replaced, the job goes on being this bay's, and so is the next one for whoever knew the old key.
    bay.alone(&["key", "--replace", "--bay", "Bay 1"])
        .exits(0)
        .prints("Bay “Bay 1” signs with the key");
    bay.sayback(&["record", &job, "--verify"])
        .exits(0)
        .prints("is this bay’s.");
    bay.rehearse("starter-battery", &typed_to_the_end("starter-battery"))
        .exits(0);
    let next = bay.jobs().into_iter().find(|it| *it != job).unwrap();
    let file = bay.path("next.zip");
    bay.sayback(&["record", &next, "--export", text(&file)])
        .exits(0);
    stranger
        .alone(&["verify", text(&file), "--key", text(&key)])
        .exits(0)
        .prints("Bay “Bay 1” signed")
        .prints("is the one in");
    // What was changed on its way is said to be.
    let mut bytes = fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x55;
    fs::write(&file, bytes).unwrap();
    stranger
        .alone(&["verify", text(&file)])
        .exits(1)
        .tells("can't be used as an exported job");
}

#[test]
fn a_lost_key_is_said_to_be_lost() {
    let (bay, job) = rehearsed();
    fs::remove_file(bay.path("config/sayback/bay/bay.key")).unwrap();
    bay.alone(&["key"]).exits(0).tells("private key is gone");
    // What it signed before is still this bay's, here.
    bay.sayback(&["record", &job, "--verify"])
        .exits(0)
        .prints("is this bay’s.");
}

#[test]
fn a_bay_without_a_usable_key_works_on_unsigned_and_says_so() {
    let (bay, _) = rehearsed();
    fs::write(bay.path("config/sayback/bay/bay.key"), "rust").unwrap();
    bay.rehearse("starter-battery", &typed_to_the_end("starter-battery"))
        .exits(0)
        .tells("Records aren't signed");
    let unsigned = bay.jobs().into_iter().filter(|job| {
        let said = bay.sayback(&["record", job, "--verify"]).exits(0).out;
        said.contains("It is unsigned.")
    });
    assert_eq!(unsigned.count(), 1);
}

#[test]
fn damaged_records_are_brought_into_a_new_folder() {
    let (bay, job) = rehearsed();
    bay.rehearse("starter-battery", &typed_to_the_end("starter-battery"))
        .exits(0);
    let file = bay.records().join(record::sqlite::FILE);
    let whole = fs::read(&file).unwrap();
    fs::write(&file, &whole[..whole.len() - 4096]).unwrap();
    // What can be read is listed and shown, what can't is named, and other commands take no part for the whole.
    let listed = bay.sayback(&["records"]).exits(1);
    assert!(listed.out.contains(&job), "{listed:?}");
    assert!(
        listed
            .told()
            .contains("Lost: the journal's file, records.sqlite3, is damaged"),
        "{listed:?}"
    );
    assert!(listed.told().contains("sayback repair"), "{listed:?}");
    bay.sayback(&["record", &job])
        .exits(0)
        .prints("Hold points")
        .tells("Lost: ");
    bay.sayback(&["statistics", "starter-battery"])
        .exits(1)
        .tells("sayback repair");
    let new = bay.path("new");
    let repaired = bay
        .alone(&["repair", text(&bay.records()), text(&new)])
        .exits(1);
    assert!(
        repaired.out.contains("Lost: ") && repaired.out.contains("entries"),
        "{repaired:?}"
    );
    bay.alone(&["records", "--records", text(&new)])
        .exits(0)
        .prints(&job);
    bay.alone(&["repair", text(&bay.records()), text(&new)])
        .exits(1)
        .tells("it isn't empty");
}

#[test]
fn reading_commands_write_nothing_and_make_no_mistyped_folder() {
    let (bay, job) = rehearsed();
    let names = || {
        let mut names: Vec<_> = fs::read_dir(bay.records())
            .unwrap()
            .map(|it| it.unwrap().file_name())
            .collect();
        names.sort();
        names
    };
    let (before, changed) = (
        names(),
        fs::metadata(bay.records()).unwrap().modified().unwrap(),
    );
    for words in [
        &["records"][..],
        &["record", &job],
        &["record", &job, "--verify"],
        &["report", &job],
        &["statistics", "starter-battery"],
    ] {
        bay.sayback(words).exits(0);
        let mistyped = bay.path("mistyped");
        let mut elsewhere = words.to_vec();
        elsewhere.extend(["--records", text(&mistyped)]);
        let ran = bay.alone(&elsewhere);
        assert_ne!(ran.code, 0, "{words:?}");
        assert!(!mistyped.exists(), "{words:?}");
    }
    assert_eq!(names(), before);
    assert_eq!(
        fs::metadata(bay.records()).unwrap().modified().unwrap(),
        changed
    );
}
