//! The page in a real browser: `browser/run.mjs`, driven by Node.js, with the example `glance_server`.
//!
//! What it needs (Chromium, a typeface, Node.js and its packages) is placed by `cargo xtask setup`.

use std::path::{Path, PathBuf};
use std::process::Command;

/// The example, built from what is there now: `cargo test --test browser` alone wouldn't, and an old one shows an old
/// page.
fn glance_server() -> PathBuf {
    let own = std::env::current_exe().unwrap();
    // <target>/<profile>/deps/<this>
    let built = own.ancestors().nth(2).unwrap();
    let mut cargo = Command::new(env!("CARGO"));
    cargo
        .args(["build", "--quiet", "--locked", "--example", "glance_server"])
        .arg("--manifest-path")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml"))
        .arg("--target-dir")
        .arg(built.parent().unwrap());
    if !cfg!(debug_assertions) {
        cargo.arg("--release");
    }
    let status = cargo.status().unwrap();
    assert!(status.success(), "the example glance_server can't be built");
    built
        .join("examples")
        .join(format!("glance_server{}", std::env::consts::EXE_SUFFIX))
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
