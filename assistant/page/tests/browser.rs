//! The page in a real browser: `browser/run.mjs`, driven by Node.js, with the example `glance_server`.
//!
//! What it needs (Chromium, a typeface, Node.js and its packages) is placed by `cargo xtask setup`.

use std::path::{Path, PathBuf};
use std::process::Command;

/// The example, beside this test's own program; `cargo test -p page` builds it too.
fn glance_server() -> PathBuf {
    let own = std::env::current_exe().unwrap();
    let built = own.ancestors().nth(2).unwrap().join("examples");
    let program = built.join(format!("glance_server{}", std::env::consts::EXE_SUFFIX));
    assert!(
        program.is_file(),
        "{} is missing: run `cargo build -p page --example glance_server`",
        program.display()
    );
    program
}

#[test]
fn the_page_is_seen_whole_and_true_and_passes_nothing() {
    let run = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser/run.mjs");
    let output = Command::new("node")
        .arg(run)
        .arg(glance_server())
        .output()
        .unwrap_or_else(|error| panic!("node: {error}; run `cargo xtask setup`"));
    assert!(
        output.status.success(),
        "{}\n{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
}
