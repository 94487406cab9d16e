//! What is kept of a job can be read by its owner only.
#![cfg(unix)]

use super::harness::*;
use record::{Archive, others_can_read};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

/// All below a folder, itself too, with their rights.
fn rights(below: &Path, found: &mut Vec<(String, u32)>) {
    let about = std::fs::metadata(below).unwrap();
    found.push((
        below.display().to_string(),
        about.permissions().mode() & 0o777,
    ));
    if about.is_dir() {
        for entry in std::fs::read_dir(below).unwrap() {
            rights(&entry.unwrap().path(), found);
        }
    }
}

#[test]
fn other_accounts_can_read_nothing_of_a_new_shop() {
    let folder = tempfile::tempdir().unwrap();
    let shop_folder = folder.path().join("deep/records");
    let shop = Archive::open(&shop_folder).unwrap();
    let worked = begin(&shop, steps::Mode::Work);
    worked.keep_sound(&[0.0; 160], "readback").unwrap();
    // While it is open, so that SQLite's other two files are there.
    let mut found = Vec::new();
    rights(&folder.path().join("deep"), &mut found);
    assert!(
        found.iter().any(|(path, _)| path.ends_with("-wal")),
        "{found:?}"
    );
    assert!(
        found.iter().any(|(path, _)| path.ends_with(".wav")),
        "{found:?}"
    );
    for (path, mode) in &found {
        assert_eq!(mode & 0o077, 0, "{path} {mode:o}");
    }
    assert!(!others_can_read(&shop_folder));
}

#[test]
fn files_in_a_folder_that_was_open_to_others_are_their_owners_and_the_folder_is_told_of() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
    let shop = Archive::open(folder.path()).unwrap();
    work(&shop, steps::Mode::Rehearsal).unwrap();
    let mut found = Vec::new();
    rights(folder.path(), &mut found);
    for (path, mode) in &found[1..] {
        assert_eq!(mode & 0o077, 0, "{path} {mode:o}");
    }
    assert!(others_can_read(folder.path()));
}
