//! From scores to the phrase that was most likely said, with what speaks for it.

use super::prior::SHARE;
use super::search::Score;
use crate::verdict::letters;
use crate::{Description, Evidence, Hypothesis, PhraseSet, Stake};

/// A phrase with what is known of it.
#[derive(Debug, Clone)]
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

    /// By the sound only.
    fn by_sound(&self) -> f32 {
        self.score.scored - self.prior
    }

    /// How far this phrase stands above another: one that was dropped on the way, as far as it came.
    fn margin_over(&self, other: &Self) -> f32 {
        if other.score.scored.is_finite() {
            self.corrected() - other.corrected()
        } else {
            self.score.above_dropped(&other.score)
        }
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
    let winner = named(set, candidates, winner, free_transcription).unwrap_or(winner);
    let phrase = &set.phrases[winner.phrase];
    let nearest = |decoy: bool| {
        candidates
            .iter()
            .filter(|other| other.phrase != winner.phrase)
            .filter(|other| set.phrases[other.phrase].decoy == decoy)
            .map(|other| (other.phrase, winner.margin_over(other)))
            .filter(|(_, margin)| margin.is_finite())
            .min_by(|(_, one), (_, other)| one.total_cmp(other))
    };
    let (runner_up, decoy) = (nearest(false), nearest(true));
    let decoys = candidates
        .iter()
        .filter(|other| other.phrase != winner.phrase && set.phrases[other.phrase].decoy);
    let by_sound = decoys
        .filter(|other| other.score.scored.is_finite())
        .map(|other| winner.by_sound() - other.by_sound())
        .min_by(f32::total_cmp);
    let words =
        |found: Option<(usize, f32)>| found.map(|(phrase, _)| set.phrases[phrase].words.clone());
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
            margin_runner_up: runner_up.map(|(_, margin)| margin),
            margin_decoy: decoy.map(|(_, margin)| margin),
            margin_free: Some(winner.score.scored - free_log_likelihood),
            free_transcription: Some(free_transcription.to_owned()),
            free_score: None,
            probability: None,
            runner_up: words(runner_up),
            nearest_decoy: words(decoy),
            ending: Some(winner.score.ending()),
            margin_decoy_by_sound: by_sound,
            // How likely the least likely of its tokens was: one word that was another one shows here.
            confidence: Some(winner.score.weakest.exp()),
            snr_db: None,
            seconds: 0.0,
        },
    })
}

/// Two commands within so much (natural logarithm) of each other are as good as tied.
const TIED: f32 = 1.0;

/// Of tied commands the one that the free transcription names, word for word. It stays behind by its margin, so that it
/// is asked about. Never at a gate, and never in a decoy's place.
fn named<'a>(
    set: &PhraseSet,
    candidates: &'a [Candidate],
    winner: &Candidate,
    free_transcription: &str,
) -> Option<&'a Candidate> {
    let is_command = |candidate: &Candidate| {
        let phrase = &set.phrases[candidate.phrase];
        !phrase.decoy && phrase.stake != Stake::Gate
    };
    let free = letters(free_transcription);
    candidates
        .iter()
        .filter(|candidate| is_command(candidate) && is_command(winner))
        .filter(|candidate| candidate.score.scored.is_finite())
        .filter(|candidate| winner.margin_over(candidate) < TIED)
        .find(|candidate| letters(&set.phrases[candidate.phrase].words) == free)
}
