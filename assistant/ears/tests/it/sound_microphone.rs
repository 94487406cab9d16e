//! A microphone that isn't there: a private sound server whose microphone hears what is played into it.
//!
//! The sound system finds its server by the environment, so the test runs itself again with an environment
//! of its own. `pulseaudio`, its ALSA plugin and `espeak-ng` are placed by `cargo xtask setup`.

#![cfg(target_os = "linux")]

use crossbeam_channel::Receiver;
use ears::sound::endpoint::Event;
use ears::sound::microphone::{Microphone, MicrophoneError, MicrophoneEvent, devices};
use room::{Outage, Room, say_clip};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

/// Far longer than anything here takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

#[test]
fn what_is_said_arrives_and_a_vanished_device_is_an_event() {
    Room::new(None).run_inside("sound_microphone::in_the_room");
}

/// The first event of which `wanted` makes something.
fn wait_for<T>(
    events: &Receiver<MicrophoneEvent>,
    what: &str,
    mut wanted: impl FnMut(MicrophoneEvent) -> Option<T>,
) -> T {
    let until = Instant::now() + PATIENCE;
    loop {
        match events.recv_deadline(until) {
            Ok(event) => {
                if let Some(found) = wanted(event) {
                    return found;
                }
            }
            Err(error) => panic!("no {what}: {error}"),
        }
    }
}

fn sound_comes(event: MicrophoneEvent) -> Option<()> {
    matches!(event, MicrophoneEvent::Level { .. }).then_some(())
}

#[test]
#[ignore = "runs in the room that the other test makes"]
fn in_the_room() {
    let listed = devices().unwrap();
    assert!(
        listed.iter().any(|d| d.name == "bench" && !d.usual),
        "{listed:?}"
    );
    assert!(
        listed.iter().any(|d| d.name == "default" && d.usual),
        "{listed:?}"
    );
    match Microphone::open(Some("no such microphone")) {
        Err(MicrophoneError::NoSuchDevice { known, .. }) => assert!(known.contains("bench")),
        other => panic!("{other:?}"),
    }

    // Dropping one ends it, while the other goes on.
    let (usual, usual_events) = Microphone::open(None).unwrap();
    let (bench, events) = Microphone::open(Some("bench")).unwrap();
    wait_for(
        &usual_events,
        "sound from the usual microphone",
        sound_comes,
    );
    drop(usual);
    assert!(
        usual_events.iter().count() <= 64,
        "what waits is taken, then the events end"
    );

    wait_for(
        &events,
        "sound from the microphone at the bench",
        sound_comes,
    );
    let said = say_into_the_microphone();
    let mut began = false;
    let heard = wait_for(&events, "utterance", |event| {
        began |= matches!(
            event,
            MicrophoneEvent::Heard {
                event: Event::SpeechBegan,
                ..
            }
        );
        event.into_utterance()
    });
    assert!(began, "speech begins before it ends");
    let likeness = likeness(&said, &heard.samples);
    assert!(
        likeness > 0.9,
        "what was heard is like what was said only by {likeness:.2}"
    );

    let _outage = Outage::begin();
    let reason = wait_for(&events, "news of the loss", |event| match event {
        MicrophoneEvent::Lost { reason } => Some(reason),
        MicrophoneEvent::Heard { .. }
        | MicrophoneEvent::Level { .. }
        | MicrophoneEvent::Overrun { .. } => None,
    });
    assert!(!reason.is_empty());
    println!("lost: {reason}");
    assert!(events.recv().is_err(), "nothing follows a loss");
    drop(bench);
}

/// Plays a sentence into the microphone and returns it.
fn say_into_the_microphone() -> Vec<f32> {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("microphone-said.wav");
    let spoke = Command::new("espeak-ng")
        .args(["-v", "en", "-w"])
        .args([path.as_os_str(), "what torque for the wheel bolts".as_ref()])
        .status()
        .expect("espeak-ng is missing: run `cargo xtask setup`");
    assert!(spoke.success());
    say_clip(&path, 1.0);
    ears::sound::file::read(&path).unwrap().samples
}

/// The largest normalised cross-correlation of two sounds, 1 for the same sound at any level and place.
fn likeness(said: &[f32], heard: &[f32]) -> f32 {
    // The middle of what was said: its ends may be cut.
    let part = &said[said.len() / 4..said.len() / 4 * 3];
    let power = |s: &[f32]| s.iter().map(|x| x * x).sum::<f32>();
    heard
        .windows(part.len())
        .map(|window| {
            let product: f32 = window.iter().zip(part).map(|(a, b)| a * b).sum();
            product / (power(window) * power(part)).sqrt().max(1e-9)
        })
        .fold(0.0, f32::max)
}
