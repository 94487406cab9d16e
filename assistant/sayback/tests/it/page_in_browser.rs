//! The program's pages in a real browser: the records and procedures, and a whole job that is driven by sound while it
//! is watched. The scripts are those of `assistant/page/tests/browser`; what they need is placed by `cargo xtask setup`.

use record::{Archive, JournaledJob};
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use steps::{Certainty, Command as Spoken, Heard, Input, Moment, Settings};

/// Runs the script in Node.js; it tells what is amiss.
fn looked_at(which: &str, folder: &Path) {
    let browser = Path::new(env!("CARGO_MANIFEST_DIR")).join("../page/tests/browser");
    let output = Command::new("node")
        .arg(browser.join("program.mjs"))
        .arg(which)
        .arg(env!("CARGO_BIN_EXE_sayback"))
        .arg(folder)
        .output()
        .unwrap_or_else(|error| panic!("node: {error}; run `cargo xtask setup`"));
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "{told}\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    println!("{told}");
}

fn said(command: Spoken, words: &str) -> Input {
    Input::Said {
        command,
        heard: Heard {
            words: words.to_owned(),
            certainty: Certainty::Sure,
            evidence: None,
            sound: None,
        },
    }
}

/// A job with a note, in nobody's hands.
fn recorded(folder: &Path) {
    let archive = Archive::open(folder).unwrap();
    let procedure = sayback::library::Shelf::Shipped
        .load("trailer-hub")
        .unwrap();
    let at = Moment(1_772_409_600_000);
    let (mut worked, _) =
        JournaledJob::begin(&archive, Arc::new(procedure), Settings::default(), at).unwrap();
    let words = "the plug is <b>cracked</b>";
    let noted = Spoken::Dictation {
        words: words.to_owned(),
    };
    for input in [said(Spoken::Note, "note"), said(noted, words)] {
        worked.take(input, at).unwrap();
    }
}

#[test]
fn records_and_procedures_are_read_and_a_photo_is_added() {
    let records = tempfile::tempdir().unwrap();
    recorded(records.path());
    looked_at("papers", records.path());
}

#[test]
fn a_whole_job_is_on_the_page_as_it_is_said() {
    looked_at(
        "whole-job",
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."),
    );
}
