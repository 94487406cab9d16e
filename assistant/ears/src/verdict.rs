//! Judging evidence against bars.
//!
//! What is at stake decides how much is needed. The bars are data, measured on recordings
//! (`data/bars.toml` says how), not constants in code. A gate has a veto besides: what was heard without
//! any grammar must not hold a word that turns the readback around.

mod veto;

use crate::{Evidence, Hypothesis, Stake};
use serde::{Deserialize, Serialize};

/// What evidence is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It was said.
    Accept,
    /// It may have been said: ask.
    Ask,
    /// Nothing that may be said was said.
    Ignore,
}

/// The least that evidence must reach. What a bar doesn't name isn't asked for; what a recogniser can't
/// measure doesn't reach a bar.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Bar {
    /// Natural log-likelihood per token, corrected by the prior.
    pub score: Option<f32>,
    /// Natural log-likelihood above the best other thing that may be said, where there is another.
    pub margin_runner_up: Option<f32>,
    /// Natural log-likelihood above the best decoy, where there is one.
    pub margin_decoy: Option<f32>,
    /// Natural log-likelihood above the free transcription.
    pub margin_free: Option<f32>,
    /// The recogniser's own confidence, 0 to 1.
    pub confidence: Option<f32>,
}

impl Bar {
    /// Whether evidence reaches every part of the bar. A number that isn't one reaches none.
    fn is_reached_by(&self, evidence: &Evidence) -> bool {
        let measured = |bar: Option<f32>, value: Option<f32>| {
            bar.is_none_or(|bar| value.is_some_and(|value| value >= bar))
        };
        // Without a competitor there is nothing to be above of.
        let above = |bar: Option<f32>, value: Option<f32>| {
            bar.is_none_or(|bar| value.is_none_or(|value| value >= bar))
        };
        measured(self.score, evidence.score)
            && above(self.margin_runner_up, evidence.margin_runner_up)
            && above(self.margin_decoy, evidence.margin_decoy)
            && measured(self.margin_free, evidence.margin_free)
            && measured(self.confidence, evidence.confidence)
    }
}

/// From where a phrase is accepted, and from where it is asked about.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// Reached: [`Verdict::Accept`].
    pub accept: Bar,
    /// Reached: [`Verdict::Ask`].
    pub ask: Bar,
}

/// The bars for each stake of one kind of recogniser.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stakes {
    /// For [`Stake::Ask`].
    pub ask: Pair,
    /// For [`Stake::Stop`]; here a doubtful one is accepted.
    pub stop: Pair,
    /// For [`Stake::Move`].
    #[serde(rename = "move")]
    pub moving: Pair,
    /// For [`Stake::Number`].
    pub number: Pair,
    /// For [`Stake::Gate`].
    pub gate: Pair,
}

impl Stakes {
    fn of(&self, stake: Stake) -> &Pair {
        match stake {
            Stake::Ask => &self.ask,
            Stake::Stop => &self.stop,
            Stake::Move => &self.moving,
            Stake::Number => &self.number,
            Stake::Gate => &self.gate,
        }
    }
}

/// All bars: for recognisers that score text, and for those that only know their confidence.
///
/// ```
/// use ears::verdict::Bars;
///
/// let bars = Bars::default();
/// assert!(bars.scored.gate.accept.score > bars.scored.ask.accept.score);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bars {
    /// For evidence with a score.
    pub scored: Stakes,
    /// For evidence without one.
    pub unscored: Stakes,
}

impl Default for Bars {
    /// The bars that come with the program.
    fn default() -> Self {
        // The text is built in, and a test reads it.
        Self::parse(include_str!("../data/bars.toml")).expect("the built-in bars read")
    }
}

impl Bars {
    /// Reads bars from TOML.
    ///
    /// # Errors
    /// When the text isn't TOML, or a stake is missing or has an unknown bar.
    pub fn parse(text: &str) -> Result<Self, toml::de::Error> {
        toml::from_str(text)
    }

    /// What a hypothesis is worth. A decoy is never accepted, and a doubtful stop is a stop.
    pub fn judge(&self, hypothesis: &Hypothesis) -> Verdict {
        if hypothesis.decoy {
            return Verdict::Ignore;
        }
        let evidence = &hypothesis.evidence;
        let stakes = if evidence.score.is_some() {
            &self.scored
        } else {
            &self.unscored
        };
        let pair = stakes.of(hypothesis.stake);
        let accepted = pair.accept.is_reached_by(evidence);
        let doubtful = pair.ask.is_reached_by(evidence);
        match hypothesis.stake {
            Stake::Gate if veto::holds(&hypothesis.words, evidence) => {
                if doubtful {
                    Verdict::Ask
                } else {
                    Verdict::Ignore
                }
            }
            Stake::Stop if doubtful => Verdict::Accept,
            Stake::Ask | Stake::Stop | Stake::Move | Stake::Number | Stake::Gate => {
                if accepted {
                    Verdict::Accept
                } else if doubtful {
                    Verdict::Ask
                } else {
                    Verdict::Ignore
                }
            }
        }
    }
}
