//! Recordings of people, read where they lie: one's own, or a folder with `human/manifest.tsv` (path, words,
//! speaker, source; tabs between). They only ever report.

use super::listening::{Context, DIGITS, TEN_WORDS};
use super::material::{Place, Set, Take};
use super::shop::{Chance, Noise};
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// How many times three digits are joined, and three words.
const THREES: usize = 160;

struct Recording {
    path: PathBuf,
    words: String,
    speaker: String,
}

/// Where recordings of people lie: `$SAYBACK_SPEECH`, else `shared/speech` beside the workspace.
pub fn folder(workspace: &Path) -> PathBuf {
    match std::env::var_os("SAYBACK_SPEECH") {
        Some(folder) => folder.into(),
        None => workspace.join("../shared/speech"),
    }
}

/// Takes of the ten words and of digits, one by one and three by three, and of other words and noise. Three of one
/// person's recordings in a row are no sentence, but their voice and their microphone are real.
///
/// # Errors
/// When there is no manifest; measuring then goes on without people.
pub fn takes(folder: &Path) -> io::Result<Vec<Take>> {
    let folder = folder.join("human");
    let manifest = std::fs::read_to_string(folder.join("manifest.tsv"))?;
    let recordings: Vec<Recording> = manifest
        .lines()
        .skip(1)
        .filter_map(|line| {
            let mut fields = line.split('\t');
            Some(Recording {
                path: folder.join(fields.next()?),
                words: fields.next()?.to_owned(),
                speaker: fields.next()?.to_owned(),
            })
        })
        .collect();
    let mut takes = Vec::new();
    let mut digits: BTreeMap<&str, Vec<&Recording>> = BTreeMap::new();
    let mut words: BTreeMap<&str, Vec<&Recording>> = BTreeMap::new();
    for recording in &recordings {
        let digit = recording
            .path
            .components()
            .any(|part| part.as_os_str() == "digits");
        let known = TEN_WORDS.contains(&recording.words.as_str());
        let (set, context) = match (digit, known) {
            (true, _) => (Set::PeopleDigits, Context::Digit),
            (false, true) => (Set::PeopleWords, Context::TenWords),
            (false, false) => (Set::PeopleOther, Context::TenWords),
        };
        takes.push(take(set, context, &recording.words, &[recording]));
        let by_speaker = match set {
            Set::PeopleDigits if DIGITS.contains(&recording.words.as_str()) => &mut digits,
            Set::PeopleWords => &mut words,
            _ => continue,
        };
        by_speaker
            .entry(&recording.speaker)
            .or_default()
            .push(recording);
    }
    let mut chance = Chance::new(3);
    for (set, context, by_speaker) in [
        (Set::PeopleThreeDigits, Context::ThreeDigits, &digits),
        (Set::PeopleThreeWords, Context::ThreeWords, &words),
    ] {
        let speakers: Vec<_> = by_speaker.values().filter(|own| own.len() > 2).collect();
        for number in 0..if speakers.is_empty() { 0 } else { THREES } {
            let own = speakers[number % speakers.len()];
            let three = [(); 3].map(|()| own[chance.below(own.len())]);
            let words = three.map(|one| one.words.as_str()).join(" ");
            takes.push(take(set, context, &words, &three));
        }
    }
    Ok(takes)
}

fn take(set: Set, context: Context, words: &str, recordings: &[&Recording]) -> Take {
    Take {
        set,
        development: false,
        speaker: recordings
            .first()
            .map(|one| one.speaker.clone())
            .unwrap_or_default(),
        words: words.to_owned(),
        pause_s: 0.0,
        recordings: recordings.iter().map(|one| one.path.clone()).collect(),
        context,
        meant: set != Set::PeopleOther,
        noise: Noise::Clean,
        snr_db: 60.0,
        place: Place::Close,
        said_before: 0,
    }
}
