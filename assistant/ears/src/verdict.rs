//! Judging evidence against bars.
//!
//! What is at stake decides how much is needed. The bars are data, measured on recordings
//! (`data/bars.toml` says how), not constants in code. A gate has a veto besides: what was heard without
//! any grammar must not hold a word that turns the readback around.
//!
//! # What is evidence worth?
//!
//! A recogniser's own confidence rejects little. So the bars ask for a probability that was fitted and measured
//! (`data/model.toml`). At a gate, what the free transcription hears before or after the readback (“… says the
//! foreman”), or inside it (“not”, “still”), keeps the gate shut however probable the readback is.
//!
//! Where the transcription goes astray, two things are most telling. One is how likely it is that nothing follows.
//! The other is the margin over the denials with the whole prior taken off, because a denial in odd words loses as
//! text what it has as sound.
//!
//! A bay can raise its bars (`sayback hear-check --keep`) but never lower them.

mod features;
mod model;
mod veto;

pub use features::{COUNT, Features};
pub(crate) use features::{letters, usual_seconds};
pub use model::{Model, Regression};
pub use veto::{heard_word_for_word, holds as turns_around, letters_around};

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
    /// How probable it is that the phrase was said, by the [`Model`].
    pub probability: Option<f32>,
    /// Natural log-likelihood per token, corrected by the prior.
    pub score: Option<f32>,
    /// Natural log-likelihood above the best other thing that may be said, where there is another.
    pub margin_runner_up: Option<f32>,
    /// Natural log-likelihood above the best decoy, where there is one.
    pub margin_decoy: Option<f32>,
    /// The same by the sound only, where there is one.
    pub margin_decoy_by_sound: Option<f32>,
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
        measured(self.probability, evidence.probability)
            && measured(self.score, evidence.score)
            && above(self.margin_runner_up, evidence.margin_runner_up)
            && above(self.margin_decoy, evidence.margin_decoy)
            && above(self.margin_decoy_by_sound, evidence.margin_decoy_by_sound)
            && measured(self.margin_free, evidence.margin_free)
            && measured(self.confidence, evidence.confidence)
    }
}

/// From where a phrase is accepted, and from where it is asked about.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// Reached: [`Verdict::Accept`]. Where there is none, nothing is ever accepted.
    pub accept: Option<Bar>,
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
/// assert!(bars.scored.gate.accept.is_some());
/// // Confidence alone opens no gate.
/// assert!(bars.unscored.gate.accept.is_none());
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bars {
    /// For evidence with a score.
    pub scored: Stakes,
    /// For evidence without one.
    pub unscored: Stakes,
    /// From which log-likelihood per token on the words of a note are written down. They open and move nothing;
    /// below it the sound alone tells what was said.
    #[serde(rename = "note-words")]
    pub note_words: f32,
    /// The probability that anything but a "stop" needs besides when it is said over the assistant's own voice.
    #[serde(rename = "over-playback")]
    pub over_playback: f32,
}

/// Probabilities that a bay asks for, beyond the usual ones. A doubtful stop stays a stop.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Raised {
    /// For commands and answers.
    pub command: Option<f32>,
    /// For numbers.
    pub number: Option<f32>,
    /// For readbacks.
    pub gate: Option<f32>,
}

impl Default for Bars {
    /// The bars that come with the program.
    fn default() -> Self {
        // The text is built in, and the tests below read it.
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

    /// The same bars, raised for a bay where hearing is hard: none is ever lowered.
    #[must_use]
    pub fn raised(mut self, raised: &Raised) -> Self {
        let raise = |pair: &mut Pair, to: Option<f32>| {
            if let (Some(bar), Some(to)) = (pair.accept.as_mut(), to.filter(|to| to.is_finite())) {
                bar.probability = Some(bar.probability.map_or(to, |bar| bar.max(to)));
            }
        };
        raise(&mut self.scored.ask, raised.command);
        raise(&mut self.scored.moving, raised.command);
        raise(&mut self.scored.number, raised.number);
        raise(&mut self.scored.gate, raised.gate);
        self
    }

    /// Whether this was heard so clearly that it counts even over the assistant's own voice. What moves the job on must have been
    /// heard so without any grammar, too. Where the recogniser gives no probability it wasn't.
    pub fn is_clear(&self, hypothesis: &Hypothesis) -> bool {
        let Hypothesis {
            words, evidence, ..
        } = hypothesis;
        let probable = evidence
            .probability
            .is_some_and(|probability| probability >= self.over_playback);
        let free = || {
            let free = evidence.free_transcription.as_deref();
            free.is_some_and(|free| letters(free) == letters(words))
        };
        match hypothesis.stake {
            Stake::Ask | Stake::Stop => probable,
            Stake::Move | Stake::Number | Stake::Gate => probable && free(),
        }
    }

    /// Whether something that may be said came near being asked about: it has half of what that takes. Of what isn't even near
    /// nothing is kept, whatever a technician allows: it's talk.
    pub fn is_near(&self, hypothesis: &Hypothesis) -> bool {
        let evidence = &hypothesis.evidence;
        let half = |bar: Option<f32>| bar.map(|bar| bar / 2.0);
        let ask = self.stakes_for(evidence).of(hypothesis.stake).ask;
        let near = Bar {
            probability: half(ask.probability),
            confidence: half(ask.confidence),
            ..Bar::default()
        };
        !hypothesis.decoy && near.is_reached_by(evidence)
    }

    /// The bars for this kind of evidence.
    fn stakes_for(&self, evidence: &Evidence) -> &Stakes {
        match evidence.score {
            Some(_) => &self.scored,
            None => &self.unscored,
        }
    }

    /// The words of a note, where they were heard well enough to be written down as “heard, unchecked”. Where
    /// the recogniser gives no score they are.
    pub fn note<'a>(&self, hypothesis: &'a Hypothesis) -> Option<&'a str> {
        let evidence = &hypothesis.evidence;
        let words = evidence.free_transcription.as_deref()?;
        let enough = evidence
            .free_score
            .is_none_or(|score| score >= self.note_words);
        enough.then_some(words)
    }

    /// What a hypothesis is worth. A decoy is never accepted, and a doubtful stop is a stop.
    pub fn judge(&self, hypothesis: &Hypothesis) -> Verdict {
        if hypothesis.decoy {
            return Verdict::Ignore;
        }
        self.judge_words(hypothesis)
    }

    /// Whether a decoy was heard so well that it would be asked about if it were none.
    pub fn would_ask(&self, decoy: &Hypothesis) -> bool {
        self.judge_words(decoy) != Verdict::Ignore
    }

    fn judge_words(&self, hypothesis: &Hypothesis) -> Verdict {
        let evidence = &hypothesis.evidence;
        let pair = self.stakes_for(evidence).of(hypothesis.stake);
        let accepted = pair.accept.is_some_and(|bar| bar.is_reached_by(evidence));
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
            Stake::Ask | Stake::Move | Stake::Number
                if veto::is_part_of_talk(&hypothesis.words, evidence) =>
            {
                Verdict::Ignore
            }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Description;

    /// A hypothesis that reaches every bar.
    fn sure(words: &str, stake: Stake) -> Hypothesis {
        Hypothesis {
            words: words.to_owned(),
            stake,
            decoy: false,
            evidence: Evidence {
                heard_by: Description {
                    recogniser: "test".to_owned(),
                    model: String::new(),
                    model_sha256: String::new(),
                },
                score: Some(20.0),
                margin_runner_up: Some(50.0),
                margin_decoy: Some(50.0),
                margin_free: Some(5.0),
                free_transcription: Some(words.to_owned()),
                free_score: None,
                probability: Some(1.0),
                nearest_decoy: None,
                ending: None,
                margin_decoy_by_sound: None,
                runner_up: None,
                confidence: Some(0.9),
                snr_db: None,
                seconds: 2.0,
            },
        }
    }

    const STAKES: [Stake; 5] = [
        Stake::Ask,
        Stake::Stop,
        Stake::Move,
        Stake::Number,
        Stake::Gate,
    ];

    #[test]
    fn what_reaches_every_bar_is_accepted_and_a_decoy_never() {
        let bars = Bars::default();
        for stake in STAKES {
            let mut hypothesis = sure("wheels chocked and brake set", stake);
            assert_eq!(bars.judge(&hypothesis), Verdict::Accept, "{stake:?}");
            hypothesis.decoy = true;
            assert_eq!(bars.judge(&hypothesis), Verdict::Ignore, "{stake:?}");
        }
    }

    #[test]
    fn evidence_that_is_missing_or_no_number_opens_nothing() {
        let bars = Bars::default();
        for probability in [None, Some(f32::NAN), Some(0.0)] {
            for stake in STAKES {
                let mut hypothesis = sure("wheels chocked and brake set", stake);
                hypothesis.evidence.probability = probability;
                // Without a score the confidence would be asked.
                hypothesis.evidence.confidence = None;
                assert_eq!(
                    bars.judge(&hypothesis),
                    Verdict::Ignore,
                    "{stake:?} {probability:?}"
                );
            }
        }
        let mut hypothesis = sure("wheels chocked and brake set", Stake::Gate);
        hypothesis.evidence.margin_decoy = Some(f32::NAN);
        assert_ne!(bars.judge(&hypothesis), Verdict::Accept);
        hypothesis.evidence.margin_decoy = None;
        hypothesis.evidence.margin_decoy_by_sound = Some(f32::NAN);
        assert_ne!(bars.judge(&hypothesis), Verdict::Accept);
        hypothesis.evidence.margin_decoy_by_sound = None;
        hypothesis.evidence.margin_free = None;
        assert_ne!(bars.judge(&hypothesis), Verdict::Accept);
    }

    #[test]
    fn a_doubtful_stop_is_a_stop_and_a_doubtful_move_is_asked_about() {
        let bars = Bars::default();
        let doubtful = |stake: Stake| {
            let mut hypothesis = sure("stop", stake);
            let pair = bars.scored.of(stake);
            hypothesis.evidence.probability = pair.ask.probability;
            bars.judge(&hypothesis)
        };
        assert_eq!(doubtful(Stake::Stop), Verdict::Accept);
        assert_eq!(doubtful(Stake::Move), Verdict::Ask);
        assert_eq!(doubtful(Stake::Gate), Verdict::Ask);
    }

    #[test]
    fn a_veto_holds_a_gate_and_nothing_else() {
        let bars = Bars::default();
        for (stake, verdict) in [(Stake::Gate, Verdict::Ask), (Stake::Move, Verdict::Accept)] {
            let mut hypothesis = sure("wheels chocked and brake set", stake);
            hypothesis.evidence.free_transcription =
                Some("Wheels not chocked and brake set.".to_owned());
            assert_eq!(bars.judge(&hypothesis), verdict);
        }
    }

    #[test]
    fn more_at_stake_never_needs_less() {
        let scored = Bars::default().scored;
        let least = |stake: Stake| scored.of(stake).accept.and_then(|bar| bar.probability);
        assert!(least(Stake::Gate) >= least(Stake::Move));
        assert!(least(Stake::Gate) >= least(Stake::Number));
        assert!(least(Stake::Number) >= least(Stake::Ask));
        assert!(least(Stake::Move) >= least(Stake::Ask));
    }

    #[test]
    fn a_bay_can_raise_bars_and_never_lower_them() {
        let usual = Bars::default();
        let raised = |to: f32| {
            let raised = Raised {
                command: Some(to),
                number: Some(to),
                gate: Some(to),
            };
            usual.clone().raised(&raised)
        };
        for low in [0.0, -1.0, f32::NAN, f32::NEG_INFINITY] {
            assert_eq!(raised(low), usual, "{low}");
        }
        let high = raised(0.9999);
        for stake in [Stake::Ask, Stake::Move, Stake::Number, Stake::Gate] {
            let bar = high.scored.of(stake).accept.and_then(|bar| bar.probability);
            assert_eq!(bar, Some(0.9999), "{stake:?}");
        }
        assert_eq!(high.scored.stop, usual.scored.stop);
    }

    #[test]
    fn bars_with_an_unknown_name_are_refused() {
        let text = include_str!("../data/bars.toml").replace("margin-decoy", "margin-decoi");
        assert!(Bars::parse(&text).is_err());
    }

    #[test]
    fn words_of_a_note_are_written_down_only_where_they_were_heard_well_enough() {
        let bars = Bars::default();
        let mut heard = sure("the boot is split", Stake::Ask);
        for (score, told) in [
            (None, Some("the boot is split")),
            (Some(-0.3), Some("the boot is split")),
            (Some(-1.4), None),
            (Some(f32::NAN), None),
        ] {
            heard.evidence.free_score = score;
            assert_eq!(bars.note(&heard), told, "{score:?}");
        }
    }
}
