//! From evidence to the probability that the phrase was said: a logistic regression for each class of phrase.
//!
//! Its weights are data (`data/model.toml` tells how they were found). All but the one of length are held to be
//! no less than nothing, so that better evidence never makes a phrase less probable.

use super::features::Features;
use crate::{Hypothesis, Stake};
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// The regression of one class of phrase.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Regression {
    /// The log-odds where all features are 0.
    pub bias: f32,
    /// What a feature adds to the log-odds for each of its units.
    pub weights: Features,
}

impl Regression {
    /// The probability, 0 to 1.
    pub fn probability(&self, features: &Features) -> f32 {
        let products = self.weights.all().into_iter().zip(features.all());
        let log_odds = self.bias + products.map(|(weight, value)| weight * value).sum::<f32>();
        1.0 / (1.0 + (-log_odds).exp())
    }
}

/// What evidence is worth, by what kind of phrase it speaks for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// For commands and answers.
    pub command: Regression,
    /// For numbers.
    pub number: Regression,
    /// For readbacks.
    pub gate: Regression,
}

impl Model {
    /// The model that comes with the program.
    pub fn built_in() -> &'static Self {
        static MODEL: LazyLock<Model> = LazyLock::new(|| {
            // The text is built in, and the tests below read it.
            Model::parse(include_str!("../../data/model.toml")).expect("the built-in model reads")
        });
        &MODEL
    }

    /// Reads a model from TOML.
    ///
    /// # Errors
    /// When the text isn't TOML, or a class or a weight is missing or unknown.
    pub fn parse(text: &str) -> Result<Self, toml::de::Error> {
        toml::from_str(text)
    }

    /// The probability that what was said is this phrase; `None` where the evidence can't tell.
    pub fn probability(&self, hypothesis: &Hypothesis) -> Option<f32> {
        let regression = match hypothesis.stake {
            Stake::Ask | Stake::Stop | Stake::Move => &self.command,
            Stake::Number => &self.number,
            Stake::Gate => &self.gate,
        };
        Some(regression.probability(&Features::of(hypothesis)?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn better_evidence_is_never_worth_less() {
        let model = Model::built_in();
        for regression in [&model.command, &model.number, &model.gate] {
            let weights = Features {
                length: 0.0,
                ..regression.weights
            };
            assert!(
                weights.all().into_iter().all(|weight| weight >= 0.0),
                "{weights:?}"
            );
        }
    }

    #[test]
    fn even_odds_are_a_half() {
        let regression = Regression {
            bias: -1.5,
            weights: Features {
                score: 0.5,
                ..Features::default()
            },
        };
        let features = Features {
            score: 3.0,
            ..Features::default()
        };
        assert_eq!(regression.probability(&features), 0.5);
    }
}
