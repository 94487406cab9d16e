//! Where speech begins and ends, on speech made by `espeak-ng` and noise made here.

use ears::sound::echo::Playback;
use ears::sound::endpoint::{Discard, EndPointer, Event, Settings, events, utterances};
use std::path::Path;
use std::process::Command;
use std::time::Duration;

fn speech(name: &str, words: &str) -> Vec<f32> {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("endpoint-{name}.wav"));
    let status = Command::new("espeak-ng")
        .args(["-v", "en", "-w"])
        .args([path.as_os_str(), words.as_ref()])
        .status()
        .expect("espeak-ng is missing: run `cargo xtask setup`");
    assert!(status.success());
    ears::sound::file::read(&path).unwrap().samples
}

fn silence(seconds: f32) -> Vec<f32> {
    vec![0.0; (seconds * 16_000.0) as usize]
}

/// White noise with the density of a normal distribution, near enough: the sum of twelve even ones
/// (Irwin–Hall). Always the same.
fn white(seconds: f32, rms: f32) -> Vec<f32> {
    let mut state = 1u32;
    let mut even = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 8) as f32 / 16_777_216.0
    };
    (0..(seconds * 16_000.0) as usize)
        .map(|_| rms * ((0..12).map(|_| even()).sum::<f32>() - 6.0))
        .collect()
}

/// Noise of 3 dB less an octave: Paul Kellet's economy filter (a well-known musical-DSP recipe).
fn pink(seconds: f32, rms: f32) -> Vec<f32> {
    let mut b = [0.0f32; 3];
    let mut out: Vec<f32> = white(seconds, 1.0)
        .into_iter()
        .map(|white| {
            b[0] = 0.997_65 * b[0] + white * 0.099_046;
            b[1] = 0.963 * b[1] + white * 0.296_516_4;
            b[2] = 0.57 * b[2] + white * 1.052_691_3;
            b.iter().sum::<f32>() + white * 0.1848
        })
        .collect();
    let gain = rms / (out.iter().map(|s| s * s).sum::<f32>() / out.len() as f32).sqrt();
    out.iter_mut().for_each(|s| *s *= gain);
    out
}

#[test]
fn each_thing_said_is_one_utterance() {
    let (first, second) = (
        speech("first", "what size"),
        speech("second", "say that again"),
    );
    let sound = [
        silence(0.7),
        first.clone(),
        silence(0.8),
        second.clone(),
        silence(0.8),
    ]
    .concat();
    let found = utterances(&sound);
    assert_eq!(found.len(), 2);
    for (utterance, said) in found.iter().zip([first, second]) {
        // Nothing of it is cut off, and little is added: 0.3 s before, 0.4 s after, and a tail of some frames.
        let said = said.len() as f32 / 16_000.0;
        assert!(
            (said - 0.3..said + 0.8).contains(&utterance.seconds()),
            "{said} s"
        );
        assert_eq!(utterance.clipped, 0.0);
    }
}

#[test]
fn the_sizes_of_the_pieces_do_not_matter() {
    let sound = [silence(0.5), speech("pieces", "go back"), silence(1.0)].concat();
    let whole = events(&sound, Settings::default());
    assert!(
        matches!(whole[..], [Event::SpeechBegan, Event::Utterance(_)]),
        "{whole:?}"
    );
    for size in [1, 213, 4_096] {
        let mut end_pointer = EndPointer::default();
        let mut pieces: Vec<_> = sound
            .chunks(size)
            .flat_map(|p| end_pointer.push(p))
            .collect();
        pieces.extend(end_pointer.finish());
        assert_eq!(pieces, whole, "pieces of {size}");
    }
}

#[test]
fn the_end_comes_as_soon_as_the_hang_over_says() {
    let said = speech("end", "stop");
    let last = said.iter().rposition(|s| s.abs() > 0.02).unwrap();
    let sound = [silence(0.5), said, silence(2.0)].concat();
    let mut end_pointer = EndPointer::default();
    let end = sound
        .chunks(160)
        .position(|piece| {
            end_pointer
                .push(piece)
                .iter()
                .any(|event| matches!(event, Event::Utterance(_)))
        })
        .unwrap();
    let after = end as f32 * 0.01 - 0.5 - last as f32 / 16_000.0;
    assert!(
        (0.3..0.75).contains(&after),
        "{after} s after the last sound"
    );
}

#[test]
fn steady_noise_is_no_utterance() {
    for rms in [0.003, 0.03, 0.3] {
        for (name, noise) in [("white", white(6.0, rms)), ("pink", pink(6.0, rms))] {
            let found = events(&noise, Settings::default());
            let said = found
                .iter()
                .any(|e| matches!(e, Event::Utterance(_) | Event::CutShort(_)));
            assert!(!said, "{name} noise of {rms}");
        }
    }
    // A burst of it, as of an air line.
    assert_eq!(
        utterances(&[silence(1.0), white(0.5, 0.2), silence(1.0)].concat()),
        []
    );
}

#[test]
fn hostile_samples_do_no_harm() {
    for value in [
        f32::NAN,
        f32::INFINITY,
        f32::NEG_INFINITY,
        f32::MAX,
        -1.0,
        1.0,
    ] {
        assert_eq!(utterances(&vec![value; 40_000]), [], "{value}");
    }
    assert_eq!(utterances(&[]), []);
    let sound = [
        vec![f32::NAN; 9_000],
        speech("hostile", "carry on"),
        silence(1.0),
    ]
    .concat();
    assert_eq!(utterances(&sound).len(), 1, "what follows is found as ever");
}

#[test]
fn the_speech_to_noise_ratio_is_near_what_was_mixed() {
    let said = speech("ratio", "the wheel is off and the hose is hung up");
    let loud: Vec<f32> = said.iter().copied().filter(|s| s.abs() > 0.01).collect();
    let rms = (loud.iter().map(|s| s * s).sum::<f32>() / loud.len() as f32).sqrt();
    for mixed in [20.0f32, 10.0, 5.0] {
        let sound = [silence(1.0), said.clone(), silence(1.0)].concat();
        let noise = white(
            sound.len() as f32 / 16_000.0,
            rms / 10f32.powf(mixed / 20.0),
        );
        let sound: Vec<f32> = sound.iter().zip(noise).map(|(s, n)| s + n).collect();
        let found = utterances(&sound);
        assert_eq!(found.len(), 1, "at {mixed} dB");
        let measured = found[0].snr_db.unwrap();
        assert!(
            (measured - mixed).abs() < 4.0,
            "{mixed} dB was measured as {measured:.1} dB"
        );
    }
}

#[test]
fn no_part_of_an_endless_stretch_is_an_utterance() {
    let settings = Settings {
        maximum: Duration::from_secs(2),
        hang_over: Duration::from_millis(400),
        ..Settings::default()
    };
    let long = speech(
        "long",
        "we took the wheel off and then the hub came loose so we left it there",
    );
    assert!(long.len() > 40_000, "longer than the maximum");
    let after = speech("after", "next");
    let sound = [silence(0.5), long, silence(1.0), after, silence(1.0)].concat();
    let found = events(&sound, settings);
    let pieces = found
        .iter()
        .filter(|e| matches!(e, Event::CutShort(_)))
        .count();
    let whole = found
        .iter()
        .filter(|e| matches!(e, Event::Utterance(_)))
        .count();
    assert!(
        pieces >= 2,
        "the piece that reached the maximum, and the rest: {pieces}"
    );
    assert_eq!(whole, 1, "only what was said after a pause");
    assert!(matches!(found.last(), Some(Event::Utterance(_))));
}

#[test]
fn what_is_too_short_is_discarded() {
    let settings = Settings {
        minimum: Duration::from_secs(5),
        ..Settings::default()
    };
    let sound = [silence(0.5), speech("short", "yes"), silence(1.0)].concat();
    let found = events(&sound, settings);
    assert_eq!(
        found,
        [Event::SpeechBegan, Event::Discarded(Discard::TooShort)]
    );
}

#[test]
fn what_sound_was_lost_in_is_no_utterance() {
    let (said, after) = (
        speech("lost", "the jack is down"),
        speech("lost-after", "next"),
    );
    let hears = |sounds: &[&[f32]]| {
        let mut end_pointer = EndPointer::default();
        let mut found = Vec::new();
        for (number, sound) in sounds.iter().enumerate() {
            if number > 0 {
                end_pointer.lost_sound();
            }
            found.extend(end_pointer.push(sound));
        }
        found.extend(end_pointer.finish());
        let kinds = found.iter().filter_map(|event| match event {
            Event::Utterance(_) => Some("utterance"),
            Event::CutShort(_) => Some("cut short"),
            Event::SpeechBegan | Event::Pause { .. } | Event::Resumed | Event::Discarded(_) => None,
        });
        kinds.collect::<Vec<_>>()
    };
    let (pause, half) = (silence(0.8), said.len() / 2);
    let before = [&pause[..], &said[..half]].concat();
    let rest = [&said[half..], &pause[..], &after[..], &pause[..]].concat();
    // A hole in the middle spoils what was said around it, and nothing after the next pause.
    assert_eq!(hears(&[&before, &rest]), ["cut short", "utterance"]);
    // A hole just before speech may have held its first word.
    assert_eq!(hears(&[&pause, &rest]), ["cut short", "utterance"]);
    // One before a pause spoils nothing.
    let whole = [&pause[..], &said[..], &pause[..]].concat();
    assert_eq!(hears(&[&silence(0.1), &whole]), ["utterance"]);
}

/// With the pause told that may be the end.
fn early() -> Settings {
    Settings {
        early: Some(Duration::from_millis(208)),
        command: Duration::from_millis(600),
        hang_over: Duration::from_millis(600),
        ..Settings::default()
    }
}

#[test]
fn a_pause_is_told_before_the_end_and_again_when_more_was_said() {
    let (first, second) = (speech("early-1", "next"), speech("early-2", "no wait"));
    let sound = [silence(0.5), first, silence(0.25), second, silence(1.0)].concat();
    let told = events(&sound, early());
    let [
        Event::SpeechBegan,
        Event::Pause { said: so_far, .. },
        Event::Resumed,
        Event::Pause { said: all, .. },
        Event::Utterance(at_last),
    ] = &told[..]
    else {
        panic!("{told:?}")
    };
    assert!(so_far.seconds() < all.seconds());
    // What is told early is how what is told at last begins.
    assert_eq!(all.samples, at_last.samples[..all.samples.len()]);
    assert_eq!(so_far.samples, at_last.samples[..so_far.samples.len()]);
    assert!(at_last.seconds() - all.seconds() < 0.5);
}

#[test]
fn what_was_taken_at_its_pause_comes_no_more_and_what_follows_stands_alone() {
    let (first, second) = (speech("taken-1", "next"), speech("taken-2", "what torque"));
    let mut end_pointer = EndPointer::new(early());
    let mut taken = 0;
    let mut rest = Vec::new();
    let sound = [
        silence(0.5),
        first,
        silence(0.3),
        second.clone(),
        silence(1.0),
    ]
    .concat();
    for piece in sound.chunks(160) {
        for event in end_pointer.push(piece) {
            match event {
                Event::Pause { .. } if taken == 0 => {
                    taken += 1;
                    end_pointer.end_at_pause();
                }
                event => rest.push(event),
            }
        }
    }
    rest.extend(end_pointer.finish());
    let [
        Event::SpeechBegan,
        Event::SpeechBegan,
        Event::Pause { .. },
        Event::Utterance(alone),
    ] = &rest[..]
    else {
        panic!("{rest:?}")
    };
    assert!(alone.seconds() < second.len() as f32 / 16_000.0 + 1.1);
}

#[test]
fn where_readbacks_are_waited_for_a_command_is_told_of_at_its_own_pause() {
    let settings = Settings {
        command: Duration::from_millis(400),
        ..early()
    };
    let sound = [
        silence(0.5),
        speech("told-twice", "what torque"),
        silence(1.0),
    ]
    .concat();
    let told = events(&sound, settings);
    let [
        Event::SpeechBegan,
        Event::Pause { silence: first, .. },
        Event::Pause {
            silence: second, ..
        },
        Event::Utterance(_),
    ] = &told[..]
    else {
        panic!("{told:?}")
    };
    assert_eq!(
        [first, second].map(|silence| silence.as_millis()),
        [208, 400]
    );
}

/// Pieces are parted by pauses of 0.2 s and more; the gaps inside words are shorter.
#[test]
fn an_utterance_tells_where_in_it_somebody_speaks() {
    let (first, second) = (speech("piece-1", "next"), speech("piece-2", "no wait"));
    let sound = [silence(0.5), first, silence(0.15), second, silence(1.0)].concat();
    let told = events(&sound, early());
    let Some(Event::Utterance(all)) = told.last() else {
        panic!("{told:?}")
    };
    let [one, other] = &all.pieces[..] else {
        panic!("{:?}", all.pieces)
    };
    let pause = (other.start - one.end) as f32 / 16_000.0;
    assert!((0.2..0.6).contains(&pause), "{pause}");
    let last = all.last_piece().unwrap();
    assert_eq!(
        last.samples[last.pieces[0].clone()],
        all.samples[other.clone()]
    );
}

#[test]
fn whoever_has_spoken_on_isnt_cut_off_by_what_was_taken() {
    let words = speech("on", "no no no no");
    let mut end_pointer = EndPointer::new(early());
    end_pointer.push(&[silence(0.5), words[..words.len() / 2].to_vec()].concat());
    // Nobody has paused: there is nothing to be taken.
    end_pointer.end_at_pause();
    assert!(end_pointer.hears_speech());
}

#[test]
fn an_utterance_tells_for_how_long_the_loudspeaker_sounded_in_it() {
    let words = speech("under", "hold on");
    let sound = [silence(0.5), words, silence(1.0)].concat();
    let heard = |playback: Playback| {
        let mut end_pointer = EndPointer::default();
        let mut events = Vec::new();
        for piece in sound.chunks(160) {
            end_pointer.playing(playback);
            events.extend(end_pointer.push(piece));
        }
        let mut utterances = events.into_iter().filter_map(|event| match event {
            Event::Utterance(utterance) => Some(utterance),
            _other => None,
        });
        utterances.next().unwrap()
    };
    let silent = heard(Playback::Silent);
    assert_eq!((silent.under_playback, silent.uncancelled), (0.0, false));
    assert!(!silent.ends_under_playback);
    let cancelled = heard(Playback::Cancelled);
    assert!((cancelled.under_playback - cancelled.seconds()).abs() < 0.1);
    assert!(cancelled.ends_under_playback && !cancelled.uncancelled);
    assert!(heard(Playback::Learning).uncancelled);
}
