//! How soon a sentence sounds after it was handed over, by espeak-ng and by the neural voice, in a room without hardware.
//!
//! `cargo bench -p voice --bench first_sound`; needs what `cargo xtask setup` brings. The median of the rounds is printed,
//! and how many times as long the neural voice takes.

use room::{Room, is_inside};
use std::process::Command;
use std::time::{Duration, Instant};
use voice::{ENGLISH, Loudspeaker, Settings, Voice};

/// As the program says them, from the shortest to one in many pieces.
const SENTENCES: [&str; 6] = [
    "Stop.",
    "One hundred and forty newton metres.",
    "Tighten the wheel nuts to one hundred and forty newton metres.",
    "Hold point. Say, the vehicle is on stands.",
    "Put the vehicle on stands, take the wheel off, and put it under the sill.",
    "Take off the two caliper bolts, thirteen millimetre, and hang the caliper from the spring with wire so that the hose \
     carries no weight.",
];

const ROUNDS: usize = 9;

/// It speaks until it is stopped, and never says that it began: then something is broken.
const PATIENCE: Duration = Duration::from_secs(10);

fn main() {
    if is_inside() {
        return measure();
    }
    // `cargo test --benches` runs it too; it measures nothing then.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    let room = Room::new(None);
    let status = Command::new(std::env::current_exe().expect("this program"))
        .envs(room.environment())
        .status();
    assert!(status.expect("this program runs again").success());
}

fn measure() {
    let settings = Settings::default();
    let mut espeak = Loudspeaker::open(ENGLISH, settings).expect("espeak-ng speaks");
    let mut neural = Loudspeaker::open_neural(settings).expect("the neural voice speaks");
    println!("espeak-ng   neural   ratio   letters");
    for sentence in SENTENCES {
        let first = median(&mut espeak, sentence);
        let second = median(&mut neural, sentence);
        let ratio = second / first;
        let letters = sentence.chars().count();
        println!("{first:6.0} ms {second:5.0} ms {ratio:7.1} {letters:9}");
    }
}

/// Milliseconds to the first sound.
fn median(voice: &mut Loudspeaker, sentence: &str) -> f64 {
    let mut all: Vec<f64> = (0..ROUNDS).map(|_| first_sound(voice, sentence)).collect();
    all.sort_by(f64::total_cmp);
    all[ROUNDS / 2]
}

fn first_sound(voice: &mut Loudspeaker, sentence: &str) -> f64 {
    let handed_over = Instant::now();
    voice.say(sentence).expect("it speaks");
    let began = loop {
        if let Some(began) = voice.began() {
            break began;
        }
        assert!(handed_over.elapsed() < PATIENCE, "{sentence} never sounds");
        std::thread::sleep(Duration::from_millis(1));
    };
    voice.stop();
    // What is being made at a stop is made to the end of its piece.
    std::thread::sleep(Duration::from_secs(1));
    began.duration_since(handed_over).as_secs_f64() * 1_000.0
}
