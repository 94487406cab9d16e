//! Anybody's recordings and phrases: a folder of WAV files, a manifest of what is said in them, a list of what may
//! be said.

use super::measure::{Figure, wilson};
use ears::sound::{Utterance, endpoint, file};
use ears::verdict::{Bars, Verdict};
use ears::vosk::Vosk;
use ears::whisper::{ClosedSet, default_model_dir};
use ears::{Phrase, PhraseSet, Recogniser, Stake};
use std::error::Error;
use std::path::Path;

/// Hears every file of the manifest (path, words; a tab between; empty words: nothing that may be said; a line behind a `#`
/// doesn't count) among the phrases (one a line; those behind a `-` are decoys): by the ear, and where a Vosk model is
/// given by that as well.
///
/// # Errors
/// When a file can't be read, or the ear can't listen for the phrases.
pub fn figures(
    folder: &Path,
    manifest: &Path,
    phrases: &Path,
    vosk: Option<&Path>,
) -> Result<Vec<Figure>, Box<dyn Error + Send + Sync>> {
    let listed = std::fs::read_to_string(phrases)?;
    let lines = listed
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty());
    let set = PhraseSet {
        phrases: lines
            .map(|line| match line.strip_prefix('-') {
                Some(decoy) => Phrase::decoy(decoy.trim(), Stake::Move),
                None => Phrase::plain(line, Stake::Move),
            })
            .collect(),
    };
    let manifest = std::fs::read_to_string(manifest)?;
    let mut ear = ClosedSet::load(&default_model_dir(), 2)?;
    let names = ["scorer without verdict", "ear"];
    let mut figures = heard_by(&mut ear, names, &set, folder, &manifest)?;
    if let Some(model) = vosk {
        let mut ear = Vosk::load(model)?;
        let name = format!("Vosk {}", ear.description().model);
        let judged = format!("{name}, judged");
        let names = [name.as_str(), judged.as_str()];
        figures.extend(heard_by(&mut ear, names, &set, folder, &manifest)?);
    }
    Ok(figures)
}

/// The same by one recogniser, told under its name without and with the verdict.
fn heard_by(
    ear: &mut dyn Recogniser,
    [alone, judged]: [&str; 2],
    set: &PhraseSet,
    folder: &Path,
    manifest: &str,
) -> Result<Vec<Figure>, Box<dyn Error + Send + Sync>> {
    for unknown in ear.listen_for(set)? {
        eprintln!("{alone} doesn't know `{unknown}`");
    }
    let bars = Bars::default();
    let (mut meant, mut right, mut accepted, mut others, mut false_ones) = (0, 0, 0, 0, 0);
    for line in manifest.lines() {
        let mut fields = line.split('\t').map(str::trim);
        let (path, words) = (
            fields.next().unwrap_or_default(),
            fields.next().unwrap_or_default(),
        );
        if path.is_empty() || path.starts_with('#') {
            continue;
        }
        let words = words.to_lowercase();
        let samples = file::read(&folder.join(path))?.samples;
        let mut utterances = endpoint::utterances(&samples);
        if utterances.is_empty() {
            utterances.push(Utterance::whole(samples));
        }
        let (mut best, mut taken) = (false, Vec::new());
        for utterance in utterances {
            let Some(heard) = ear.hear(&utterance)? else {
                continue;
            };
            best |= heard.words == words && !heard.decoy;
            if bars.judge(&heard) == Verdict::Accept {
                taken.push(heard.words);
            }
        }
        if words.is_empty() {
            others += 1;
            false_ones += usize::from(!taken.is_empty());
        } else {
            meant += 1;
            right += usize::from(best);
            accepted += usize::from(!taken.is_empty() && taken.iter().all(|it| *it == words));
        }
    }
    let figure = |system: &str, metric: &str, hits: usize, of: usize| {
        let (low95, high95) = wilson(hits, of);
        Figure {
            system: system.to_owned(),
            set: "own recordings".to_owned(),
            noise: "as recorded".to_owned(),
            snr_db: None,
            metric: metric.to_owned(),
            value: hits as f64 / of.max(1) as f64,
            n: of as f64,
            low95,
            high95,
        }
    };
    Ok(vec![
        figure(alone, "right", right, meant),
        figure(judged, "accepted", accepted, meant),
        figure(judged, "false commands", false_ones, others),
    ])
}
