//! From scores to the phrase that was most likely said, with what speaks for it.

use super::prior::SHARE;
use super::search::Score;
use crate::{Description, Evidence, Hypothesis, PhraseSet};

/// A phrase with what is known of it.
#[derive(Debug, Clone, Copy)]
pub struct Candidate {
    /// Its place in the set.
    pub phrase: usize,
    /// Its score on the utterance.
    pub score: Score,
    /// Its log-likelihood on noise alone.
    pub prior: f32,
}

impl Candidate {
    fn corrected(&self) -> f32 {
        self.score.scored - SHARE * self.prior
    }

    /// The corrected score isn't above this: what was dropped on the way counts in full.
    fn corrected_at_most(&self) -> f32 {
        self.score.at_most - SHARE * self.prior
    }
}

/// The likeliest phrase, or `None` when no phrase was scored to its end.
pub fn evidence(
    set: &PhraseSet,
    candidates: &[Candidate],
    free_log_likelihood: f32,
    free_transcription: &str,
) -> Option<Hypothesis> {
    let scored = candidates
        .iter()
        .filter(|candidate| candidate.score.scored.is_finite());
    let winner = scored.max_by(|one, other| one.corrected().total_cmp(&other.corrected()))?;
    let phrase = &set.phrases[winner.phrase];
    let best_other = |decoy: bool| {
        candidates
            .iter()
            .filter(|other| {
                other.phrase != winner.phrase && set.phrases[other.phrase].decoy == decoy
            })
            .filter(|other| other.score.at_most.is_finite())
            .max_by(|one, other| {
                one.corrected_at_most()
                    .total_cmp(&other.corrected_at_most())
            })
    };
    let margin = |other: &Candidate| winner.corrected() - other.corrected_at_most();
    let runner_up = best_other(false);
    Some(Hypothesis {
        words: phrase.words.clone(),
        stake: phrase.stake,
        decoy: phrase.decoy,
        evidence: Evidence {
            heard_by: Description {
                recogniser: String::new(),
                model: String::new(),
                model_sha256: String::new(),
            },
            score: Some(winner.corrected() / winner.score.tokens as f32),
            margin_runner_up: runner_up.map(margin),
            margin_decoy: best_other(true).map(margin),
            margin_free: Some(winner.score.scored - free_log_likelihood),
            free_transcription: Some(free_transcription.to_owned()),
            runner_up: runner_up.map(|other| set.phrases[other.phrase].words.clone()),
            confidence: None,
            snr_db: None,
            seconds: 0.0,
        },
    })
}
