//! The description and the server, held against one another by Schemathesis, which makes up requests from the
//! description and looks whether the answers are as it says.

use super::harness::{Bay, Records, wash};
use page::{Limits, Rate};
use std::path::PathBuf;
use std::process::Command;

/// Requests that are made up for each route, and from where chance begins.
const EXAMPLES: &str = "20";
const SEED: &str = "1";

/// The program, in the Python environment of the tests.
fn program() -> PathBuf {
    let cache = cache::folder().expect("no home folder is set: set SAYBACK_CACHE");
    let program = cache.join("venv/bin/schemathesis");
    assert!(
        program.exists(),
        "{} is missing: run `cargo xtask setup`",
        program.display()
    );
    program
}

#[test]
fn the_server_answers_as_it_is_described() {
    let records = Records::new();
    let archive = records.archive.clone();
    let much = Rate {
        at_once: u32::MAX,
        a_second: u32::MAX,
    };
    let limits = Limits {
        requests: much,
        doings: much,
        ..Limits::default()
    };
    let (ask, asked) = crossbeam_channel::unbounded();
    let bay = Bay::with(|room| {
        room.with_records(archive)
            .with_procedures(|| vec![wash()])
            .with_limits(limits)
            .with_actions(ask)
    });
    // Once with any name, once with those that there are.
    check(&bay, "");
    check(
        &bay,
        &format!(
            "[parameters]\n\"path.name\" = \"{}\"\n\"path.id\" = \"wash-van\"\n\"path.number\" = 1\n",
            records.job
        ),
    );
    assert!(
        asked.try_iter().count() > 0,
        "what is harmless was let through"
    );
    assert!(records.archive.report(&records.job).unwrap().whole);
}

/// No schema can say that bytes are a picture, so chance never makes one.
const PHOTOS: &str = r#"
[[operations]]
include-path = "/api/jobs/{name}/notes/{number}/photo"
[operations.checks.positive_data_acceptance]
enabled = false
"#;

fn check(bay: &Bay, settings: &str) {
    let folder = tempfile::tempdir().unwrap();
    let settings = format!("{settings}{PHOTOS}");
    std::fs::write(folder.path().join("schemathesis.toml"), settings).unwrap();
    let ran = Command::new(program())
        .current_dir(folder.path())
        .arg("run")
        .arg(format!("{}/api/openapi.json", bay.origin()))
        .args(["--header", &format!("Origin: {}", bay.origin())])
        .args(["--header", &format!("Cookie: {}", bay.cookie())])
        // It has no end; following it has its own tests.
        .args(["--exclude-path", "/api/events"])
        .args(["--max-examples", EXAMPLES, "--seed", SEED, "--workers", "1"])
        .arg("--no-color")
        .output()
        .unwrap();
    assert!(
        ran.status.success(),
        "{}\n{}",
        String::from_utf8_lossy(&ran.stdout),
        String::from_utf8_lossy(&ran.stderr)
    );
}
