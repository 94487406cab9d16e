//! A program that is killed loses nothing that it acknowledged, and a disk that refuses to write is said
//! to and waited for.
//!
//! The child is this very test program, started anew on [`the_child`]. It is killed from outside (SIGKILL)
//! at times spread over its work, and, where `strace` is there, at the entry of each single system call
//! that writes.

use crate::harness::*;
use record::{Archive, IfChanged, JournaledJob, RecordError};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;
use steps::{Input, Mode, Outcome};

/// Tells the child where its records are.
const FOLDER: &str = "RECORD_TEST_FOLDER";

/// Tells the child to stay where it is once the job is begun.
const STAYS: &str = "RECORD_TEST_STAYS";

/// The calls that make SQLite's journal, and a record's folders.
const WRITES: &str = "write,pwrite64,fdatasync,fsync,ftruncate,unlink,mkdir";

/// Works the whole job, and says so each time that an input was taken.
#[test]
#[ignore = "the program that the other tests start and kill"]
fn the_child() {
    let Some(folder) = std::env::var_os(FOLDER) else {
        return;
    };
    let mut out = std::io::stdout();
    let mut say = |words: &str| {
        out.write_all(format!("{words}\n").as_bytes()).unwrap();
        out.flush().unwrap();
    };
    let mut patient = |what: &mut dyn FnMut() -> Result<(), RecordError>| {
        for _ in 0..50 {
            match what() {
                Ok(()) => return say("taken"),
                Err(error) => {
                    assert!(error.can_be_tried_again(), "{error}");
                    say(&format!("refused: {}", steps::with_causes(&error)));
                }
            }
        }
        panic!("it never worked");
    };
    let mut worked = None;
    let mut archive = None;
    patient(&mut || {
        if archive.is_none() {
            archive = Some(Archive::open(Path::new(&folder))?);
        }
        if let Some(archive) = &archive {
            worked = Some(
                JournaledJob::begin(archive, procedure(TEXT), steps::Settings::default(), at(0))?.0,
            );
        }
        Ok(())
    });
    let mut worked = worked.unwrap();
    while std::env::var_os(STAYS).is_some() {
        std::thread::park();
    }
    for (number, input) in whole_job().into_iter().enumerate() {
        patient(&mut || {
            let before = worked.job().digest();
            let done = worked.take(input.clone(), at(10 * (number as u64 + 1)));
            if done.is_err() {
                assert_eq!(worked.job().digest(), before, "it took what isn't on disk");
            }
            done.map(drop)
        });
    }
}

fn child(folder: &Path, strace: &[&str]) -> Child {
    command(folder, strace).spawn().unwrap()
}

fn command(folder: &Path, strace: &[&str]) -> Command {
    let program = std::env::current_exe().unwrap();
    let mut command = match strace {
        [] => Command::new(program),
        [..] => {
            let mut command = Command::new("strace");
            command
                .args(["-f", "-qq", "-o", "/dev/null"])
                .args(strace)
                .arg(program);
            command
        }
    };
    command
        .args([
            "--ignored",
            "--exact",
            "kills::the_child",
            "--nocapture",
            "--test-threads=1",
        ])
        .env(FOLDER, folder)
        .env("RUST_BACKTRACE", "0")
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    command
}

/// How many inputs the child said it had taken, and what it was refused, up to its end.
fn listen(child: &mut Child) -> (usize, Vec<String>) {
    let out = child.stdout.take().unwrap();
    let lines: Vec<String> = BufReader::new(out).lines().map_while(Result::ok).collect();
    // The test program may put words of its own before the first one.
    let taken = lines.iter().filter(|line| line.ends_with("taken")).count();
    let refused = lines
        .iter()
        .filter_map(|line| Some(line.split_once("refused: ")?.1.to_owned()))
        .collect();
    (taken, refused)
}

fn all_inputs() -> Vec<Input> {
    std::iter::once(Input::Begin).chain(whole_job()).collect()
}

/// Checks what a child left behind that acknowledged so many inputs.
fn look(folder: &Path, acknowledged: usize, when: &str) {
    let archive = Archive::open(folder).unwrap();
    let jobs = archive.jobs().unwrap();
    let Some(job) = jobs.first() else {
        assert_eq!(acknowledged, 0, "{when}: no job");
        return;
    };
    assert_eq!(jobs.len(), 1, "{when}");
    let on_disk: Vec<Input> = rusqlite::Connection::open(folder.join(record::sqlite::FILE))
        .unwrap()
        .prepare("SELECT event ->> 'input' FROM entries WHERE kind = 'input' ORDER BY seq")
        .unwrap()
        .query_map([], |row| row.get::<_, String>(0))
        .unwrap()
        .map(|text| serde_json::from_str(&text.unwrap()).unwrap())
        .collect();
    // Every acknowledged one is there, none twice, and at most the one that was under way besides.
    assert_eq!(on_disk, all_inputs()[..on_disk.len()], "{when}");
    assert!(
        (acknowledged..=acknowledged + 1).contains(&on_disk.len()),
        "{when}: {acknowledged} acknowledged, {} on disk",
        on_disk.len()
    );
    let verified = archive.verify(&job.id, Some(procedure(TEXT))).unwrap();
    assert!(verified.is_whole(), "{when}: {verified}");
    match JournaledJob::resume(
        &archive,
        &job.id,
        procedure(TEXT),
        IfChanged::Refuse,
        at(9000),
    ) {
        Ok(again) => assert!(again.worked.job().outcome().is_none(), "{when}"),
        Err(RecordError::Closed { .. }) => {
            assert_eq!(on_disk.len(), all_inputs().len(), "{when}");
            assert_eq!(
                archive.jobs().unwrap()[0].outcome,
                Some(Outcome::Finished),
                "{when}"
            );
        }
        Err(error) => panic!("{when}: {error}"),
    }
}

#[test]
fn killed_at_any_time_nothing_acknowledged_is_lost() {
    for after in 0..all_inputs().len() {
        for microseconds in [0, 300, 1_500] {
            let folder = tempfile::tempdir().unwrap();
            let mut child = child(folder.path(), &[]);
            let mut out = BufReader::new(child.stdout.take().unwrap());
            let mut taken = 0;
            let mut line = String::new();
            while taken < after && out.read_line(&mut line).unwrap() > 0 {
                taken += usize::from(line.trim_end().ends_with("taken"));
                line.clear();
            }
            std::thread::sleep(Duration::from_micros(microseconds));
            child.kill().unwrap();
            child.wait().unwrap();
            taken += out
                .lines()
                .map_while(Result::ok)
                .filter(|line| line.ends_with("taken"))
                .count();
            look(
                folder.path(),
                taken,
                &format!("after {after}, {microseconds} µs"),
            );
        }
    }
}

#[test]
fn a_lock_goes_with_its_process() {
    let folder = tempfile::tempdir().unwrap();
    let mut child = command(folder.path(), &[]).env(STAYS, "1").spawn().unwrap();
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    while !line.trim_end().ends_with("taken") {
        line.clear();
        assert!(out.read_line(&mut line).unwrap() > 0);
    }
    let archive = Archive::open(folder.path()).unwrap();
    let resume = || {
        let job = archive.jobs().unwrap().remove(0);
        archive.resume(&job.id, procedure(TEXT), IfChanged::Refuse, at(9000))
    };
    assert!(matches!(resume(), Err(RecordError::InUse { .. })));
    child.kill().unwrap();
    child.wait().unwrap();
    resume().unwrap();
}

/// Whether `strace` is there and may be used.
fn strace_works() -> bool {
    let works = Command::new("strace")
        .args(["-f", "-qq", "-o", "/dev/null", "true"])
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success());
    if !works {
        skip("strace isn't there or may not be used; run `cargo xtask setup`");
    }
    works
}

/// Runs the child with a fault at its first, second, … write, until there are no more of them. Gives how
/// many there were.
fn at_every_write(
    fault: &(dyn Fn(usize) -> String + Sync),
    check: &(dyn Fn(&Path, Child, usize) -> bool + Sync),
) -> usize {
    let next = AtomicUsize::new(1);
    let worker = || {
        let mut last = 0;
        loop {
            let point = next.fetch_add(1, Ordering::Relaxed);
            let folder = tempfile::tempdir().unwrap();
            let child = child(folder.path(), &["-e", &fault(point)]);
            if !check(folder.path(), child, point) {
                return last;
            }
            last = point;
        }
    };
    std::thread::scope(|scope| {
        let workers = [scope.spawn(worker), scope.spawn(worker)];
        workers
            .map(|it| it.join().unwrap())
            .into_iter()
            .max()
            .unwrap_or(0)
    })
}

#[test]
fn killed_at_every_single_write_nothing_acknowledged_is_lost() {
    if !strace_works() {
        return;
    }
    let points = at_every_write(
        &|point| format!("inject={WRITES}:signal=KILL:when={point}"),
        &|folder, mut child, point| {
            let (taken, _) = listen(&mut child);
            let finished = child.wait().unwrap().success();
            look(folder, taken, &format!("killed at write {point}"));
            !finished
        },
    );
    println!("killed at each of {points} writes");
    // Every input has at least one write and one sync of its own.
    assert!(points > 2 * all_inputs().len(), "only {points} writes");
}

/// Lets three calls in a row fail, so that a first repetition fails as well, beginning at each in turn. The
/// child must say so in these words each time, and get the whole job on disk in the end.
fn refused_at_every(call: &str, error: &str, most: usize, words: &[&str]) {
    if !strace_works() {
        return;
    }
    let refusals = AtomicUsize::new(0);
    at_every_write(
        &|point| format!("inject={call}:error={error}:when={point}..{}", point + 2),
        &|folder, mut child, point| {
            let (taken, refused) = listen(&mut child);
            assert!(
                child.wait().unwrap().success(),
                "{call} {point}: {refused:?}"
            );
            for refusal in &refused {
                assert!(
                    words.iter().any(|it| refusal.contains(it)),
                    "{call} {point}: {refusal}"
                );
            }
            refusals.fetch_add(refused.len(), Ordering::Relaxed);
            assert_eq!(taken, all_inputs().len(), "{call} {point}");
            let archive = Archive::open(folder).unwrap();
            let mut jobs = archive.jobs().unwrap();
            for job in &jobs {
                let verified = archive.verify(&job.id, Some(procedure(TEXT))).unwrap();
                assert!(verified.is_whole(), "{call} {point}: {verified}");
            }
            // A beginning that was refused may leave a job behind that was only opened. A closing entry
            // that was refused is written when the job is looked for.
            let newest = jobs.remove(0);
            let closed = archive.resume(&newest.id, procedure(TEXT), IfChanged::Refuse, at(9000));
            assert!(
                matches!(closed, Err(RecordError::Closed { .. })),
                "{call} {point}"
            );
            assert!(
                jobs.iter().all(|job| job.outcome.is_none()),
                "{call} {point}"
            );
            point < most
        },
    );
    let refusals = refusals.into_inner();
    println!("{call}, {error}: {refusals} refusals");
    assert!(refusals > all_inputs().len(), "only {refusals}");
}

#[test]
fn a_full_disk_refuses_the_input_and_takes_it_when_there_is_room() {
    refused_at_every("pwrite64", "ENOSPC", 160, &["disk is full"]);
}

#[test]
fn a_disk_that_fails_to_sync_refuses_the_input_until_it_works_again() {
    refused_at_every("fsync", "EIO", 40, &["disk fails", "Input/output error"]);
}

#[test]
fn two_jobs_of_two_programs_do_not_disturb_each_other() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut children: Vec<_> = (0..4).map(|_| child(folder.path(), &[])).collect();
    let mine = work(&archive, Mode::Rehearsal).unwrap();
    for child in &mut children {
        assert_eq!(listen(child), (all_inputs().len(), Vec::new()));
        assert!(child.wait().unwrap().success());
    }
    let jobs = archive.jobs().unwrap();
    assert_eq!(jobs.len(), 5);
    for job in jobs {
        assert_eq!(job.mode == Mode::Rehearsal, job.id == mine);
        assert_eq!(job.outcome, Some(Outcome::Finished));
        assert!(
            archive
                .verify(&job.id, Some(procedure(TEXT)))
                .unwrap()
                .is_whole()
        );
    }
}
