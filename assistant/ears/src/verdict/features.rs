//! What a probability is reckoned from: a handful of numbers, each bounded, that evidence is boiled down to.

use super::veto;
use crate::Hypothesis;
use serde::{Deserialize, Serialize};

/// How many features there are.
pub const COUNT: usize = 12;

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
    /// How far above the free transcription, which is mostly better.
    pub free: f32,
    /// Natural logarithm of how likely the least likely token was: a word that was another one shows here.
    pub weakest: f32,
    /// Log-likelihood per token of the free transcription: how much like speech it was at all.
    pub speech: f32,
    /// How like the phrase the free transcription is, letter by letter: 0 to 1.
    pub agreement: f32,
    /// Words that the free transcription has too many, up to four, negative: a tail shows here.
    pub surplus: f32,
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
        let surplus = free.split_whitespace().count() as f32
            - hypothesis.words.split_whitespace().count() as f32;
        // Silence that an utterance holds before and after what was said, by the end-pointer's settings.
        let seconds = (evidence.seconds - 0.6).max(0.1);
        let pace = (said.len().max(1) as f32 / seconds / USUAL_PACE).ln();
        let features = Self {
            score: bounded(evidence.score?, -4.0, 5.0),
            runner_up: above(evidence.margin_runner_up),
            decoy: above(evidence.margin_decoy),
            free: bounded(evidence.margin_free?, -25.0, 3.0),
            weakest: bounded(evidence.confidence?.max(1e-6).ln(), -10.0, 0.0),
            speech: bounded(evidence.free_score.unwrap_or(-1.0), -3.0, 0.0),
            agreement: likeness(&said, &letters(free)),
            surplus: -bounded(surplus, 0.0, 4.0),
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
            self.free,
            self.weakest,
            self.speech,
            self.agreement,
            self.surplus,
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
            free,
            weakest,
            speech,
            agreement,
            surplus,
            turned,
            noise,
            pace,
            length,
        ] = all;
        Self {
            score,
            runner_up,
            decoy,
            free,
            weakest,
            speech,
            agreement,
            surplus,
            turned,
            noise,
            pace,
            length,
        }
    }
}

/// Letters a second of an unhurried speaker; measured on the bench's voices, whose middle is 13.
const USUAL_PACE: f32 = 13.0;

/// Holds a value to a range; what is no number stays none.
fn bounded(value: f32, least: f32, most: f32) -> f32 {
    if value.is_nan() {
        value
    } else {
        value.clamp(least, most)
    }
}

fn letters(text: &str) -> Vec<char> {
    let lower = text.to_lowercase();
    lower
        .chars()
        .filter(|letter| letter.is_alphanumeric())
        .collect()
}

/// 1 less the share of letters that have to be changed, put in or taken out to make one of the other (V.
/// Levenshtein, "Binary Codes Capable of Correcting Deletions, Insertions, and Reversals", 1966).
fn likeness(one: &[char], other: &[char]) -> f32 {
    let longest = one.len().max(other.len());
    if longest == 0 {
        return 1.0;
    }
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (at, letter) in one.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = at + 1;
        for (n, its) in other.iter().enumerate() {
            let changed = diagonal + usize::from(letter != its);
            diagonal = row[n + 1];
            row[n + 1] = changed.min(row[n] + 1).min(diagonal + 1);
        }
    }
    1.0 - row[other.len()] as f32 / longest as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn likeness_counts_changes() {
        let like = |one: &str, other: &str| likeness(&letters(one), &letters(other));
        assert_eq!(like("Both stands.", "both stands"), 1.0);
        // "kitten" and "sitting" lie three changes apart (the textbook pair).
        assert!((like("kitten", "sitting") - 4.0 / 7.0).abs() < 1e-6);
        assert_eq!(like("", ""), 1.0);
        assert_eq!(like("next", ""), 0.0);
    }
}
