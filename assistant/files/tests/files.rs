//! Whatever a name may lead to.
#![cfg(unix)]

use files::{FileError, IfThere, Output, read, read_below, read_text, write};
use std::io::Write;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::Command;

fn pipe(folder: &Path) -> PathBuf {
    let path = folder.join("pipe");
    assert!(
        Command::new("mkfifo")
            .arg(&path)
            .status()
            .unwrap()
            .success()
    );
    path
}

#[test]
fn pipes_devices_folders_and_what_never_ends_are_refused_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let endless = folder.path().join("endless.wav");
    symlink("/dev/zero", &endless).unwrap();
    for (path, what) in [
        (pipe(folder.path()), "is a pipe"),
        (PathBuf::from("/dev/zero"), "is a device"),
        (endless, "is a device"),
        (folder.path().to_owned(), "is a folder"),
    ] {
        let told = read(&path, 1_000).unwrap_err().to_string();
        assert!(
            told.contains(what) && told.contains(path.to_str().unwrap()),
            "{told}"
        );
        let told = write(&path, b"x", IfThere::Replace)
            .unwrap_err()
            .to_string();
        assert!(told.contains(what) || told.contains("is a link"), "{told}");
    }
    let told = read(&folder.path().join("none"), 1).unwrap_err();
    assert!(told.is_missing(), "{told}");
}

#[test]
fn no_more_is_read_than_is_allowed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("list");
    std::fs::write(&path, "seven b").unwrap();
    assert_eq!(read(&path, 7).unwrap(), b"seven b");
    assert!(matches!(
        read(&path, 6),
        Err(FileError::TooLarge { most: 6, .. })
    ));
    std::fs::write(&path, b"a\nb\xffc").unwrap();
    let told = read_text(&path, 10).unwrap_err().to_string();
    assert!(told.contains("byte 3, in line 2"), "{told}");
}

#[test]
fn a_link_may_lead_about_a_folder_but_not_out_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let (home, outside) = (folder.path().join("home"), folder.path().join("secret"));
    std::fs::create_dir_all(home.join("parts")).unwrap();
    std::fs::write(&outside, "secret").unwrap();
    std::fs::write(home.join("plain"), "plain").unwrap();
    symlink(&outside, home.join("parts/out")).unwrap();
    symlink("../plain", home.join("parts/in")).unwrap();
    symlink(folder.path(), home.join("above")).unwrap();
    let below = |name: &str| read_below(&home, Path::new(name), 100);
    assert_eq!(below("plain").unwrap(), b"plain");
    assert_eq!(below("parts/in").unwrap(), b"plain");
    for name in ["parts/out", "above/secret"] {
        assert!(
            matches!(below(name), Err(FileError::Elsewhere { .. })),
            "{name}"
        );
    }
}

#[test]
fn nothing_is_written_through_a_link_and_nothing_over_a_file_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let (target, link) = (folder.path().join("target"), folder.path().join("link"));
    std::fs::write(&target, "kept").unwrap();
    symlink(&target, &link).unwrap();
    let dangling = folder.path().join("dangling");
    symlink(folder.path().join("nowhere"), &dangling).unwrap();
    for path in [&link, &dangling] {
        for how in [IfThere::Keep, IfThere::Refuse, IfThere::Replace] {
            let told = write(path, b"new", how);
            assert!(matches!(told, Err(FileError::Link(_))), "{told:?}");
        }
    }
    let told = write(&target, b"new", IfThere::Refuse).unwrap_err();
    assert!(told.to_string().contains("--overwrite"), "{told}");
    assert_eq!(std::fs::read(&target).unwrap(), b"kept");
    write(&target, b"new", IfThere::Replace).unwrap();
    assert_eq!(std::fs::read(&target).unwrap(), b"new");
    // Three links and the file: nothing was left beside them.
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 3);
}

#[test]
fn a_file_that_came_meanwhile_is_kept_and_rights_stay() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("answers.wav");
    let mut output = Output::begin(&path, IfThere::Refuse).unwrap();
    output.file().write_all(b"new").unwrap();
    std::fs::write(&path, "somebody's").unwrap();
    assert!(matches!(output.put(), Err(FileError::Exists { .. })));
    assert_eq!(std::fs::read(&path).unwrap(), b"somebody's");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).unwrap();
    write(&path, b"new", IfThere::Replace).unwrap();
    assert_eq!(std::fs::metadata(&path).unwrap().mode() & 0o777, 0o640);
}
