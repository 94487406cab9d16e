//! The first section of the half-shaft job, live, in a noisy room.

use sayback::live::Setup;
use sayback::technician::{Talk, place};
use std::time::{Duration, Instant};
use whole_jobs::live::{Happened, Live};
use whole_jobs::room::{Recording, Room, say_clip};
use whole_jobs::{settings, shipped, speaker};

/// How the technician says what wasn't understood, time after time.
const VOICES: [&str; 4] = [
    "espeak-us-man",
    "flite-man-fast",
    "neural-man",
    "flite-woman",
];

/// Far longer than anything here takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

#[test]
fn the_first_section_of_the_half_shaft_job_is_worked_live() {
    Room::new(Some(-12.0)).run_inside("section::inside_the_first_section");
}

#[test]
#[ignore = "run by the test above, in its room"]
fn inside_the_first_section() {
    let folder = tempfile::tempdir().unwrap();
    let speaker = speaker();
    let loudspeaker = Recording::of_loudspeaker();
    let mut live = Live::begin(
        shipped("front-half-shaft"),
        settings(),
        folder.path(),
        Setup::default(),
    );
    live.until("the microphone opens", PATIENCE, |it| {
        matches!(it, Happened::Listens).then_some(())
    });
    let mut talk = Talk::default();
    let mut exchanges = 0;
    let mut in_a_row = 0;
    while exchanges < 15 {
        // Whoever works listens until the end.
        let patience = Instant::now() + 2 * PATIENCE;
        while loudspeaker.silent_for() < Duration::from_millis(700) {
            assert!(Instant::now() < patience, "it speaks for ever");
            std::thread::sleep(Duration::from_millis(20));
        }
        live.catch_up();
        let job = live.job().expect("the job is shown");
        let before = (place(&job), job.digest());
        let words = talk.says(&job).expect("the job goes on");
        println!("at {} the technician says “{words}”", before.0);
        say_clip(&speaker.wav(VOICES[in_a_row], &words).unwrap(), 1.0);
        live.until("an answer", PATIENCE, |it| {
            matches!(it, Happened::Heard(..)).then_some(())
        });
        std::thread::sleep(Duration::from_millis(300));
        let job = live.job().expect("the job is shown");
        if (place(&job), job.digest()) == before {
            in_a_row += 1;
            assert!(in_a_row < VOICES.len(), "it doesn't get on at {}", before.0);
        } else {
            in_a_row = 0;
            exchanges += 1;
        }
    }
}
