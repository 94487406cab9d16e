//! What encoder and decoder are built of. Arithmetic as in A. Vaswani et al., "Attention Is All You Need"
//! (arXiv:1706.03762), with the norm before each part.

use super::matrix::{Onto, Shape, multiply};
use super::weights::Weights;
use crate::RecogniserError;

/// Channels of every state.
pub const WIDTH: usize = 384;
/// Attention heads.
pub const HEADS: usize = 6;
/// Channels of one head.
pub const HEAD: usize = WIDTH / HEADS;
/// Channels inside the feed-forward part.
pub const INNER: usize = 4 * WIDTH;

/// `x · W + b`, the weights kept with the outputs side by side.
pub struct Linear {
    weight: Vec<f32>,
    bias: Vec<f32>,
    inputs: usize,
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
        Ok(Self::new(
            |output, input| given[output * inputs + input],
            bias,
            inputs,
        ))
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
        Ok(Self::new(at, bias, inputs * 3))
    }

    fn new(at: impl Fn(usize, usize) -> f32, bias: Vec<f32>, inputs: usize) -> Self {
        let outputs = bias.len();
        let mut weight = Vec::with_capacity(inputs * outputs);
        for input in 0..inputs {
            weight.extend((0..outputs).map(|output| at(output, input)));
        }
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
        let mut output = self.bias.repeat(rows);
        multiply(
            (&mut output, Shape::dense(rows, outputs)),
            (input, Shape::strided(rows, self.inputs, row_stride)),
            (&self.weight, Shape::dense(self.inputs, outputs)),
            1.0,
            Onto::Present,
            threads,
        );
        output
    }

    /// One output row for each input row.
    pub fn apply(&self, input: &[f32], threads: usize) -> Vec<f32> {
        self.apply_strided(input, input.len() / self.inputs, self.inputs, threads)
    }
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
        let mut output = Vec::with_capacity(input.len());
        for row in input.chunks_exact(WIDTH) {
            let mean = sum(row.iter().copied()) / WIDTH as f32;
            let variance = sum(row.iter().map(|x| (x - mean) * (x - mean))) / WIDTH as f32;
            let factor = 1.0 / (variance + 1e-5).sqrt();
            output.extend(
                row.iter()
                    .zip(self.scale.iter().zip(&self.shift))
                    .map(|(x, (scale, shift))| (x - mean) * factor * scale + shift),
            );
        }
        output
    }
}

fn sum(values: impl Iterator<Item = f32>) -> f32 {
    values.map(f64::from).sum::<f64>() as f32
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

/// Gaussian error linear unit, `x · Φ(x)`, the exact one (D. Hendrycks, K. Gimpel, arXiv:1606.08415).
///
/// The error function is formula 7.1.26 of M. Abramowitz, I. Stegun, "Handbook of Mathematical Functions",
/// absolute error at most 1.5e-7.
pub fn gelu(values: &mut [f32]) {
    for value in values {
        let x = *value;
        let z = x.abs() * std::f32::consts::FRAC_1_SQRT_2;
        let t = 1.0 / (1.0 + 0.327_591_1 * z);
        let polynomial = ((((1.061_405_4 * t - 1.453_152_1) * t + 1.421_413_8) * t - 0.284_496_72)
            * t
            + 0.254_829_6)
            * t;
        let tail = 0.5 * polynomial * exp(-z * z);
        *value = if x < 0.0 { x * tail } else { x * (1.0 - tail) };
    }
}

/// eˣ for x ≤ 0 (and up to 80), without branches so that the compiler can do several at once. Relative
/// error below 2e-7: 2ⁿ in the exponent's bits times the Taylor series of the rest, |rest| ≤ ln 2 / 2.
#[inline(always)]
pub fn exp(x: f32) -> f32 {
    let x = x.clamp(-87.0, 80.0);
    // Adding and taking off 1.5 · 2²³ rounds to a whole number.
    let rounder = 12_582_912.0;
    let n = (x * std::f32::consts::LOG2_E + rounder) - rounder;
    let r = (x - n * 0.693_359_4) + n * 2.121_944_4e-4;
    let series = 1.0
        + r * (1.0
            + r * (0.5
                + r * (0.166_666_67
                    + r * (0.041_666_668 + r * (0.008_333_334 + r * 0.001_388_888_9)))));
    f32::from_bits(((n as i32 + 127) << 23) as u32) * series
}

/// Sums and greatest values are taken in so many lanes side by side, which the compiler can then do at
/// once; one after the other they would have to wait for each other.
const LANES: usize = 16;

/// The greatest of a row.
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

/// The sum of e to the power of each value less `greatest`.
pub fn sum_of_exp(row: &[f32], greatest: f32) -> f32 {
    let mut lanes = [0.0; LANES];
    let (chunks, rest) = row.as_chunks::<LANES>();
    for chunk in chunks {
        for (lane, value) in lanes.iter_mut().zip(chunk) {
            *lane += exp(*value - greatest);
        }
    }
    let rest: f32 = rest.iter().map(|value| exp(*value - greatest)).sum();
    lanes.iter().sum::<f32>() + rest
}

/// Turns a row of logits into probabilities.
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
