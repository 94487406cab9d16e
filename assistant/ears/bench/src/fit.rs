//! Finds the weights of the regressions that turn evidence into a probability.
//!
//! Maximum likelihood with a small penalty on large weights, by descent along the gradient; no weight but that of
//! length may be less than nothing. It is held against an independent implementation in `tests`.

use super::kept::Heard;
use super::material::Set;
use ears::Stake;
use ears::verdict::{COUNT, Features, Model, Regression};

/// What one piece of evidence was, and whether the phrase had truly been said.
#[derive(Debug, Clone, Copy)]
pub struct Example {
    /// The evidence.
    pub features: Features,
    /// Whether the phrase that won was said.
    pub said: bool,
}

/// The classes that are fitted apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// Commands and answers.
    Command,
    /// Numbers.
    Number,
    /// Readbacks.
    Gate,
}

impl Class {
    /// Of what is at stake.
    pub fn of(stake: Stake) -> Self {
        match stake {
            Stake::Ask | Stake::Stop | Stake::Move => Self::Command,
            Stake::Number => Self::Number,
            Stake::Gate => Self::Gate,
        }
    }
}

/// The examples of a class. Where a decoy won there is nothing to judge. People only report, and that a readback was
/// said with other talk beside it is told by its turns and not by its evidence.
pub fn examples(heard: &[Heard], class: Class) -> Vec<Example> {
    let not_for_it = [
        Set::PeopleWords,
        Set::PeopleOther,
        Set::PeopleDigits,
        Set::PeopleThreeDigits,
        Set::PeopleThreeWords,
        Set::SplitMisses,
    ];
    heard
        .iter()
        .filter(|one| !not_for_it.contains(&one.take.set))
        .flat_map(|one| one.answers.iter().map(move |answer| (one, answer)))
        .filter_map(|(one, answer)| {
            let hypothesis = answer.hypothesis.as_ref()?;
            let judged = !hypothesis.decoy && Class::of(hypothesis.stake) == class;
            let features = judged.then(|| Features::of(hypothesis)).flatten()?;
            let said = one.truth.is_some() && answer.meaning == one.truth;
            Some(Example { features, said })
        })
        .collect()
}

/// The model for these takes.
pub fn model(heard: &[Heard]) -> Model {
    let of = |class| regression(&examples(heard, class));
    Model {
        command: of(Class::Command),
        number: of(Class::Number),
        gate: of(Class::Gate),
    }
}

/// What keeps weights small: as if each feature's weight, in units of its spread, had been seen once at nothing.
const PENALTY: f64 = 1.0;

const STEPS: usize = 4000;

/// Features in the order of [`Features::all`] whose weight may be less than nothing.
const FREE: usize = COUNT - 1;

/// The likeliest weights.
pub fn regression(examples: &[Example]) -> Regression {
    let count = examples.len().max(1) as f64;
    let mean_of = |n: usize| {
        examples
            .iter()
            .map(|it| f64::from(it.features.all()[n]))
            .sum::<f64>()
            / count
    };
    let means: Vec<f64> = (0..COUNT).map(mean_of).collect();
    let spread_of = |n: usize| {
        let squares = examples
            .iter()
            .map(|it| (f64::from(it.features.all()[n]) - means[n]).powi(2));
        (squares.sum::<f64>() / count).sqrt().max(1e-3)
    };
    let spreads: Vec<f64> = (0..COUNT).map(spread_of).collect();
    let rows: Vec<([f64; COUNT], f64)> = examples
        .iter()
        .map(|it| {
            let all = it.features.all();
            let row = std::array::from_fn(|n| (f64::from(all[n]) - means[n]) / spreads[n]);
            (row, f64::from(u8::from(it.said)))
        })
        .collect();
    let (mut bias, mut weights) = (0.0, [0.0; COUNT]);
    // The curvature of the logistic loss is at most a quarter of the squares' sum, here one for each of the
    // features and the bias.
    let step = 1.0 / (0.25 * (COUNT + 1) as f64 + PENALTY / count);
    for _ in 0..STEPS {
        let (mut of_bias, mut gradient) = (0.0, [0.0; COUNT]);
        for (row, said) in &rows {
            let log_odds: f64 = bias + row.iter().zip(&weights).map(|(x, w)| x * w).sum::<f64>();
            let error = 1.0 / (1.0 + (-log_odds).exp()) - said;
            of_bias += error / count;
            for (gradient, x) in gradient.iter_mut().zip(row) {
                *gradient += error * x / count;
            }
        }
        bias -= step * of_bias;
        for (n, (weight, gradient)) in weights.iter_mut().zip(gradient).enumerate() {
            *weight -= step * (gradient + PENALTY * *weight / count);
            if n != FREE {
                *weight = weight.max(0.0);
            }
        }
    }
    let plain: [f64; COUNT] = std::array::from_fn(|n| weights[n] / spreads[n]);
    let shift: f64 = plain
        .iter()
        .zip(&means)
        .map(|(weight, mean)| weight * mean)
        .sum();
    let rounded = |value: f64| (value * 1e4).round() as f32 / 1e4;
    Regression {
        bias: rounded(bias - shift),
        weights: Features::from_all(plain.map(rounded)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scikit-learn 1.9.1, `LogisticRegression(C=1.0, tol=1e-12)` on the standardised column of
    /// these eight examples; the constraint isn't active.
    #[test]
    fn weights_are_those_of_an_independent_implementation() {
        let given = [
            (0.0, false),
            (0.5, false),
            (1.0, true),
            (1.5, false),
            (2.0, true),
            (2.5, false),
            (3.0, true),
            (3.5, true),
        ];
        let examples = given.map(|(score, said)| Example {
            features: Features {
                score,
                ..Features::default()
            },
            said,
        });
        let found = regression(&examples);
        assert!(
            (found.weights.score - REFERENCE.0).abs() < 2e-3,
            "{found:?}"
        );
        assert!((found.bias - REFERENCE.1).abs() < 4e-3, "{found:?}");
    }

    const REFERENCE: (f32, f32) = (0.669_33, -1.171_32);

    #[test]
    fn what_speaks_against_itself_gets_no_weight() {
        let examples: Vec<Example> = (0..100)
            .map(|n| Example {
                features: Features {
                    score: (n % 10) as f32,
                    ..Features::default()
                },
                said: n % 10 < 5,
            })
            .collect();
        assert_eq!(regression(&examples).weights.score, 0.0);
    }
}
