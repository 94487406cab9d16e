//! What a probability is reckoned from: a handful of numbers, each bounded, that evidence is boiled down to.

use super::veto;
use crate::Hypothesis;
use serde::{Deserialize, Serialize};

/// How many features there are.
pub const COUNT: usize = 14;

/// A number for each feature: its value, or its weight.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Features {
    /// Log-likelihood per token, corrected by the prior.
    pub score: f32,
    /// How far above the best other thing that may be said.
    pub runner_up: f32,
    /// How far above the best decoy.
    pub decoy: f32,
    /// How far above the best decoy by the sound only: a denial in unusual words shows here.
    pub by_sound: f32,
    /// Natural logarithm of how likely it is that nothing follows: “… says the foreman” shows here, too.
    pub ending: f32,
    /// How far above the free transcription, which is mostly better.
    pub free: f32,
    /// Natural logarithm of how likely the least likely token was: a word that was another one shows here.
    pub weakest: f32,
    /// Log-likelihood per token of the free transcription: how much like speech it was at all.
    pub speech: f32,
    /// How like the phrase that part of the free transcription is that fits it best, letter by letter: 0 to 1.
    pub agreement: f32,
    /// Letters of the free transcription before and after that part, in tens, up to 3, negative: “… says the
    /// foreman” shows here.
    pub overhang: f32,
    /// −1 where the free transcription denies, puts off or asks.
    pub turned: f32,
    /// Speech to noise in tens of decibel, up to 3.
    pub noise: f32,
    /// How usual its length is for the phrase, negative: what else was said shows here.
    pub pace: f32,
    /// Letters of the phrase, in tens, up to 3: short words are said by chance.
    pub length: f32,
}

impl Features {
    /// Those of a hypothesis; `None` where the recogniser gave no score or something is no number.
    pub fn of(hypothesis: &Hypothesis) -> Option<Self> {
        let evidence = &hypothesis.evidence;
        let free = evidence.free_transcription.as_deref().unwrap_or_default();
        let said = letters(&hypothesis.words);
        let above = |margin: Option<f32>| bounded(margin.unwrap_or(12.0), -3.0, 12.0);
        let fit = Fit::of(&hypothesis.words, free);
        // Silence that an utterance holds before and after what was said, by the end-pointer's settings.
        let seconds = (evidence.seconds - 0.6).max(0.1);
        let pace = (said.len().max(1) as f32 / seconds / USUAL_PACE).ln();
        let features = Self {
            score: bounded(evidence.score?, -4.0, 5.0),
            runner_up: above(evidence.margin_runner_up),
            decoy: above(evidence.margin_decoy),
            by_sound: bounded(evidence.margin_decoy_by_sound.unwrap_or(6.0), -6.0, 6.0),
            ending: bounded(evidence.ending.unwrap_or(0.0), -10.0, 0.0),
            free: bounded(evidence.margin_free?, -25.0, 3.0),
            weakest: bounded(evidence.confidence?.max(1e-6).ln(), -10.0, 0.0),
            speech: bounded(evidence.free_score.unwrap_or(-1.0), -3.0, 0.0),
            agreement: fit.likeness,
            overhang: -bounded(fit.overhang as f32 / 10.0, 0.0, 3.0),
            turned: if veto::holds(&hypothesis.words, evidence) {
                -1.0
            } else {
                0.0
            },
            noise: bounded(evidence.snr_db.unwrap_or(15.0) / 10.0, 0.0, 3.0),
            pace: -bounded(pace.abs(), 0.0, 2.0),
            length: bounded(said.len() as f32 / 10.0, 0.0, 3.0),
        };
        features
            .all()
            .iter()
            .all(|value| value.is_finite())
            .then_some(features)
    }

    /// All of them in their order.
    pub fn all(&self) -> [f32; COUNT] {
        [
            self.score,
            self.runner_up,
            self.decoy,
            self.by_sound,
            self.ending,
            self.free,
            self.weakest,
            self.speech,
            self.agreement,
            self.overhang,
            self.turned,
            self.noise,
            self.pace,
            self.length,
        ]
    }

    /// From all of them in their order.
    pub fn from_all(all: [f32; COUNT]) -> Self {
        let [
            score,
            runner_up,
            decoy,
            by_sound,
            ending,
            free,
            weakest,
            speech,
            agreement,
            overhang,
            turned,
            noise,
            pace,
            length,
        ] = all;
        Self {
            score,
            runner_up,
            decoy,
            by_sound,
            ending,
            free,
            weakest,
            speech,
            agreement,
            overhang,
            turned,
            noise,
            pace,
            length,
        }
    }
}

/// Letters a second of an unhurried speaker; measured on the bench's voices, whose middle is 13.
const USUAL_PACE: f32 = 13.0;

/// How long an unhurried speaker takes for these words, in seconds.
pub(crate) fn usual_seconds(words: &str) -> f32 {
    letters(words).len() as f32 / USUAL_PACE
}

/// Holds a value to a range; what is no number stays none.
fn bounded(value: f32, least: f32, most: f32) -> f32 {
    if value.is_nan() {
        value
    } else {
        value.clamp(least, most)
    }
}

/// How a free transcription fits a phrase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    /// 1 less the letters that differ for each letter of the phrase, in the part that fits best.
    pub(super) likeness: f32,
    /// Letters before and after that part.
    pub(super) overhang: usize,
}

impl Fit {
    /// The phrase is laid into the text where the fewest letters have to be changed, put in or taken out (P. Sellers,
    /// "The Theory and Computation of Evolutionary Distances", 1980); of several such places the longest.
    pub(super) fn of(phrase: &str, text: &str) -> Self {
        let (phrase, text) = (letters(phrase), letters(&said_once(text)));
        // For each end in the text: the changes, and where in the text it began.
        let mut row: Vec<(usize, usize)> = (0..=text.len()).map(|at| (0, at)).collect();
        for (at, letter) in phrase.iter().enumerate() {
            let mut diagonal = row[0];
            row[0] = (at + 1, 0);
            for (n, its) in text.iter().enumerate() {
                let changed = (diagonal.0 + usize::from(letter != its), diagonal.1);
                diagonal = row[n + 1];
                let taken_out = (diagonal.0 + 1, diagonal.1);
                let put_in = (row[n].0 + 1, row[n].1);
                row[n + 1] = changed.min(taken_out).min(put_in);
            }
        }
        let ends = row.into_iter().enumerate();
        let fits = ends.map(|(end, (changes, start))| (changes, start + text.len() - end));
        let (changes, overhang) = fits.min().unwrap_or_default();
        Self {
            likeness: (1.0 - changes as f32 / phrase.len().max(1) as f32).max(0.0),
            overhang,
        }
    }
}

/// A text that ends in the same words twice, without the second time: over a short context the free transcription
/// tends to repeat itself.
fn said_once(text: &str) -> String {
    let words: Vec<String> = text
        .split_whitespace()
        .map(|word| letters(word).into_iter().collect())
        .filter(|word: &String| !word.is_empty())
        .collect();
    let mut kept = words.len();
    // The same words twice, or one word three times.
    let repeats = |kept: usize, part: usize| {
        let again =
            |from: usize| words[kept - part..kept] == words[kept - from..kept - from + part];
        again(2 * part) && (part > 1 || (kept > 2 && again(3)))
    };
    while let Some(part) = (1..=kept / 2).rev().find(|part| repeats(kept, *part)) {
        kept -= if part > 1 { part } else { 2 };
    }
    words[..kept].join(" ")
}

/// A text's letters and digits, in lower case.
pub(crate) fn letters(text: &str) -> Vec<char> {
    let lower = text.to_lowercase();
    lower
        .chars()
        .filter(|letter| letter.is_alphanumeric())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_part_that_fits_is_found_and_the_rest_counted() {
        let fit = |text: &str| Fit::of("Both stands.", text);
        assert_eq!(
            fit("both stands"),
            Fit {
                likeness: 1.0,
                overhang: 0
            }
        );
        assert_eq!(
            fit("Both stands, says the foreman."),
            Fit {
                likeness: 1.0,
                overhang: 14
            }
        );
        assert_eq!(
            fit("He said both stands"),
            Fit {
                likeness: 1.0,
                overhang: 6
            }
        );
        assert_eq!(
            fit("Both stands. Both stands."),
            Fit {
                likeness: 1.0,
                overhang: 0
            }
        );
        assert_eq!(Fit::of("silence", "Silence silence, silence").overhang, 0);
        assert_eq!(
            Fit::of("both stands", "Both stands both stands. Both stands").overhang,
            0
        );
        // One letter of ten: "bath".
        assert_eq!(
            fit("bath stands"),
            Fit {
                likeness: 0.9,
                overhang: 0
            }
        );
        assert_eq!(
            fit(""),
            Fit {
                likeness: 0.0,
                overhang: 0
            }
        );
        assert_eq!(
            Fit::of("", "next"),
            Fit {
                likeness: 1.0,
                overhang: 4
            }
        );
    }
}
