//! What encoder and decoder are built of. Arithmetic as in A. Vaswani et al., "Attention Is All You Need"
//! (arXiv:1706.03762), with the norm before each part.

use super::matrix::{Onto, Shape, multiply};
use super::quantized::{Quantized, States};
use super::weights::{Precision, Weights};
use crate::RecogniserError;
use rayon::prelude::*;

/// Channels of every state.
pub const WIDTH: usize = 384;
/// Attention heads.
pub const HEADS: usize = 6;
/// Channels of one head.
pub const HEAD: usize = WIDTH / HEADS;
/// Channels inside the feed-forward part.
pub const INNER: usize = 4 * WIDTH;

/// `x · W + b`.
pub struct Linear {
    weight: Weight,
    bias: Vec<f32>,
    inputs: usize,
}

/// The weights of a linear map, with the outputs side by side.
enum Weight {
    Single(Vec<f32>),
    Quantized(Quantized),
}

impl Linear {
    pub fn read(
        weights: &Weights,
        name: &str,
        inputs: usize,
        outputs: usize,
    ) -> Result<Self, RecogniserError> {
        let given = weights.array(&format!("{name}/weight"), &[outputs, inputs])?;
        let bias = weights.array(&format!("{name}/bias"), &[outputs])?;
        let at = |output: usize, input: usize| given[output * inputs + input];
        Ok(Self::new(at, bias, inputs, weights.precision))
    }

    /// A convolution over three neighbouring frames, as a linear map from the three side by side.
    pub fn read_convolution(
        weights: &Weights,
        name: &str,
        inputs: usize,
        outputs: usize,
    ) -> Result<Self, RecogniserError> {
        let given = weights.array(&format!("{name}/weight"), &[outputs, inputs, 3])?;
        let bias = weights.array(&format!("{name}/bias"), &[outputs])?;
        let at = |output: usize, input: usize| {
            given[(output * inputs + input % inputs) * 3 + input / inputs]
        };
        Ok(Self::new(at, bias, inputs * 3, weights.precision))
    }

    fn new(
        at: impl Fn(usize, usize) -> f32,
        bias: Vec<f32>,
        inputs: usize,
        precision: Precision,
    ) -> Self {
        let outputs = bias.len();
        let weight = match precision {
            Precision::Single => {
                let mut weight = Vec::with_capacity(inputs * outputs);
                for input in 0..inputs {
                    weight.extend((0..outputs).map(|output| at(output, input)));
                }
                Weight::Single(weight)
            }
            Precision::Quantized => {
                Weight::Quantized(Quantized::new(outputs, inputs, |output, row| {
                    for (input, weight) in row.iter_mut().enumerate() {
                        *weight = at(output, input);
                    }
                }))
            }
        };
        Self {
            weight,
            bias,
            inputs,
        }
    }

    /// One output row for each of `rows` input rows, which start `row_stride` elements apart.
    pub fn apply_strided(
        &self,
        input: &[f32],
        rows: usize,
        row_stride: usize,
        threads: usize,
    ) -> Vec<f32> {
        let outputs = self.bias.len();
        match &self.weight {
            Weight::Single(weight) => {
                let mut output = self.bias.repeat(rows);
                multiply(
                    (&mut output, Shape::dense(rows, outputs)),
                    (input, Shape::strided(rows, self.inputs, row_stride)),
                    (weight, Shape::dense(self.inputs, outputs)),
                    1.0,
                    Onto::Present,
                    threads,
                );
                output
            }
            Weight::Quantized(weight) => {
                let states = States::new(input, self.inputs, rows, row_stride);
                let mut output = vec![0.0; rows * outputs];
                let share = rows.div_ceil(threads.max(1)).max(1);
                let one_share = |(number, output): (usize, &mut [f32])| {
                    let (first, rows) = (number * share, output.len() / outputs);
                    let groups = 0..weight.groups();
                    weight.multiply(&states, first..first + rows, groups, output, outputs);
                    for row in output.chunks_exact_mut(outputs) {
                        add(row, &self.bias);
                    }
                };
                let shares = output.par_chunks_mut(share * outputs).enumerate();
                if threads > 1 && rows > 1 {
                    shares.for_each(one_share);
                } else {
                    output
                        .chunks_mut(share * outputs)
                        .enumerate()
                        .for_each(one_share);
                }
                output
            }
        }
    }

    /// One output row for each input row.
    pub fn apply(&self, input: &[f32], threads: usize) -> Vec<f32> {
        self.apply_strided(input, input.len() / self.inputs, self.inputs, threads)
    }
}

/// Runs `work` compiled for the widest registers that this processor has.
pub fn widely<T>(work: impl FnOnce() -> T) -> T {
    pulp::Arch::new().dispatch(work)
}

/// Brings each row to mean 0 and variance 1, then scales and shifts it.
pub struct LayerNorm {
    scale: Vec<f32>,
    shift: Vec<f32>,
}

impl LayerNorm {
    pub fn read(weights: &Weights, name: &str) -> Result<Self, RecogniserError> {
        Ok(Self {
            scale: weights.array(&format!("{name}/gamma"), &[WIDTH])?,
            shift: weights.array(&format!("{name}/beta"), &[WIDTH])?,
        })
    }

    pub fn apply(&self, input: &[f32]) -> Vec<f32> {
        let mut output = vec![0.0; input.len()];
        widely(
            #[inline(always)]
            || {
                let rows = input.chunks_exact(WIDTH);
                for (row, output) in rows.zip(output.chunks_exact_mut(WIDTH)) {
                    self.apply_to_row(row, output);
                }
            },
        );
        output
    }

    #[inline(always)]
    fn apply_to_row(&self, row: &[f32], output: &mut [f32]) {
        let mean = sum_of(row, |x| x) / WIDTH as f32;
        let variance = sum_of(row, |x| (x - mean) * (x - mean)) / WIDTH as f32;
        let factor = 1.0 / (variance + 1e-5).sqrt();
        let trained = self.scale.iter().zip(&self.shift);
        for ((output, x), (scale, shift)) in output.iter_mut().zip(row).zip(trained) {
            *output = (x - mean) * factor * scale + shift;
        }
    }
}

/// The sum of a function of each value.
#[inline(always)]
fn sum_of(row: &[f32], of: impl Fn(f32) -> f32) -> f32 {
    let mut lanes = [0.0; LANES];
    let (chunks, rest) = row.as_chunks::<LANES>();
    for chunk in chunks {
        for (lane, value) in lanes.iter_mut().zip(chunk) {
            *lane += of(*value);
        }
    }
    lanes.iter().sum::<f32>() + rest.iter().map(|value| of(*value)).sum::<f32>()
}

/// The feed-forward part: widen, bend, narrow.
pub struct FeedForward {
    norm: LayerNorm,
    widen: Linear,
    narrow: Linear,
}

impl FeedForward {
    pub fn read(weights: &Weights, name: &str) -> Result<Self, RecogniserError> {
        Ok(Self {
            norm: LayerNorm::read(weights, &format!("{name}/layer_norm"))?,
            widen: Linear::read(weights, &format!("{name}/linear_0"), WIDTH, INNER)?,
            narrow: Linear::read(weights, &format!("{name}/linear_1"), INNER, WIDTH)?,
        })
    }

    /// Adds its result to the state.
    pub fn add_to(&self, state: &mut [f32], threads: usize) {
        let mut inner = self.widen.apply(&self.norm.apply(state), threads);
        gelu(&mut inner);
        add(state, &self.narrow.apply(&inner, threads));
    }
}

/// `onto += what`.
pub fn add(onto: &mut [f32], what: &[f32]) {
    for (onto, what) in onto.iter_mut().zip(what) {
        *onto += what;
    }
}

/// Adding 1.5 · 2²³ rounds what is below 2²² to a whole number, which then stands in the lowest bits.
pub const ROUNDER: f32 = 12_582_912.0;

/// Gaussian error linear unit, `x · Φ(x)`, the exact one (D. Hendrycks, K. Gimpel, arXiv:1606.08415).
///
/// The error function is formula 7.1.26 of M. Abramowitz, I. Stegun, "Handbook of Mathematical Functions",
/// absolute error at most 1.5e-7.
pub fn gelu(values: &mut [f32]) {
    widely(
        #[inline(always)]
        || {
            for value in values {
                gelu_of_one(value);
            }
        },
    );
}

#[inline(always)]
fn gelu_of_one(value: &mut f32) {
    let x = *value;
    let z = x.abs() * std::f32::consts::FRAC_1_SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * z);
    let polynomial = ((((1.061_405_4 * t - 1.453_152_1) * t + 1.421_413_8) * t - 0.284_496_72) * t
        + 0.254_829_6)
        * t;
    let tail = 0.5 * polynomial * exp(-z * z);
    *value = if x < 0.0 { x * tail } else { x * (1.0 - tail) };
}

/// eˣ for x ≤ 0 (and up to 80), without branches so that the compiler can do several at once. Relative
/// error below 2e-7: 2ⁿ in the exponent's bits times the Taylor series of the rest, |rest| ≤ ln 2 / 2.
#[inline(always)]
pub fn exp(x: f32) -> f32 {
    let x = x.clamp(-87.0, 80.0);
    let shifted = x * std::f32::consts::LOG2_E + ROUNDER;
    let n = shifted - ROUNDER;
    let r = (x - n * 0.693_359_4) + n * 2.121_944_4e-4;
    let series = 1.0
        + r * (1.0
            + r * (0.5
                + r * (0.166_666_67
                    + r * (0.041_666_668 + r * (0.008_333_334 + r * 0.001_388_888_9)))));
    f32::from_bits(shifted.to_bits().wrapping_add(127) << 23) * series
}

/// Sums and greatest values are taken in so many lanes side by side, which the compiler can then do at
/// once; one after the other they would have to wait for each other.
const LANES: usize = 16;

/// The greatest of a row.
#[inline(always)]
pub fn greatest(row: &[f32]) -> f32 {
    let mut lanes = [f32::NEG_INFINITY; LANES];
    let (chunks, rest) = row.as_chunks::<LANES>();
    let larger = |a: f32, b: f32| if b > a { b } else { a };
    for chunk in chunks {
        for (lane, value) in lanes.iter_mut().zip(chunk) {
            *lane = larger(*lane, *value);
        }
    }
    lanes
        .iter()
        .chain(rest)
        .copied()
        .fold(f32::NEG_INFINITY, larger)
}

/// The sum of the products of two rows.
#[inline(always)]
pub fn dot(one: &[f32], other: &[f32]) -> f32 {
    let mut lanes = [0.0; LANES];
    let (ones, one_rest) = one.as_chunks::<LANES>();
    let (others, other_rest) = other.as_chunks::<LANES>();
    for (one, other) in ones.iter().zip(others) {
        for (lane, (a, b)) in lanes.iter_mut().zip(one.iter().zip(other)) {
            *lane += a * b;
        }
    }
    let rest: f32 = one_rest.iter().zip(other_rest).map(|(a, b)| a * b).sum();
    lanes.iter().sum::<f32>() + rest
}

/// The sum of e to the power of each value less `greatest`.
#[inline(always)]
pub fn sum_of_exp(row: &[f32], greatest: f32) -> f32 {
    sum_of(row, |value| exp(value - greatest))
}

/// Turns rows of logits, each of this width, into probabilities.
pub fn softmax_rows(rows: &mut [f32], width: usize) {
    widely(
        #[inline(always)]
        || {
            for row in rows.chunks_exact_mut(width) {
                softmax(row);
            }
        },
    );
}

/// Turns a row of logits into probabilities.
#[inline(always)]
pub fn softmax(row: &mut [f32]) {
    let greatest = greatest(row);
    let factor = 1.0 / sum_of_exp(row, greatest);
    for value in row.iter_mut() {
        *value = exp(*value - greatest) * factor;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exp_and_gelu_are_near_the_exact_ones() {
        for step in -8000..=800 {
            let x = step as f32 / 100.0;
            let exact = f64::from(x).exp();
            assert!(
                (f64::from(exp(x)) - exact).abs() <= 3e-7 * exact,
                "exp({x})"
            );
        }
        // Φ from G. Marsaglia, "Evaluating the Normal Distribution" (2004): the series of erf by parts.
        let normal = |x: f64| {
            let (mut sum, mut term, mut n) = (x, x, 1.0);
            while term.abs() > 1e-17 {
                n += 2.0;
                term *= x * x / n;
                sum += term;
            }
            0.5 + sum * (-0.5 * x * x).exp() / std::f64::consts::TAU.sqrt()
        };
        for step in -600..=600 {
            let x = step as f32 / 100.0;
            let mut value = [x];
            gelu(&mut value);
            let exact = f64::from(x) * normal(f64::from(x));
            assert!(
                (f64::from(value[0]) - exact).abs() < 2e-6,
                "gelu({x}): {} {exact}",
                value[0]
            );
        }
    }

    #[test]
    fn softmax_sums_to_one() {
        let mut row = [1.0, 2.0, -200.0, 2.0];
        softmax(&mut row);
        assert!((row.iter().sum::<f32>() - 1.0).abs() < 1e-6);
        assert!((row[1] / row[0] - std::f32::consts::E).abs() < 1e-5);
    }
}
