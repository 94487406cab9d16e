//! The page in a real browser: `browser/run.mjs`, driven by Node.js, with the program `glance_server`.
//!
//! What it needs (Chromium, a typeface, Node.js and its packages) is placed by `cargo xtask setup`.

use crate::http::harness::Records;
use std::path::Path;
use std::process::Command;

#[test]
fn the_page_is_seen_whole_and_true_and_passes_nothing() {
    let run = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser/run.mjs");
    let records = Records::new();
    let output = Command::new("node")
        .arg(run)
        .arg(env!("CARGO_BIN_EXE_glance_server"))
        .arg(records.folder.path())
        .output()
        .unwrap_or_else(|error| panic!("node: {error}; run `cargo xtask setup`"));
    assert!(
        output.status.success(),
        "{}\n{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
}
