//! A disk that is full, through the whole assistant: it says so, holds, and goes on when there is room.
#![cfg(target_os = "linux")]

use record::{Archive, JournaledJob};
use sayback::library::Shelf;
use sayback::work::conversation::{Conversation, Line, now};
use std::cell::RefCell;
use std::io::ErrorKind;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use steps::{Mode, Settings};
use voice::PrintOnly;

/// A small disk, gone when this is dropped.
struct SmallDisk(tempfile::TempDir);

impl SmallDisk {
    fn mount() -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let status = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=768k", "none"])
            .arg(folder.path())
            .stderr(Stdio::null())
            .status();
        status
            .is_ok_and(|status| status.success())
            .then_some(Self(folder))
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    /// Fills whatever room there is.
    fn fill(&self) {
        let mut bytes = vec![0; 1 << 20];
        while let Err(error) = std::fs::write(self.path().join("ballast"), &bytes) {
            assert_eq!(error.kind(), ErrorKind::StorageFull);
            bytes.truncate(bytes.len() - 4096);
        }
    }

    fn make_room(&self) {
        std::fs::remove_file(self.path().join("ballast")).unwrap();
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.path()).status();
    }
}

#[test]
fn a_full_disk_is_said_aloud_and_nothing_counts_until_there_is_room() {
    let Some(disk) = SmallDisk::mount() else {
        let why = "a small disk can't be mounted here";
        assert!(std::env::var_os("CI").is_none(), "{why}");
        println!("skipped: {why}");
        return;
    };
    let archive = Archive::open(disk.path()).unwrap();
    let procedure = Arc::new(Shelf::Shipped.load("front-brakes").unwrap());
    let settings = Settings {
        mode: Mode::Rehearsal,
        ..Settings::default()
    };
    let (worked, first) = JournaledJob::begin(&archive, procedure, settings, now()).unwrap();
    let id = worked.id().clone();
    let told = RefCell::new(Vec::new());
    let mut show = |line: Line<'_>| match line {
        Line::Said(sentence) => told.borrow_mut().push(sentence.text.clone()),
        Line::Trouble(trouble) => told.borrow_mut().push(trouble.to_owned()),
        Line::Heard(_)
        | Line::Recorded(_)
        | Line::Stands(_)
        | Line::Muted(_)
        | Line::Manner(..) => {}
    };
    let voice = PrintOnly::new(std::io::sink(), voice::Settings::default());
    let mut talk = Conversation::new(worked, None, Box::new(voice), &mut show).unwrap();
    talk.act_on(&first).unwrap();

    // What the log had room for is still taken in; then it holds.
    disk.fill();
    let mut held = None;
    for _ in 0..400 {
        let before = talk.job().digest();
        told.borrow_mut().clear();
        talk.typed("where am i").unwrap();
        if told.borrow().iter().any(|it| it.contains("I'm holding")) {
            held = Some((before, told.borrow().clone()));
            break;
        }
    }
    let (before, said) = held.expect("a disk of this size gets full");
    assert!(
        said.iter().any(|it| it.contains("the disk is full")),
        "{said:?}"
    );
    // Whatever is said now, the job stands where it stood.
    for words in ["left", "next", "yes", "abandon", "finish"] {
        told.borrow_mut().clear();
        talk.typed(words).unwrap();
        assert_eq!(talk.job().digest(), before, "{words}");
    }
    disk.make_room();
    told.borrow_mut().clear();
    talk.typed("where am i").unwrap();
    assert!(!told.borrow().iter().any(|it| it.contains("I'm holding")));
    drop(talk);
    assert!(archive.verify(&id, None).unwrap().is_whole());
}
