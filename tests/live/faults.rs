//! What goes wrong at the vehicle: the job holds, says so, recovers by itself, and loses nothing silently.

use sayback::work::hearing::Meaning;
use sayback::work::live::Setup;
use sayback::work::technician::Talk;
use std::path::PathBuf;
use std::process;
use std::time::{Duration, Instant};
use steps::{Command, Entry, Id};
use whole_jobs::live::{Happened, Live};
use whole_jobs::room::{Outage, RATE, Recording, Room, is_sound, pactl, say_clip};
use whole_jobs::{settings, shipped, speaker};

/// Far longer than anything here takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(90);

/// A job that has just been opened, and asks which axle.
fn opened(folder: &tempfile::TempDir) -> Live {
    let loudspeaker = Recording::of_loudspeaker();
    let mut live = Live::begin(
        shipped("front-brakes"),
        settings(),
        folder.path(),
        Setup::default(),
        420,
    );
    listens(&mut live);
    live.until_silent(&loudspeaker, PATIENCE);
    live.catch_up();
    live
}

fn listens(live: &mut Live) {
    live.until("the microphone opens", PATIENCE, |it| {
        matches!(it, Happened::Listens).then_some(())
    });
}

fn says(words: &str) {
    say_clip(&speaker().wav("espeak-us-man", words).unwrap(), 1.0);
}

/// Asks until it is answered; whoever isn't heard asks again.
fn is_answered(live: &mut Live) {
    let loudspeaker = Recording::of_loudspeaker();
    for _ in 0..3 {
        live.until_silent(&loudspeaker, PATIENCE);
        live.catch_up();
        let asked = live.minutes.len();
        says("where am i");
        let heard = |live: &Live| {
            live.minutes[asked..].iter().any(|(_, it)| match it {
                Happened::Heard(_, meaning) => *meaning == Meaning::Told(Command::WhereAmI),
                _other => false,
            })
        };
        let silent = loudspeaker.len();
        let until = Instant::now() + Duration::from_secs(8);
        while Instant::now() < until {
            live.catch_up();
            if heard(live) && loudspeaker.since(silent).iter().any(|it| is_sound(*it)) {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }
    panic!("it answers no more");
}

/// The hundredths of a second in which there is sound, from the first on, as stretches.
fn sounding(samples: &[i16]) -> Vec<std::ops::Range<usize>> {
    let mut stretches: Vec<std::ops::Range<usize>> = Vec::new();
    for (at, frame) in samples.chunks(RATE as usize / 100).enumerate() {
        if !frame.iter().any(|it| is_sound(*it)) {
            continue;
        }
        match stretches.last_mut() {
            Some(last) if last.end == at => last.end += 1,
            Some(_) | None => stretches.push(at..at + 1),
        }
    }
    stretches
}

fn before(live: &Live) -> String {
    live.job().expect("the job is shown").digest()
}

#[test]
fn with_the_sound_gone_the_job_holds_and_goes_on_when_it_is_back() {
    Room::new(None).run_inside("live::faults::inside_the_sound_goes");
}

#[test]
#[ignore = "run by the test above, in its room"]
fn inside_the_sound_goes() {
    let folder = tempfile::tempdir().unwrap();
    let mut live = opened(&folder);
    let digest = before(&live);
    let outage = Outage::begin();
    live.until("the loss is told", PATIENCE, |it| {
        matches!(it, Happened::Deaf(_)).then_some(())
    });
    // There is no loudspeaker either: it stands on the screen.
    live.until("that it can't be said is told", PATIENCE, |it| match it {
        Happened::Trouble(told) => told.contains("I can't speak").then_some(()),
        _other => None,
    });
    let _server = outage.end();
    listens(&mut live);
    assert_eq!(before(&live), digest, "the job holds");
    is_answered(&mut live);
}

#[test]
fn a_microphone_that_gives_no_more_sound_is_told_and_tried_until_it_does() {
    Room::new(None).run_inside("live::faults::inside_the_microphone_is_taken");
}

#[test]
#[ignore = "run by the test above, in its room"]
fn inside_the_microphone_is_taken() {
    let folder = tempfile::tempdir().unwrap();
    let mut live = opened(&folder);
    let digest = before(&live);
    // As when another program has it for itself.
    pactl(&["suspend-source", "microphone", "1"]);
    live.until("the loss is told", PATIENCE, |it| {
        matches!(it, Happened::Deaf(_)).then_some(())
    });
    live.until("it is said, too", PATIENCE, |it| match it {
        Happened::Said(told) => told.contains("I can't hear you").then_some(()),
        _other => None,
    });
    pactl(&["suspend-source", "microphone", "0"]);
    assert_eq!(before(&live), digest, "the job holds");
    is_answered(&mut live);
}

#[test]
fn a_machine_that_was_busy_or_slept_hears_again() {
    Room::new(None).run_inside("live::faults::inside_the_machine_sleeps");
}

#[test]
#[ignore = "run by the test above, in its room"]
fn inside_the_machine_sleeps() {
    let folder = tempfile::tempdir().unwrap();
    let mut live = opened(&folder);
    // All cores and more are busy for ten seconds, and in them somebody speaks.
    let busy: Vec<_> = (0..6)
        .map(|_| {
            let mut command = process::Command::new("timeout");
            command.args(["10", "sh", "-c", "while :; do :; done"]);
            command.spawn().unwrap()
        })
        .collect();
    let microphone = Recording::of_microphone();
    says("where am i");
    let heard = live.happens(PATIENCE, |it| {
        matches!(it, Happened::Heard(..) | Happened::Lost(_)).then_some(())
    });
    assert!(
        heard.is_some(),
        "it is neither heard nor told as lost; of what came to the microphone it sounded at these hundredths of a second: {:?}",
        sounding(&microphone.finish())
    );
    for mut one in busy {
        let _ = one.wait();
    }
    is_answered(&mut live);
    // The whole process stands still, as in a machine that sleeps.
    let this = process::id();
    let script = format!("kill -STOP {this}; sleep 6; kill -CONT {this}");
    let mut sleep = process::Command::new("sh")
        .args(["-c", &script])
        .spawn()
        .unwrap();
    let _ = sleep.wait();
    is_answered(&mut live);
}

/// Where the process in the room reads how far its clock is put off the machine's.
const CLOCK: &str = "FAKETIME_TIMESTAMP_FILE";

#[test]
fn a_clock_that_jumps_closes_what_was_opened_before() {
    let folder = tempfile::tempdir().unwrap();
    let clock = folder.path().join("clock");
    std::fs::write(&clock, "+0").unwrap();
    let library = clock_library().expect("libfaketime, which `cargo xtask setup` installs");
    let environment = [
        ("LD_PRELOAD", library.to_str().unwrap()),
        (CLOCK, clock.to_str().unwrap()),
        // Read at every question for the time.
        ("FAKETIME_NO_CACHE", "1"),
        // Only the time of day jumps, as when somebody sets it: what is waited for goes on.
        ("FAKETIME_DONT_FAKE_MONOTONIC", "1"),
    ];
    Room::new(None).run_inside_with("live::faults::inside_the_clock_jumps", &environment);
}

/// The library that puts a process's clock off, wherever this machine's packages have it.
fn clock_library() -> Option<PathBuf> {
    let mut folders = std::fs::read_dir("/usr/lib").ok()?.flatten();
    folders.find_map(|folder| {
        let library = folder.path().join("faketime/libfaketime.so.1");
        library.is_file().then_some(library)
    })
}

#[test]
#[ignore = "run by the test above, in its room"]
fn inside_the_clock_jumps() {
    let folder = tempfile::tempdir().unwrap();
    let clock = PathBuf::from(std::env::var_os(CLOCK).unwrap());
    let mut live = opened(&folder);
    for (jump, why) in [
        ("-2h", "the clock was set back"),
        ("+5h", "there was a long pause"),
    ] {
        let open = opens_a_gate(&mut live);
        let from = sayback::work::conversation::now();
        // In one go: a file that is being written is read as no jump at all.
        let new = folder.path().join("clock");
        std::fs::write(&new, jump).unwrap();
        std::fs::rename(&new, &clock).unwrap();
        let to = sayback::work::conversation::now();
        assert!(
            to.since(from).as_secs() + from.since(to).as_secs() > 3600,
            "the clock jumps"
        );
        let before = live.minutes.len();
        // Whatever is said next is said after a pause of unknown length.
        is_answered(&mut live);
        let since = &live.minutes[before..];
        let voided = since.iter().any(|(_, it)| match it {
            Happened::Recorded(Entry::Voided { fact, .. }) => *fact == open,
            _other => false,
        });
        let told = since.iter().any(|(_, it)| match it {
            Happened::Said(told) => told.contains(why),
            _other => false,
        });
        assert!(
            voided && told,
            "closed again: {voided}, and told why: {told}"
        );
        let job = live.job().expect("the job is shown");
        assert!(job.listen().readback.is_some(), "the gate holds");
    }
}

/// Goes on until a gate has opened and its readback can't be taken back any more, and gives what it made true. Nobody
/// says a readback again while it may still be heard: the second would be talk after the first.
fn opens_a_gate(live: &mut Live) -> Id {
    let loudspeaker = Recording::of_loudspeaker();
    let mut talk = Talk::default();
    let from = live.minutes.len();
    for _ in 0..40 {
        let job = live.until_it_waits(&loudspeaker, PATIENCE);
        let mut open = None;
        for (_, it) in &live.minutes[from..] {
            match it {
                Happened::Recorded(Entry::GateOpened { fact, .. }) => open = Some(fact.clone()),
                Happened::Recorded(Entry::Voided { .. }) => open = None,
                _other => {}
            }
        }
        if let Some(fact) = open {
            return fact;
        }
        let said = live.minutes.len();
        says(&talk.says(&job).expect("the job goes on"));
        let is_heard = |live: &Live| {
            let mut since = live.minutes[said..].iter();
            since.any(|(_, it)| matches!(it, Happened::Heard(..)))
        };
        let until = Instant::now() + PATIENCE;
        while !is_heard(live) && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(50));
            live.catch_up();
        }
    }
    panic!("no gate opens");
}
