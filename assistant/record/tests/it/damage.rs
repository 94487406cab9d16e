//! Records that can't be written, or are damaged, are read as far as they go.

use crate::harness::*;
use record::{Archive, JobId, Lost, RecordError, Replay, repair};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use steps::Mode;

const FILE: &str = record::sqlite::FILE;

/// Every file in a folder with what is in it, and when it was changed.
fn all(folder: &Path) -> BTreeMap<PathBuf, (Vec<u8>, std::time::SystemTime)> {
    let mut files = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(inside) = folders.pop() {
        for entry in fs::read_dir(inside).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => folders.push(path),
                false => {
                    let changed = fs::metadata(&path).unwrap().modified().unwrap();
                    files.insert(path.clone(), (fs::read(&path).unwrap(), changed));
                }
            }
        }
    }
    files
}

/// Ten finished jobs with a sound each.
fn ten_jobs(folder: &Path) -> Vec<JobId> {
    let archive = Archive::open(folder).unwrap();
    let job = |_| {
        let mut worked = begin(&archive, Mode::Work);
        for (number, mut input) in whole_job().into_iter().enumerate() {
            if let steps::Input::Said { heard, .. } = &mut input
                && number == 3
            {
                heard.sound = Some(worked.keep_sound(&[0.25; 800], "gate").unwrap());
            }
            worked.take(input, at(10 * (number as u64 + 1))).unwrap();
        }
        worked.id().clone()
    };
    (0..10).map(job).collect()
}

#[test]
fn reading_writes_nothing_with_and_without_a_log_left_behind() {
    let folder = tempfile::tempdir().unwrap();
    let (quiet, left) = (
        folder.path().join("quiet"),
        folder.path().join("left behind ?#%"),
    );
    let archive = Archive::open(&quiet).unwrap();
    let id = work(&archive, Mode::Work).unwrap();
    // As a killed program leaves it: its log isn't in the file yet.
    fs::create_dir(&left).unwrap();
    for name in [FILE.to_owned(), format!("{FILE}-wal")] {
        fs::copy(quiet.join(&name), left.join(&name)).unwrap();
    }
    assert!(
        fs::metadata(left.join(format!("{FILE}-wal")))
            .unwrap()
            .len()
            > 0
    );
    drop(archive);
    for folder in [&quiet, &left] {
        let before = all(folder);
        let archive = Archive::open_to_read(folder).unwrap();
        assert_eq!(archive.jobs().unwrap().len(), 1);
        assert!(archive.verify(&id, None).unwrap().is_whole());
        assert_eq!(archive.report(&id).unwrap().lines.len(), 13);
        drop(archive);
        let after: Vec<_> = all(folder)
            .into_keys()
            .filter(|path| !before.contains_key(path))
            .collect();
        assert!(after.is_empty(), "{after:?}");
        assert!(
            before
                .iter()
                .all(|(path, it)| all(folder).get(path) == Some(it))
        );
    }
    let nowhere = folder.path().join("mistyped");
    assert!(matches!(
        Archive::open_to_read(&nowhere),
        Err(RecordError::Folder { .. })
    ));
    assert!(!nowhere.exists());
}

#[cfg(target_os = "linux")]
#[test]
fn a_medium_that_can_not_be_written_is_read() {
    use std::process::Command;
    let folder = tempfile::tempdir().unwrap();
    let (records, medium) = (folder.path().join("records"), folder.path().join("medium"));
    let archive = Archive::open(&records).unwrap();
    let id = work(&archive, Mode::Work).unwrap();
    fs::create_dir(&medium).unwrap();
    let mounted = |args: &[&str]| {
        Command::new("mount")
            .args(args)
            .arg(&medium)
            .status()
            .is_ok_and(|it| it.success())
    };
    if !mounted(&["-t", "tmpfs", "-o", "size=8m", "none"]) {
        return skip("a small disk can't be mounted here");
    }
    // With the log and without it.
    let mut found = Vec::new();
    for log in [true, false] {
        let home = medium.join(log.to_string());
        fs::create_dir(&home).unwrap();
        fs::create_dir(home.join("procedures")).unwrap();
        for entry in fs::read_dir(records.join("procedures")).unwrap() {
            let path = entry.unwrap().path();
            fs::copy(
                &path,
                home.join("procedures").join(path.file_name().unwrap()),
            )
            .unwrap();
        }
        if !log {
            rusqlite::Connection::open(records.join(FILE))
                .unwrap()
                .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
                .unwrap();
        }
        for name in [FILE.to_owned(), format!("{FILE}-wal")] {
            if log || name == FILE {
                fs::copy(records.join(&name), home.join(&name)).unwrap();
            }
        }
    }
    let read_only = mounted(&["-o", "remount,ro"]);
    for log in [true, false] {
        let read = Archive::open_to_read(&medium.join(log.to_string()));
        found.push(
            read.and_then(|it| it.verify(&id, None))
                .map_err(|error| error.to_string()),
        );
    }
    let written = fs::write(medium.join("new"), "").is_ok();
    let _ = Command::new("umount").arg("-l").arg(&medium).status();
    assert!(read_only && !written);
    for verified in found {
        let verified = verified.unwrap();
        assert!(
            verified.is_whole() && verified.replay == Replay::Same,
            "{verified}"
        );
    }
}

/// Repairs a damaged copy, and looks at what came out; gives how many jobs are whole.
fn repaired(damaged: &Path, jobs: &[JobId], what: &str) -> (usize, Vec<Lost>) {
    let folder = tempfile::tempdir().unwrap();
    let new = folder.path().join("new");
    let before = all(damaged);
    let repaired = repair(damaged, &new).unwrap();
    assert_eq!(
        all(damaged),
        before,
        "{what}: the damaged folder was written to"
    );
    let archive = Archive::open_to_read(&new).unwrap();
    let whole = jobs.iter().filter(|id| {
        let verified = archive.verify(id, None);
        let Ok(verified) = verified else { return false };
        // None is called whole that isn't.
        if verified.is_whole() {
            assert!(
                verified.replay == Replay::Same && verified.sounds.is_empty(),
                "{what}: {verified}"
            );
            assert_eq!(verified.entries, 30, "{what}");
        }
        verified.is_whole()
    });
    let whole = whole.count();
    if whole < jobs.len() {
        assert!(
            !repaired.lost.is_empty(),
            "{what}: what is lost isn't named"
        );
    }
    (whole, repaired.lost)
}

/// Ten jobs, and the bytes of the one file that holds them.
fn ten_jobs_in_one_file(folder: &Path) -> (Vec<JobId>, Vec<u8>) {
    let jobs = ten_jobs(folder);
    rusqlite::Connection::open(folder.join(FILE))
        .unwrap()
        .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
        .unwrap();
    (jobs, fs::read(folder.join(FILE)).unwrap())
}

#[test]
fn of_a_damaged_file_every_readable_job_is_brought_into_a_new_folder() {
    let folder = tempfile::tempdir().unwrap();
    let (jobs, file) = ten_jobs_in_one_file(folder.path());
    assert_eq!(
        repaired(folder.path(), &jobs, "undamaged"),
        (10, Vec::new())
    );
    let pages = file.len() / 4096;
    let mut saved = Vec::new();
    for page in 1..pages {
        let mut spoilt = file.clone();
        spoilt[4096 * page..4096 * (page + 1)].fill(0xa5);
        fs::write(folder.path().join(FILE), spoilt).unwrap();
        saved.push(repaired(folder.path(), &jobs, &format!("page {page} of {pages}")).0);
    }
    // A page holds a job or two: most of them come back.
    let mean = saved.iter().sum::<usize>() as f64 / saved.len() as f64;
    println!("of ten jobs {mean:.1} are whole after one of {pages} pages was lost: {saved:?}");
    assert!(mean > 7.0, "{mean}");
    // Cut short.
    let cut = |bytes: usize| {
        fs::write(folder.path().join(FILE), &file[..bytes]).unwrap();
        assert!(Archive::open_to_read(folder.path()).is_err() || bytes == 0);
        repaired(folder.path(), &jobs, &format!("cut to {bytes} bytes"))
    };
    let (half, lost) = cut(4096 * (pages / 2));
    assert!((1..10).contains(&half), "{half}");
    assert!(
        lost[0].to_string().contains("bytes are missing"),
        "{lost:?}"
    );
    // Nothing is left of the journal: the sounds are found, and whose they are.
    let (none, lost) = cut(50);
    assert_eq!(none, 0);
    let orphans = lost.iter().filter(|it| matches!(it, Lost::Orphans { .. }));
    assert_eq!(orphans.count(), 10, "{lost:?}");
}

/// The entries of a job that its record says are whole, and whether it is.
fn looked_at(archive: &Archive, id: &JobId) -> Option<(u64, bool)> {
    let verified = archive.verify(id, None).ok()?;
    Some((verified.entries, verified.is_whole()))
}

#[test]
fn damaged_records_are_listed_and_read_around_the_damage_and_what_is_lost_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let (jobs, file) = ten_jobs_in_one_file(folder.path());
    let pages = file.len() / 4096;
    let spoilt = |page: usize| {
        let mut spoilt = file.clone();
        spoilt[4096 * page..4096 * (page + 1)].fill(0xa5);
        spoilt
    };
    let cut = |pages: usize| file[..4096 * pages].to_vec();
    let mut listed = Vec::new();
    for damaged in (1..pages)
        .map(spoilt)
        .chain([cut(pages / 2), cut(pages - 1)])
    {
        fs::write(folder.path().join(FILE), damaged).unwrap();
        let before = all(folder.path());
        let archive = Archive::open_damaged(folder.path()).unwrap();
        assert!(!archive.lost().is_empty());
        let there = archive.jobs().unwrap();
        listed.push(there.len());
        let named: String = archive.lost().iter().map(ToString::to_string).collect();
        for id in &jobs {
            let is_listed = there.iter().any(|job| job.id == *id);
            match looked_at(&archive, id) {
                Some((30, true)) => assert!(is_listed, "{id} of {there:?}"),
                // Where something is missing, it is named, and so is a job that isn't listed.
                Some((entries, false)) if entries < 30 => {
                    assert!(named.contains(id.as_str()), "{id}: {named}");
                }
                // All of it is there, but not what says that nothing came after.
                Some((30, false)) => {}
                other => {
                    assert!(other.is_none() && !is_listed, "{id}: {other:?}");
                    assert!(named.contains(id.as_str()), "{id}: {named}");
                }
            }
        }
        // The same that a repair brings back.
        let repaired = tempfile::tempdir().unwrap();
        let new = repaired.path().join("new");
        assert_eq!(repair(folder.path(), &new).unwrap().lost, archive.lost());
        let new = Archive::open_to_read(&new).unwrap();
        assert_eq!(new.jobs().unwrap(), there);
        for id in &jobs {
            assert_eq!(looked_at(&new, id), looked_at(&archive, id));
        }
        let error = archive.attach(&jobs[0], None, "boot.png", b"", at(900));
        assert!(error.is_err());
        drop(archive);
        assert_eq!(all(folder.path()), before, "reading wrote something");
    }
    let mean = listed.iter().sum::<usize>() as f64 / listed.len() as f64;
    println!("of ten jobs {mean:.1} are listed: {listed:?}");
    assert!(mean > 7.0, "{mean}");
}

#[test]
fn missing_entries_are_named_by_runs() {
    let lost = |missing: &[u64]| {
        let (job, missing) = (JobId::new("x"), missing.to_vec());
        Lost::Entries { job, missing }.to_string()
    };
    assert_eq!(
        lost(&[0, 4, 5, 6, 9, 10]),
        "entries of job “x” are lost: 0, 4 to 6, 9 to 10"
    );
    assert_eq!(lost(&[]), "all entries of job “x” are lost");
}

#[test]
fn sounds_without_their_journal_are_told_where_jobs_are_listed() {
    let folder = tempfile::tempdir().unwrap();
    let jobs = ten_jobs(folder.path());
    assert_eq!(
        Archive::open_to_read(folder.path())
            .unwrap()
            .orphans()
            .unwrap(),
        []
    );
    for how in ["empty", "gone"] {
        for name in [
            FILE.to_owned(),
            format!("{FILE}-wal"),
            format!("{FILE}-shm"),
        ] {
            let _ = fs::remove_file(folder.path().join(name));
        }
        if how == "empty" {
            fs::write(folder.path().join(FILE), "").unwrap();
        }
        let archive = Archive::open_to_read(folder.path()).unwrap();
        assert!(archive.jobs().unwrap().is_empty());
        let orphans = archive.orphans().unwrap();
        assert_eq!(orphans.len(), jobs.len(), "{how}");
        assert!(
            orphans[0].to_string().contains(jobs[0].as_str()),
            "{how}: {}",
            orphans[0]
        );
    }
}

#[test]
fn a_repair_takes_a_new_folder() {
    let folder = tempfile::tempdir().unwrap();
    ten_jobs(folder.path());
    let error = repair(folder.path(), folder.path()).unwrap_err();
    let told = steps::with_causes(&error);
    assert!(told.contains("it isn't empty"), "{told}");
}
