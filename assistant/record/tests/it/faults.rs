//! Folders and files that aren't as they should be.

use crate::harness::*;
use record::{Archive, IfChanged, JournaledJob, RecordError};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use steps::{Input, Mode};

const FILE: &str = record::sqlite::FILE;
const FOLDER: &str = "RECORD_TEST_FOLDER";

#[test]
fn a_file_of_a_newer_program_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    work(&Archive::open(folder.path()).unwrap(), Mode::Work).unwrap();
    let path = folder.path().join(FILE);
    let connection = rusqlite::Connection::open(&path).unwrap();
    connection.pragma_update(None, "user_version", 7).unwrap();
    drop(connection);
    let before = fs::read(&path).unwrap();
    let error = Archive::open(folder.path()).unwrap_err();
    assert!(
        matches!(error, RecordError::Newer { found: 7, .. }),
        "{error}"
    );
    assert!(error.to_string().contains("Use the newer program"));
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn what_is_no_file_of_records_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(FILE);
    fs::write(&path, "Shopping: bread, tea, wheel nuts. ".repeat(100)).unwrap();
    let before = fs::read(&path).unwrap();
    let error = Archive::open(folder.path()).unwrap_err();
    assert!(matches!(error, RecordError::Damaged { .. }), "{error}");
    assert_eq!(fs::read(&path).unwrap(), before);

    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(FILE);
    let other = rusqlite::Connection::open(&path).unwrap();
    other
        .execute_batch("CREATE TABLE recipes (name TEXT)")
        .unwrap();
    drop(other);
    let before = fs::read(&path).unwrap();
    let error = Archive::open(folder.path()).unwrap_err();
    assert!(matches!(error, RecordError::NotOurs { .. }), "{error}");
    assert_eq!(fs::read(&path).unwrap(), before);

    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a-file");
    fs::write(&file, "").unwrap();
    for path in [file.clone(), file.join("below")] {
        let error = Archive::open(&path).unwrap_err();
        assert!(matches!(error, RecordError::Folder { .. }), "{error}");
    }
}

/// Opens records and tells how that went.
#[test]
#[ignore = "the program that a test starts as somebody who may write nothing"]
fn the_reader() {
    if let Some(folder) = std::env::var_os(FOLDER) {
        match Archive::open(Path::new(&folder)) {
            Ok(_) => println!("opened"),
            Err(error) => println!("failed: {error}"),
        }
    }
}

#[cfg(unix)]
#[test]
fn a_read_only_folder_is_said_to_be_one() {
    use std::os::unix::fs::{MetadataExt, PermissionsExt};
    use std::os::unix::process::CommandExt;
    let outer = tempfile::tempdir().unwrap();
    let mode = |path: &Path, bits| {
        fs::set_permissions(path, fs::Permissions::from_mode(bits)).unwrap();
    };
    // Somebody else must be able to get at the program.
    mode(outer.path(), 0o755);
    let program = outer.path().join("program");
    fs::copy(std::env::current_exe().unwrap(), &program).unwrap();
    let root = fs::metadata(&program).unwrap().uid() == 0;

    let empty = outer.path().join("empty");
    fs::create_dir(&empty).unwrap();
    let full = outer.path().join("full");
    work(&Archive::open(&full).unwrap(), Mode::Work).unwrap();
    fs::set_permissions(full.join(FILE), fs::Permissions::from_mode(0o444)).unwrap();
    let below = empty.join("below");
    mode(&empty, 0o555);
    mode(&full, 0o555);
    for folder in [&empty, &full, &below] {
        let mut command = Command::new(&program);
        command
            .args(["--ignored", "--exact", "faults::the_reader", "--nocapture"])
            .env(FOLDER, folder)
            .stderr(Stdio::null());
        if root {
            // Nothing is read-only to root, so somebody else is asked: "nobody" on Linux.
            command.uid(65_534).gid(65_534);
        }
        let said = String::from_utf8(command.output().unwrap().stdout).unwrap();
        assert!(
            said.contains("failed: ") && said.contains("can't be written"),
            "{said}"
        );
    }
    mode(&empty, 0o755);
    mode(&full, 0o755);
}

/// A job half done, as its files lie on the disk when the power fails: all in the write-ahead log. Gives
/// the file's and the log's bytes.
fn power_cut() -> (Vec<u8>, Vec<u8>) {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    for (number, input) in whole_job().into_iter().take(8).enumerate() {
        worked.take(input, at(number as u64 + 1)).unwrap();
    }
    let read = |name: &str| fs::read(folder.path().join(name)).unwrap();
    (read(FILE), read(&format!("{FILE}-wal")))
}

fn inputs_on_disk(folder: &Path) -> i64 {
    rusqlite::Connection::open(folder.join(FILE))
        .unwrap()
        .query_row(
            "SELECT count(*) FROM entries WHERE kind = 'input'",
            [],
            |it| it.get(0),
        )
        .unwrap()
}

#[test]
fn what_a_truncated_or_spoilt_log_still_holds_is_read_and_gone_on_with() {
    let (file, log) = power_cut();
    let mut seen = std::collections::BTreeSet::new();
    let spoil: [&dyn Fn(usize) -> Vec<u8>; 2] = [&|place| log[..place].to_vec(), &|place| {
        let mut log = log.clone();
        log[place] ^= 0xff;
        log
    }];
    for spoilt in spoil {
        for place in (0..log.len()).step_by(1_531) {
            let folder = tempfile::tempdir().unwrap();
            fs::write(folder.path().join(FILE), &file).unwrap();
            fs::write(folder.path().join(format!("{FILE}-wal")), spoilt(place)).unwrap();
            let archive = match Archive::open(folder.path()) {
                Ok(archive) => archive,
                Err(error) => panic!("at {place}: {error}"),
            };
            let Some(job) = archive.jobs().unwrap().pop() else {
                continue;
            };
            let count = inputs_on_disk(folder.path());
            seen.insert(count);
            let verified = archive.verify(&job.id, Some(procedure(TEXT))).unwrap();
            assert!(verified.is_whole(), "at {place}: {verified}");
            let mut again = JournaledJob::resume(
                &archive,
                &job.id,
                procedure(TEXT),
                IfChanged::Refuse,
                at(99),
            )
            .unwrap();
            again.worked.take(Input::Woke, at(100)).unwrap();
        }
    }
    // The places were spread over the whole job.
    assert!(seen.len() >= 8, "{seen:?}");
}

#[test]
fn a_spoilt_page_is_never_taken_for_a_record() {
    let folder = tempfile::tempdir().unwrap();
    let id = work(&Archive::open(folder.path()).unwrap(), Mode::Work).unwrap();
    let whole = Archive::open(folder.path()).unwrap().report(&id).unwrap();
    let file = fs::read(folder.path().join(FILE)).unwrap();
    let mut noticed = 0;
    for place in (0..file.len()).step_by(211) {
        let folder = tempfile::tempdir().unwrap();
        let mut spoilt = file.clone();
        let end = (place + 16).min(spoilt.len());
        spoilt[place..end].iter_mut().for_each(|byte| *byte ^= 0xa5);
        fs::write(folder.path().join(FILE), spoilt).unwrap();
        match Archive::open(folder.path()).and_then(|archive| archive.report(&id)) {
            // It lay where nothing of this job is.
            Ok(report) if report.whole => assert_eq!(report.lines, whole.lines, "at {place}"),
            Ok(report) => {
                noticed += 1;
                assert_eq!(
                    report.lines,
                    whole.lines[..report.lines.len()],
                    "at {place}"
                );
            }
            Err(error) => {
                noticed += 1;
                assert!(!error.to_string().is_empty());
            }
        }
    }
    assert!(noticed > 10, "{noticed}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_disk_that_is_really_full_is_waited_for() {
    let folder = tempfile::tempdir().unwrap();
    let mounted = Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=512k", "none"])
        .arg(folder.path())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success());
    if !mounted {
        return skip("a small disk can't be mounted here");
    }
    let full = || {
        let archive = Archive::open(folder.path())?;
        let mut worked = begin(&archive, Mode::Work);
        // Whatever room there is.
        let ballast = folder.path().join("ballast");
        let mut bytes = vec![0; 1 << 20];
        while let Err(error) = fs::write(&ballast, &bytes) {
            assert_eq!(error.kind(), std::io::ErrorKind::StorageFull);
            bytes.truncate(bytes.len() - 4096);
        }
        let mut refused = Vec::new();
        for (number, input) in whole_job().into_iter().enumerate() {
            let now = at(number as u64 + 1);
            let digest = worked.job().digest();
            if let Err(error) = worked.take(input.clone(), now) {
                assert_eq!(worked.job().digest(), digest);
                let sound = worked.keep_sound(&[0.0; 16_000], "gate").unwrap_err();
                refused.push(error.to_string());
                refused.push(sound.to_string());
                fs::remove_file(&ballast).unwrap();
                worked.take(input, now)?;
            }
        }
        Ok::<_, RecordError>((worked.id().clone(), refused, archive))
    };
    let done = full();
    let verified = done
        .as_ref()
        .map(|(id, _, archive)| archive.verify(id, Some(procedure(TEXT))).unwrap());
    let _ = Command::new("umount").arg("-l").arg(folder.path()).status();
    let (_, refused, _) = done.as_ref().unwrap();
    assert!(verified.unwrap().is_whole());
    assert_eq!(refused.len(), 2, "{refused:?}");
    assert!(refused[0].contains("the disk is full"), "{refused:?}");
    assert!(refused[1].contains("can't be kept"), "{refused:?}");
}
