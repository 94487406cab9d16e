//! Every voice keeps the same promises.
//!
//! The voice on speech-dispatcher is heard as well: a private sound server with a null sink takes what
//! is spoken, and a private daemon on a socket of its own speaks it. Both are started and ended here.

use std::time::{Duration, Instant};

use crate::harness::{self, Private};
use room::Recording;
use voice::{
    Earcon, EspeakWav, Loudspeaker, Neural, PrintOnly, Settings, SpeechDispatcher, Timbre, Voice,
    VoiceError, Volume, WordsPerMinute,
};

/// Longer ago than anything that a test has said.
const LATELY: Duration = Duration::from_secs(15);

/// How late a busy machine may be with a sound.
const MAX_DELAY: Duration = Duration::from_secs(5);

const SENTENCE: &str = "Tighten the axle nut to one hundred and seventy-three foot-pounds.";

/// The promises of the trait that need no ear.
fn conforms(voice: &mut dyn Voice) {
    assert!(!voice.name().trim().is_empty());
    assert!(!voice.is_speaking(), "silent before the first sentence");

    voice.say(SENTENCE).unwrap();
    voice.wait();
    assert!(!voice.is_speaking());

    // Falls silent at once, however much waits.
    for _ in 0..5 {
        voice.say(SENTENCE).unwrap();
    }
    let told = Instant::now();
    voice.stop();
    assert!(!voice.is_speaking());
    voice.wait();
    assert!(
        told.elapsed() < Duration::from_millis(500),
        "{:?}",
        told.elapsed()
    );
    voice.stop();
    assert!(!voice.is_speaking(), "stopping twice is no error");

    // Silence, text that engines and C libraries stumble over, markup, many words.
    let long = "and again ".repeat(500);
    for odd in [
        "",
        "  \t ",
        "\0",
        "a\0b",
        ".",
        "-v",
        "<speak>&",
        "½ \u{feff} 扳手",
        "!\r\n.\r\n",
        &long,
    ] {
        voice.say(odd).unwrap();
        voice.stop();
        assert!(!voice.is_speaking(), "after {odd:?}");
    }

    for rate in [WordsPerMinute::SLOWEST, WordsPerMinute::FASTEST] {
        let settings = Settings {
            rate,
            volume: Volume::new(30),
            timbre: Timbre::Bright,
        };
        voice.set(settings).unwrap();
        // A voice may have one timbre only.
        let Settings { rate, volume, .. } = voice.settings();
        assert_eq!((rate, volume), (settings.rate, settings.volume));
        voice.say("Ready.").unwrap();
        voice.wait();
    }
    voice.set(Settings::default()).unwrap();
}

#[test]
fn print_only_conforms() {
    let mut voice = PrintOnly::new(Vec::new(), Settings::default());
    conforms(&mut voice);
    let printed = String::from_utf8(voice.into_inner()).unwrap();
    assert_eq!(printed.lines().next(), Some(SENTENCE));
    assert!(printed.lines().all(|line| !line.is_empty()));
}

#[test]
fn espeak_into_a_file_conforms() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("said.wav");
    let mut voice = EspeakWav::create(
        &path,
        Settings::default(),
        voice::ENGLISH,
        files::IfThere::Keep,
    )
    .unwrap();
    conforms(&mut voice);
    assert!(seconds(&path) > 20.0);
}

#[test]
fn a_file_that_is_there_is_left_as_it_is_and_nothing_is_written_through_a_link() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kept.wav");
    std::fs::write(&path, "kept").unwrap();
    let told = EspeakWav::create(
        &path,
        Settings::default(),
        voice::ENGLISH,
        files::IfThere::Keep,
    );
    assert!(told.is_err_and(|error| error.to_string().contains("is there already")));
    #[cfg(unix)]
    {
        let link = folder.path().join("link.wav");
        std::os::unix::fs::symlink(&path, &link).unwrap();
        for how in [files::IfThere::Keep, files::IfThere::Replace] {
            let told = EspeakWav::create(&link, Settings::default(), voice::ENGLISH, how);
            assert!(told.is_err_and(|error| error.to_string().contains("is a link")));
        }
    }
    assert_eq!(std::fs::read(&path).unwrap(), b"kept");
}

#[test]
fn a_file_holds_every_sentence_with_a_gap_between_and_is_whole_after_each() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("said.wav");
    let mut voice = EspeakWav::create(
        &path,
        Settings::default(),
        voice::ENGLISH,
        files::IfThere::Keep,
    )
    .unwrap();
    assert_eq!(seconds(&path), 0.0);
    voice.say("Next.").unwrap();
    let one = seconds(&path);
    assert!(one > 0.2, "{one}");
    voice.say("Next.").unwrap();
    let two = seconds(&path);
    assert!((two - 2.0 * one - 0.3).abs() < 0.001, "{one} {two}");
}

/// The pitch of a voice: the lag, between 70 and 400 Hz, at which its sound is most like itself (autocorrelation).
fn pitch_hz(sound: &voice::Sound) -> f64 {
    let samples: Vec<f64> = sound.samples.iter().map(|it| f64::from(*it)).collect();
    let rate = f64::from(sound.rate_hz);
    let alike = |lag: usize| {
        let pairs = samples.iter().zip(&samples[lag..]);
        pairs.map(|(one, other)| one * other).sum::<f64>()
    };
    let lags = (rate / 400.0) as usize..(rate / 70.0) as usize;
    let best = lags.max_by(|one, other| alike(*one).total_cmp(&alike(*other)));
    rate / best.expect("there are lags") as f64
}

#[test]
fn another_voice_is_higher_and_says_as_much() {
    let spoken = |timbre| {
        let settings = Settings {
            timbre,
            ..Settings::default()
        };
        voice::synthesise(SENTENCE, &settings).unwrap()
    };
    let (deep, bright) = (spoken(Timbre::Deep), spoken(Timbre::Bright));
    let (low, high) = (pitch_hz(&deep), pitch_hz(&bright));
    assert!(high > 1.2 * low, "{low} and {high} Hz");
    let share = bright.samples.len() as f64 / deep.samples.len() as f64;
    assert!((0.8..1.25).contains(&share), "{share}");
}

#[test]
fn slower_speech_takes_longer_and_a_low_volume_is_lower() {
    let spoken = |rate, volume| {
        let settings = Settings {
            rate: WordsPerMinute::new(rate),
            volume: Volume::new(volume),
            ..Settings::default()
        };
        voice::synthesise(SENTENCE, &settings).unwrap().samples
    };
    assert!(spoken(110, 100).len() > spoken(200, 100).len() * 3 / 2);
    assert!(harness::rms(&spoken(160, 30)) < harness::rms(&spoken(160, 100)) / 2.0);
    let peak = spoken(160, 100)
        .iter()
        .map(|sample| sample.unsigned_abs())
        .max()
        .unwrap();
    assert!(peak < 32_767, "clips");
}

fn seconds(path: &std::path::Path) -> f64 {
    let reader = hound::WavReader::open(path).unwrap();
    f64::from(reader.duration()) / f64::from(reader.spec().sample_rate)
}

#[test]
fn speech_dispatcher_conforms_and_is_heard() {
    Private::start().run_inside("conformance::inside_speech_dispatcher_conforms_and_is_heard");
}

#[test]
#[ignore = "run by the test of the same name, with the private daemon's environment"]
fn inside_speech_dispatcher_conforms_and_is_heard() {
    let _daemon = harness::daemon();
    let mut voice = SpeechDispatcher::open(Settings::default()).unwrap();
    conforms(&mut voice);

    let recording = Recording::of_loudspeaker();
    std::thread::sleep(Duration::from_millis(300));
    voice.say(SENTENCE).unwrap();
    assert!(voice.is_speaking(), "from the moment it was told to");
    std::thread::sleep(Duration::from_millis(1_000));
    let said_stop = recording.seconds();
    voice.stop();
    std::thread::sleep(Duration::from_millis(800));
    let sound = recording.finish();
    let level = |from: f64, to: f64| {
        let place = |at: f64| ((at * f64::from(room::RATE)) as usize).min(sound.len());
        harness::rms(&sound[place(from)..place(to)])
    };
    assert!(
        level(said_stop - 0.6, said_stop - 0.1) > 300.0,
        "heard while it speaks"
    );
    // 8 to 33 ms were measured on a quiet machine; a busy one gets more room.
    assert!(
        level(said_stop + 0.35, said_stop + 0.7) < 10.0,
        "silent after stop"
    );
}

#[test]
fn a_daemon_that_dies_is_told_and_one_that_returns_is_used_again() {
    Private::start().run_inside("conformance::inside_a_daemon_that_dies_is_told");
}

#[test]
#[ignore = "run by the test of the same name, with the private daemon's environment"]
fn inside_a_daemon_that_dies_is_told() {
    let daemon = harness::daemon();
    let mut voice = SpeechDispatcher::open(Settings::default()).unwrap();
    voice.say("One.").unwrap();
    assert!(voice.is_speaking());
    harness::kill(&daemon);
    // No end comes from a dead daemon: the watchdog must end the waiting.
    let since = Instant::now();
    voice.wait();
    assert!(
        since.elapsed() < Duration::from_secs(6),
        "{:?}",
        since.elapsed()
    );
    let said = voice.say("Two.");
    assert!(matches!(said, Err(VoiceError::NoDaemon { .. })), "{said:?}");
    voice.stop();
    assert!(!voice.is_speaking());

    let _again = harness::daemon();
    voice.say("Three.").unwrap();
    assert!(voice.is_speaking());
    voice.wait();
}

#[test]
fn without_a_daemon_it_says_what_to_do_and_starts_none() {
    let folder = tempfile::tempdir().unwrap();
    let address = format!("unix_socket:{}", folder.path().join("none.sock").display());
    let told = room::child(
        "conformance::inside_without_a_daemon",
        &[("SPEECHD_ADDRESS", &address)],
    );
    assert!(told.contains("test result: ok. 1 passed"), "{told}");
    assert!(!folder.path().join("none.sock").exists());
}

#[test]
#[ignore = "run by the test of the same name, with an address where nobody listens"]
fn inside_without_a_daemon() {
    let Err(error) = SpeechDispatcher::open(Settings::default()) else {
        panic!("nobody listens")
    };
    assert!(
        error
            .to_string()
            .contains("start it, or run `cargo xtask setup`"),
        "{error}"
    );
}

#[test]
fn a_daemon_of_our_own_is_started_where_none_listens_and_ends_with_the_voice() {
    Private::start().run_inside("conformance::inside_a_daemon_of_our_own");
}

#[test]
#[ignore = "run by the test above, with an address where nobody listens"]
fn inside_a_daemon_of_our_own() {
    let address = voice::Address::from_environment();
    assert!(!address.listens());
    let mut voice = SpeechDispatcher::open_or_start(Settings::default()).unwrap();
    assert!(address.listens());
    voice.say("Ready.").unwrap();
    voice.wait();
    drop(voice);
    assert!(!address.listens(), "no stray daemon stays behind");
}

#[test]
fn the_loudspeaker_conforms_and_is_heard() {
    Private::start().run_inside("conformance::inside_the_loudspeaker_conforms_and_is_heard");
}

#[test]
#[ignore = "run by the test of the same name, with the private sound server's environment"]
fn inside_the_loudspeaker_conforms_and_is_heard() {
    plays_what_it_tells(Loudspeaker::open("en-us", Settings::default()).unwrap());
}

#[test]
fn the_neural_voice_conforms_and_is_heard() {
    Private::start().run_inside("conformance::inside_the_neural_voice_conforms_and_is_heard");
}

#[test]
#[ignore = "run by the test of the same name, with the private sound server's environment"]
fn inside_the_neural_voice_conforms_and_is_heard() {
    plays_what_it_tells(Loudspeaker::open_neural(Settings::default()).unwrap());
}

/// What every voice on the loudspeaker promises besides.
fn plays_what_it_tells(mut voice: Loudspeaker) {
    conforms(&mut voice);

    let played = voice.played().unwrap();
    let recording = Recording::of_loudspeaker();
    while played.try_recv().is_ok() {}
    voice.say(SENTENCE).unwrap();
    assert!(voice.is_speaking(), "from the moment it was told to");
    let mut told = Vec::new();
    while voice.is_speaking() {
        // The last piece may be told before it falls silent: nothing comes then.
        match played.recv_timeout(Duration::from_millis(50)) {
            Ok(piece) => told.extend(piece.samples),
            Err(error) => assert!(error.is_timeout(), "{error}"),
        }
    }
    told.extend(played.try_iter().flat_map(|piece| piece.samples));
    let words = voice.words_within(Duration::from_secs(20)).unwrap();
    let spoken: Vec<&str> = words.iter().map(String::as_str).collect();
    assert_eq!(
        spoken[spoken.len() - 4..],
        ["hundred", "and", "seventy-three", "foot-pounds"]
    );
    assert!(voice.began().is_some());
    // What it told that it played is what came out.
    std::thread::sleep(Duration::from_millis(500));
    let sound = recording.finish();
    let told: Vec<i16> = told.iter().map(|it| (it * 32_767.0) as i16).collect();
    let energy =
        |samples: &[i16], rate: f64| harness::rms(samples).powi(2) * samples.len() as f64 / rate;
    let ratio = energy(&sound, f64::from(room::RATE)) / energy(&told, 22_050.0);
    assert!((0.9..1.1).contains(&ratio), "{ratio}");

    voice.say(SENTENCE).unwrap();
    let recording = Recording::of_loudspeaker();
    while voice.began().is_none() {
        std::thread::sleep(Duration::from_millis(5));
    }
    std::thread::sleep(Duration::from_millis(700));
    let said_stop = recording.seconds();
    voice.stop();
    assert!(!voice.is_speaking());
    std::thread::sleep(Duration::from_millis(800));
    voice.sound(Earcon::Heard);
    let earcon = recording.seconds();
    // A busy machine may play or record it late.
    let told = Instant::now();
    let still_silent = || recording.silent_for().as_secs_f64() >= recording.seconds() - earcon;
    while still_silent() && told.elapsed() < MAX_DELAY {
        std::thread::sleep(Duration::from_millis(20));
    }
    std::thread::sleep(Duration::from_millis(300));
    let sound = recording.finish();
    let loudest = |from: f64, to: f64| {
        let place = |at: f64| ((at * f64::from(room::RATE)) as usize).min(sound.len());
        let heard = &sound[place(from)..place(to)];
        heard.iter().map(|it| it.unsigned_abs()).max().unwrap_or(0)
    };
    assert!(
        loudest(said_stop - 0.5, said_stop) > 1_000,
        "heard while it speaks"
    );
    assert!(
        loudest(said_stop + 0.35, said_stop + 0.7) < 30,
        "silent after stop"
    );
    assert!(loudest(earcon, f64::INFINITY) > 1_000, "an earcon sounds");
}

#[test]
fn without_its_files_the_neural_voice_says_what_to_do() {
    let empty = tempfile::tempdir().unwrap();
    let without_library = tempfile::tempdir().unwrap();
    let voices = voice::fixtures::cache_folder().unwrap().join("voices");
    std::os::unix::fs::symlink(voices, without_library.path().join("voices")).unwrap();
    let cache = |folder: &tempfile::TempDir| folder.path().to_string_lossy().into_owned();
    for lacking in [
        ("SAYBACK_CACHE", cache(&empty)),
        ("SAYBACK_CACHE", cache(&without_library)),
        ("SAYBACK_ONNXRUNTIME_LIB", "/nowhere".to_owned()),
        ("SAYBACK_ONNXRUNTIME_LIB", "libespeak-ng.so.1".to_owned()),
    ] {
        let (variable, value) = &lacking;
        let told = room::child(
            "conformance::inside_without_its_files",
            &[(*variable, value)],
        );
        assert!(told.contains("test result: ok. 1 passed"), "{told}");
    }
}

#[test]
#[ignore = "run by the test above, where something of it is missing"]
fn inside_without_its_files() {
    let Err(error) = Neural::load() else {
        panic!("something is missing")
    };
    assert!(error.to_string().contains("cargo xtask setup"), "{error}");
}

#[test]
fn the_neural_voice_keeps_to_speed_and_volume_and_tells_each_word() {
    let neural = Neural::load().unwrap();
    let spoken = |rate, volume| {
        let settings = Settings {
            rate: WordsPerMinute::new(rate),
            volume: Volume::new(volume),
            ..Settings::default()
        };
        neural.timed(SENTENCE, settings).unwrap()
    };
    let (sound, words) = spoken(160, 100);
    let told: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
    assert_eq!(told[..4], ["Tighten", "the", "axle", "nut"]);
    assert!(words.is_sorted_by_key(|word| word.at_ms));
    assert_eq!(spoken(160, 100).0, sound, "the same words sound the same");
    assert!(spoken(110, 100).0.samples.len() > spoken(200, 100).0.samples.len() * 3 / 2);
    assert!(harness::rms(&spoken(160, 30).0.samples) < harness::rms(&sound.samples) / 2.0);
    assert_eq!(harness::rms(&spoken(160, 0).0.samples), 0.0);
    // espeak-ng speaks as many words a minute.
    let espeak = voice::synthesise(SENTENCE, &Settings::default()).unwrap();
    let ratio = sound.samples.len() as f64 / espeak.samples.len() as f64;
    assert!((0.85..1.15).contains(&ratio), "{ratio}");
}

#[test]
fn a_loudspeaker_that_vanishes_is_told_and_one_that_returns_is_used_again() {
    Private::start().run_inside("conformance::inside_a_loudspeaker_that_vanishes");
}

#[test]
#[ignore = "run by the test of the same name, with the private sound server's environment"]
fn inside_a_loudspeaker_that_vanishes() {
    let mut voice = Loudspeaker::open("en-us", Settings::default()).unwrap();
    voice.say(SENTENCE).unwrap();
    while voice.words_within(LATELY).unwrap().is_empty() {
        std::thread::sleep(Duration::from_millis(5));
    }
    assert!(voice.is_speaking());
    let outage = room::Outage::begin();
    let since = Instant::now();
    voice.wait();
    assert!(
        since.elapsed() < Duration::from_secs(30),
        "it speaks for ever"
    );
    // It may take the device a while to notice.
    let patience = Instant::now() + Duration::from_secs(30);
    while voice.say("Two.").is_ok() {
        assert!(
            Instant::now() < patience,
            "a sentence into nothing is no error"
        );
        voice.wait();
    }
    voice.stop();
    assert!(!voice.is_speaking());

    let _server = outage.end();
    voice.say("Three.").unwrap();
    assert!(voice.is_speaking());
    voice.wait();
    // What sounded before may be in the room still.
    let words = voice.words_within(LATELY).unwrap();
    assert_eq!(words.first().map(String::as_str), Some("Tighten"));
    assert_eq!(words.last().map(String::as_str), Some("Three"));
    let lately = voice.words_within(Duration::from_millis(50)).unwrap();
    assert!(!lately.contains(&"Tighten".to_owned()), "{lately:?}");
}

#[test]
fn a_sentence_goes_on_when_its_stream_breaks() {
    Private::start().run_inside("conformance::inside_a_stream_that_breaks");
}

#[test]
#[ignore = "run by the test above, with the private sound server's environment"]
fn inside_a_stream_that_breaks() {
    let whole = voice::synthesise(SENTENCE, &Settings::default()).unwrap();
    let lasts = whole.samples.len() as f64 / f64::from(whole.rate_hz);
    let mut voice = Loudspeaker::open("en-us", Settings::default()).unwrap();
    let since = Instant::now();
    voice.say(SENTENCE).unwrap();
    while voice.words_within(LATELY).unwrap().is_empty() {
        std::thread::sleep(Duration::from_millis(5));
    }
    assert_eq!(room::break_streams(), 1);
    voice.wait();
    assert!(since.elapsed().as_secs_f64() > 0.8 * lasts, "it was cut");

    // It breaks again and again: then the device is gone, long before all is said.
    let all_of_it = 12;
    let since = Instant::now();
    for _ in 0..all_of_it {
        voice.say(SENTENCE).unwrap();
    }
    let mut breaks = 0;
    while voice.is_speaking() {
        breaks += room::break_streams();
        std::thread::sleep(Duration::from_millis(50));
    }
    // A busy machine breaks it as well, uncounted.
    assert!(breaks > 0, "nothing broke it");
    assert!(since.elapsed().as_secs_f64() < 0.8 * lasts * f64::from(all_of_it));
    // It is opened anew, and again where a busy machine breaks it once more.
    let is_said = (0..3).any(|_| {
        voice.say("Two.").unwrap();
        assert!(voice.is_speaking());
        voice.wait();
        let words = voice.words_within(LATELY).unwrap();
        words.last().is_some_and(|last| last == "Two")
    });
    assert!(is_said, "{:?}", voice.words_within(LATELY));
}

#[test]
fn without_a_device_the_loudspeaker_says_so() {
    let told = room::child(
        "conformance::inside_without_a_device",
        &[
            ("PULSE_SERVER", "unix:/nowhere"),
            ("ALSA_CONFIG_PATH", "/nowhere"),
        ],
    );
    assert!(told.contains("test result: ok. 1 passed"), "{told}");
}

#[test]
#[ignore = "run by the test above, where there is no sound device"]
fn inside_without_a_device() {
    let Err(error) = Loudspeaker::open("en-us", Settings::default()) else {
        panic!("there is no device")
    };
    assert!(error.to_string().contains("the loudspeaker"), "{error}");
}
