//! Half a sentence opens no gate, at the vehicle as in a recording.

use ears::sound::endpoint::{Event, Patience};
use ears::sound::file;
use ears::sound::microphone::{Listening, Microphone, MicrophoneEvent};
use ears::turn::{Turn, Turns, turns};
use hearing_bench::join::with_pauses;
use hearing_bench::shop::Noise;
use sayback::work::live::Setup;
use sayback::work::technician::Talk;
use std::path::{Path, PathBuf};
use std::time::Duration;
use steps::codes::VoidReason;
use steps::{Entry, Procedure};
use voice::fixtures::Speaker;
use whole_jobs::live::{Happened, Live};
use whole_jobs::room::{Recording, Room, say_clip};
use whole_jobs::{bench_speaker, settings, speaker};

/// Far longer than anything here takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// How fast the assistant speaks.
const WORDS_PER_MINUTE: u16 = 200;

const VOICE: &str = "neural-man";

const READBACK: &str = "the caliper hangs from the hook and the hose is slack";

/// One hold point, and a step behind it.
fn one_gate() -> Procedure {
    let text = format!(
        r#"
format = 1
id = "one-gate"
title = "One gate"
vehicle = "An invented van of the Saltmarsh ferry depot"
values = "Invented."
minutes = 5

[[fact]]
id = "caliper-hung"
means = "the caliper hangs from its hook"

[[gate]]
id = "caliper-hung"
fact = "caliper-hung"
ask = "Hang the caliper up and look at its hose."
readback = "{READBACK}"

[[step]]
id = "hang-up"
action = "hold"
gate = "caliper-hung"

[[step]]
id = "disc-off"
action = "do"
text = "Take the disc off."
needs = ["caliper-hung"]

[[make_safe]]
id = "tag"
action = "do"
text = "Tag the van."
"#
    );
    let library = std::collections::BTreeMap::from([("one-gate".to_owned(), text)]);
    Procedure::load("one-gate", &library).unwrap_or_else(|problems| panic!("{problems:?}"))
}

/// What a voice says, with pauses of so many seconds between.
fn said(speaker: &Speaker, voice: &str, parts: &[&str], pause_s: f32) -> Vec<f32> {
    let clips: Vec<Vec<f32>> = parts
        .iter()
        .map(|words| {
            file::read(&speaker.wav(voice, words).unwrap())
                .unwrap()
                .samples
        })
        .collect();
    with_pauses(&clips, pause_s)
}

fn write(folder: &Path, name: &str, samples: &[f32]) -> PathBuf {
    let path = folder.join(format!("{name}.wav"));
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(&path, spec).unwrap();
    for sample in samples {
        writer.write_sample((sample * 32_767.0) as i16).unwrap();
    }
    writer.finalize().unwrap();
    path
}

/// Other talk before or after the readback, with the pause of somebody who thinks; by whom, and in what noise, how many
/// decibels below.
const SPOILT: [(&[&str], f32, &str, Noise, f32); 8] = [
    (
        &[READBACK, "no wait it moved"],
        0.6,
        "h01-af-heart",
        Noise::Clean,
        60.0,
    ),
    (
        &[READBACK, "is what the sheet says"],
        0.9,
        "h03-am-eric",
        Noise::White,
        10.0,
    ),
    (
        &["he wants me to say", READBACK],
        0.7,
        "h05-bf-isabella",
        Noise::Pink,
        5.0,
    ),
    (
        &["don't write down", READBACK],
        0.4,
        "h06-bm-george",
        Noise::ImpactWrench,
        10.0,
    ),
    (
        &[READBACK, "so they told me"],
        1.3,
        "h03-am-eric",
        Noise::Babble,
        10.0,
    ),
    (
        &["i think", READBACK],
        1.0,
        "h01-af-heart",
        Noise::White,
        5.0,
    ),
    (
        &[READBACK, "or so i thought"],
        0.3,
        "h06-bm-george",
        Noise::Pink,
        10.0,
    ),
    (
        &["is it right that", READBACK],
        0.8,
        "h05-bf-isabella",
        Noise::Compressor,
        5.0,
    ),
];

/// A sound in a noise that is so many decibels below it.
fn in_noise(speech: &[f32], noise: Noise, snr_db: f32) -> Vec<f32> {
    let background = [said(
        &speaker(),
        VOICE,
        &["did you see the ferry come in late last night"],
        0.0,
    )];
    let noise = noise.samples(speech.len(), 7, &background);
    let power = |samples: &[f32]| samples.iter().map(|it| it * it).sum::<f32>();
    let gain = (power(speech) / power(&noise).max(1e-9) / 10f32.powf(snr_db / 10.0)).sqrt();
    let mixed = speech
        .iter()
        .zip(&noise)
        .map(|(one, other)| one + gain * other);
    mixed.map(|sample| sample.clamp(-1.0, 1.0)).collect()
}

#[test]
fn a_readback_with_other_talk_beside_it_opens_nothing_and_a_correction_closes_it() {
    Room::new(None).run_inside("live::turns::inside_a_readback_with_other_talk");
}

#[test]
#[ignore = "run by the test above, in its room"]
fn inside_a_readback_with_other_talk() {
    let folder = tempfile::tempdir().unwrap();
    let loudspeaker = Recording::of_loudspeaker();
    let procedure = one_gate();
    let mut live = Live::begin(
        procedure,
        settings(),
        folder.path(),
        Setup::default(),
        WORDS_PER_MINUTE,
    );
    live.until("the microphone opens", PATIENCE, |it| {
        matches!(it, Happened::Listens).then_some(())
    });
    live.works_to("caliper-hung", &loudspeaker, |words| {
        say_clip(&speaker().wav(VOICE, words).unwrap(), 1.0);
    });
    let opened = |live: &Live| {
        let entries = live.minutes.iter().filter_map(|(_, it)| match it {
            Happened::Recorded(entry) => Some(entry),
            _other => None,
        });
        entries
            .filter(|entry| matches!(entry, Entry::GateOpened { .. }))
            .count()
    };
    let is_true = |live: &Live| live.job().is_some_and(|job| job.facts().next().is_some());

    for (number, (parts, pause_s, voice, noise, snr_db)) in SPOILT.into_iter().enumerate() {
        live.until_it_waits(&loudspeaker, PATIENCE);
        let sound = in_noise(
            &said(&bench_speaker(), voice, parts, pause_s),
            noise,
            snr_db,
        );
        say_clip(
            &write(folder.path(), &format!("spoilt-{number}"), &sound),
            1.0,
        );
        std::thread::sleep(Duration::from_secs(4));
        live.until_it_waits(&loudspeaker, PATIENCE);
        assert!(!is_true(&live), "{parts:?} opened the gate");
    }

    // Alone, with a pause in its middle, it opens; a correction a second later closes it again.
    let (first, second) = READBACK.split_at(READBACK.find(" and ").unwrap());
    let alone = said(&speaker(), VOICE, &[first, second.trim()], 0.5);
    let alone = write(folder.path(), "alone", &alone);
    let closed = |live: &Live| {
        live.minutes.iter().any(|(_, it)| match it {
            Happened::Recorded(Entry::Voided { why, .. }) => {
                matches!(why, VoidReason::TakenBack { words } if words.contains("no wait"))
            }
            _other => false,
        })
    };
    let mut tries = 0;
    // What isn't heard, or not in time on a busy machine, is said again.
    while !closed(&live) {
        tries += 1;
        assert!(tries < 9, "no correction closes it");
        let job = live.until_it_waits(&loudspeaker, PATIENCE);
        if job.step().is_some() {
            // The correction came too late: back to the hold point, which asks anew.
            say_clip(&speaker().wav(VOICE, "go back").unwrap(), 1.0);
            std::thread::sleep(Duration::from_secs(2));
            continue;
        }
        let before = opened(&live);
        say_clip(&alone, 1.0);
        for _ in 0..60 {
            live.catch_up();
            if opened(&live) > before {
                say_clip(&speaker().wav(VOICE, "no wait").unwrap(), 1.0);
                std::thread::sleep(Duration::from_secs(2));
                live.catch_up();
                break;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }
    let job = live.until_it_waits(&loudspeaker, PATIENCE);
    assert_eq!(
        job.holding().map(|gate| gate.as_str()),
        Some("caliper-hung")
    );

    // Said once more and left alone, it goes on.
    let mut talk = Talk::default();
    for _ in 0..8 {
        let job = live.until_it_waits(&loudspeaker, PATIENCE);
        if job.step().is_some() {
            return;
        }
        say_clip(
            &speaker().wav(VOICE, &talk.says(&job).unwrap()).unwrap(),
            1.0,
        );
        std::thread::sleep(Duration::from_secs(3));
    }
    panic!("it doesn't go on behind its gate");
}

/// The turns in the same sound: by the microphone, and as `work --sound` and the hearing bench find them.
#[test]
fn the_microphone_and_a_recording_have_the_same_turns() {
    Room::new(None).run_inside("live::turns::inside_the_same_turns");
}

#[test]
#[ignore = "run by the test above, in its room"]
fn inside_the_same_turns() {
    let folder = tempfile::tempdir().unwrap();
    let parts = ["he wants me to say", READBACK, "no wait it moved", READBACK];
    for pause in [0.5, 1.3, 2.6] {
        let sound = write(
            folder.path(),
            "all",
            &said(&speaker(), VOICE, &parts, pause),
        );
        let listening = Listening::default();
        let (microphone, events) = Microphone::open_with(None, listening).unwrap();
        microphone.set_patience(Patience::READBACK);
        let playing = std::thread::spawn({
            let sound = sound.clone();
            move || {
                std::thread::sleep(Duration::from_secs(2));
                say_clip(&sound, 1.0);
                std::thread::sleep(Duration::from_secs(2));
            }
        });
        let mut live = Turns::default();
        let mut heard: Vec<Turn> = Vec::new();
        while !playing.is_finished() {
            if let Ok(MicrophoneEvent::Heard {
                event: Event::Utterance(utterance),
                ..
            }) = events.recv_timeout(Duration::from_millis(100))
            {
                heard.push(live.take(utterance));
            }
        }
        playing.join().unwrap();
        let silence = vec![1e-4; 32_000];
        let samples = file::read(&sound).unwrap().samples;
        let recorded = turns(
            &[&silence, &samples[..], &silence].concat(),
            Patience::READBACK,
        );
        let shape = |turns: &[Turn]| {
            let of = |turn: &Turn| (turn.beside, turn.utterance.pieces.len());
            turns.iter().map(of).collect::<Vec<_>>()
        };
        assert_eq!(shape(&heard), shape(&recorded), "pauses of {pause} s");
        for (one, other) in heard.iter().zip(&recorded) {
            let apart = (one.utterance.seconds() - other.utterance.seconds()).abs();
            assert!(apart < 0.2, "{apart} s apart after pauses of {pause} s");
        }
    }
}
