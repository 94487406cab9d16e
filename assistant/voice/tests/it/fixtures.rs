//! The spoken fixtures, listened to by numbers: format, level, length, sameness.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use voice::VoiceError;
use voice::fixtures::{Engine, Manifest, Script, Speaker, cache_folder};

mod harness {
    pub fn rms(samples: &[i16]) -> f64 {
        let squares: f64 = samples
            .iter()
            .map(|&sample| f64::from(sample).powi(2))
            .sum();
        (squares / samples.len().max(1) as f64).sqrt()
    }
}

const WORDS: &str = "the vehicle is on stands";

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../audio-fixtures")
}

/// A cache without clips that shares the models and their Python environment with the real one.
fn fresh_cache() -> tempfile::TempDir {
    let real = cache_folder().unwrap();
    let fresh = tempfile::tempdir().unwrap();
    for shared in ["venv", "voices", "near-human"] {
        let there = real.join(shared);
        assert!(
            there.exists(),
            "{} is missing: run `cargo xtask setup`",
            there.display()
        );
        std::os::unix::fs::symlink(there, fresh.path().join(shared)).unwrap();
    }
    fresh
}

fn speaker(cache: &Path) -> Speaker {
    Speaker::open(cache, &folder().join("voices.toml")).unwrap()
}

/// The near-human voices are listed among those that hearing is measured with.
fn near_human(cache: &Path) -> (Speaker, Vec<String>) {
    let speaker = Speaker::open(cache, &folder().join("bench-voices.toml")).unwrap();
    let ids = speaker
        .voices()
        .iter()
        .filter(|voice| matches!(voice.engine, Engine::NearHuman { .. }))
        .map(|voice| voice.id.clone())
        .collect();
    (speaker, ids)
}

fn samples(wav: &Path) -> Vec<i16> {
    let reader = hound::WavReader::open(wav).unwrap();
    let spec = reader.spec();
    assert_eq!(
        (spec.sample_rate, spec.channels, spec.bits_per_sample),
        (16_000, 1, 16)
    );
    reader.into_samples().map(Result::unwrap).collect()
}

#[test]
fn every_voice_is_heard_without_clipping_and_at_a_talking_pace() {
    let cache = fresh_cache();
    let speaker = speaker(cache.path());
    let all = speaker.voices().iter().map(|voice| voice.id.clone());
    assert_well_spoken(&speaker, &all.collect::<Vec<_>>());
    let (speaker, near_human) = near_human(cache.path());
    assert_well_spoken(&speaker, &near_human);
}

fn assert_well_spoken(speaker: &Speaker, voices: &[String]) {
    let wanted: Vec<_> = voices.iter().map(|id| (id.as_str(), WORDS)).collect();
    speaker.prepare(&wanted).unwrap();
    for id in voices {
        let sound = samples(&speaker.wav(id, WORDS).unwrap());
        // 24 letters and spaces: between 5 and 30 a second, with 0.2 s of silence before and after.
        let seconds = sound.len() as f64 / 16_000.0;
        assert!((1.2..5.2).contains(&seconds), "{}: {seconds} s", id);
        let (before, spoken) = sound.split_at(3_000);
        assert!(harness::rms(before) < 1.0, "{}: silence before", id);
        assert!(
            harness::rms(spoken) > 1_000.0,
            "{}: {}",
            id,
            harness::rms(spoken)
        );
        // −3 dB of full scale is 23 198.
        let peak = sound
            .iter()
            .map(|sample| sample.unsigned_abs())
            .max()
            .unwrap();
        assert!((23_000..23_400).contains(&peak), "{}: peak {peak}", id);
    }
}

#[test]
fn the_voices_are_of_three_engines_men_and_women_fast_and_slow() {
    let cache = fresh_cache();
    let speaker = speaker(cache.path());
    let some =
        |wanted: fn(&Engine) -> bool| speaker.voices().iter().any(|voice| wanted(&voice.engine));
    assert!(some(|engine| matches!(engine, Engine::EspeakNg { .. })));
    assert!(some(|engine| matches!(engine, Engine::Flite { .. })));
    assert!(some(|engine| matches!(engine, Engine::Piper { .. })));
    for who in ["man", "woman"] {
        assert!(
            speaker
                .voices()
                .iter()
                .filter(|voice| voice.speaker == who)
                .count()
                >= 3
        );
    }
    let length = |id| samples(&speaker.wav(id, WORDS).unwrap()).len() as f64;
    assert!(length("espeak-us-man-slow") > 1.4 * length("espeak-us-woman-fast"));
    assert!(length("flite-woman-slow") > 1.2 * length("flite-woman"));
    assert!(length("neural-man-slow") > 1.1 * length("neural-man"));
}

#[test]
fn the_same_words_give_the_same_samples_and_are_spoken_once() {
    let (one, two) = (fresh_cache(), fresh_cache());
    let (first, second) = (speaker(one.path()), speaker(two.path()));
    for voice in first.voices() {
        let wav = first.wav(&voice.id, WORDS).unwrap();
        assert_eq!(
            samples(&wav),
            samples(&second.wav(&voice.id, WORDS).unwrap()),
            "{}",
            voice.id
        );
    }
    let spoken = AtomicUsize::new(0);
    let wanted: Vec<_> = first
        .voices()
        .iter()
        .map(|voice| (voice.id.as_str(), WORDS))
        .collect();
    let count = |_, _| {
        spoken.fetch_add(1, Ordering::Relaxed);
    };
    first.prepare_and_tell(&wanted, &count).unwrap();
    assert_eq!(spoken.into_inner(), 0);
}

#[test]
fn a_near_human_voice_gives_the_same_samples_whatever_is_spoken_beside_it() {
    let (one, two) = (fresh_cache(), fresh_cache());
    let (first, ids) = near_human(one.path());
    let (second, _) = near_human(two.path());
    let [alone, .., mixed] = &ids[..] else {
        panic!("two near-human voices at least")
    };
    let wanted = [
        (alone.as_str(), WORDS),
        (alone, "not yet"),
        (mixed, WORDS),
        (mixed, "one hundred and forty newton metres"),
    ];
    first.prepare(&wanted).unwrap();
    for (id, words) in wanted.into_iter().rev() {
        assert_eq!(
            samples(&first.wav(id, words).unwrap()),
            samples(&second.wav(id, words).unwrap()),
            "{id}: {words}"
        );
    }
}

#[test]
fn no_near_human_voice_is_in_two_groups_not_even_in_a_mixture() {
    let cache = tempfile::tempdir().unwrap();
    let (speaker, _) = near_human(cache.path());
    let mut groups: BTreeMap<char, BTreeSet<&str>> = BTreeMap::new();
    for listed in speaker.voices() {
        if let Engine::NearHuman { voice, .. } = &listed.engine {
            let group = listed.id.chars().next().unwrap();
            groups.entry(group).or_default().extend(voice.split('+'));
        }
    }
    assert_eq!(groups.keys().collect::<String>(), "hnq");
    let listed: usize = groups.values().map(BTreeSet::len).sum();
    let all: BTreeSet<&str> = groups.into_values().flatten().collect();
    assert_eq!(listed, all.len());
}

#[test]
fn what_cannot_be_spoken_is_told() {
    let cache = fresh_cache();
    let speaker = speaker(cache.path());
    let unknown = speaker.wav("nobody", WORDS).unwrap_err().to_string();
    assert!(
        unknown.contains("there is no voice `nobody`; there are espeak-us-man"),
        "{unknown}"
    );
    assert!(matches!(
        speaker.wav("flite-woman", " . "),
        Err(VoiceError::Failed { .. })
    ));

    // Without the Python environment the other engines still speak.
    let bare = tempfile::tempdir().unwrap();
    let speaker = self::speaker(bare.path());
    speaker.wav("flite-woman", "not yet").unwrap();
    let neural = speaker
        .wav("neural-man", "not yet")
        .unwrap_err()
        .to_string();
    assert!(neural.contains("cargo xtask setup"), "{neural}");
    let (speaker, near_human) = near_human(bare.path());
    let told = speaker.wav(&near_human[0], "not yet").unwrap_err();
    assert!(
        told.to_string()
            .contains("near-human (run `cargo xtask setup`)"),
        "{told}"
    );
}

#[test]
fn a_text_that_looks_like_an_option_is_spoken() {
    let cache = fresh_cache();
    let speaker = speaker(cache.path());
    let (near_human, ids) = near_human(cache.path());
    for (speaker, voice) in [
        (&speaker, "espeak-us-man"),
        (&speaker, "flite-woman"),
        (&speaker, "neural-man"),
        (&near_human, &ids[0]),
    ] {
        let sound = samples(&speaker.wav(voice, "--help yourself").unwrap());
        assert!(
            (8_000..64_000).contains(&sound.len()),
            "{voice}: {}",
            sound.len()
        );
    }
}

#[test]
fn a_table_is_spoken_row_by_row_with_a_manifest() {
    let cache = fresh_cache();
    let table = cache.path().join("job.tsv");
    std::fs::write(
        &table,
        "01\tflite-man-fast\tnext\n02\tespeak-us-man\tnot yet\n",
    )
    .unwrap();
    let out = cache.path().join("job");
    let made = speaker(cache.path())
        .speak_table(&table, &out, &|_, _| {})
        .unwrap();
    assert_eq!(Manifest::read(&out.join("manifest.json")).unwrap(), made);
    let words: Vec<_> = made.clips.iter().map(|clip| clip.words.as_str()).collect();
    assert_eq!(words, ["next", "not yet"]);
    assert_eq!(made.clips[1].engine, "espeak-ng");
    assert!(samples(&out.join("02.wav")).len() > 8_000);
}

#[test]
fn the_script_is_whole_and_made_once() {
    let cache = cache_folder().unwrap();
    let script = Script::open(&cache, &folder()).unwrap();
    let manifest = script.make(&|_, _| {}).unwrap();
    assert_eq!(Manifest::read(script.manifest_path()).unwrap(), manifest);
    for group in script.groups() {
        let clips = manifest
            .clips
            .iter()
            .filter(|clip| clip.group == group.name)
            .count();
        let voices = group
            .voices
            .as_ref()
            .map_or(script.speaker().voices().len(), Vec::len);
        assert_eq!(clips, group.phrases.len() * voices, "{}", group.name);
    }
    let spoken = |_, _| panic!("a second run speaks nothing");
    assert_eq!(script.make(&spoken).unwrap(), manifest);
}
