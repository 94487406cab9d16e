//! Whether a moment of sound holds a voice: the 16 kHz network of the package `silero-vad` 6.2.3 (MIT).
//!
//! Music, rain, compressors and hammers are no voices to it; somebody else's voice is one. That is where it earns its
//! place: the bench's README compares it with what was here before.
//!
//! `data/voice-activity.f16` holds the tensors of that package's `silero_vad_16k.safetensors` (SHA-256 `c59271c2…9ea1`),
//! rounded to half precision, little-endian, in the order in which `Network::read` takes them. Rounding moves no score by
//! more than 0.01. The package's ONNX files hold other tensors, which tell voices from noise no better.

use half::f16;
use std::sync::LazyLock;

/// Samples that are judged at a time: 32 ms.
pub(crate) const CHUNK: usize = 512;

/// Samples of the chunk before that are looked at once more.
const CONTEXT: usize = 64;

/// Samples of one spectrum, and from one to the next.
const WINDOW: usize = 256;
const HOP: usize = 128;

/// Frequencies of a spectrum.
const FREQUENCIES: usize = WINDOW / 2 + 1;

/// Units of the memory from chunk to chunk.
const UNITS: usize = 128;

/// Follows one source of sound.
#[derive(Debug)]
pub(crate) struct VoiceActivity {
    network: &'static Network,
    context: [f32; CONTEXT],
    hidden: Vec<f32>,
    cell: Vec<f32>,
}

impl VoiceActivity {
    /// Before the first sample of a source.
    pub(crate) fn new() -> Self {
        static NETWORK: LazyLock<Network> = LazyLock::new(Network::read);
        Self {
            network: &NETWORK,
            context: [0.0; CONTEXT],
            hidden: vec![0.0; UNITS],
            cell: vec![0.0; UNITS],
        }
    }

    /// How probable a voice is in the next chunk, 0 to 1.
    pub(crate) fn score(&mut self, chunk: &[f32; CHUNK]) -> f32 {
        pulp::Arch::new().dispatch(|| self.next(chunk))
    }

    #[inline(always)]
    fn next(&mut self, chunk: &[f32; CHUNK]) -> f32 {
        let network = self.network;
        let mut sound = [&self.context[..], chunk].concat();
        let end = sound.len() - 1;
        // The end is continued by its reflection.
        for back in 1..=CONTEXT {
            sound.push(sound[end - back]);
        }
        self.context.copy_from_slice(&chunk[CHUNK - CONTEXT..]);

        let spectra: Vec<Vec<f32>> = sound
            .windows(WINDOW)
            .step_by(HOP)
            .map(|window| {
                let parts = network.spectrum.apply(window);
                let (real, imaginary) = parts.split_at(FREQUENCIES);
                let magnitude = |(re, im): (&f32, &f32)| re.hypot(*im);
                real.iter().zip(imaginary).map(magnitude).collect()
            })
            .collect();
        let heard = network
            .layers
            .iter()
            .fold(spectra, |columns, (layer, stride)| {
                convolve(layer, &columns, *stride)
            });

        let mut gates = network.from_input.apply(&heard.concat());
        for (gate, more) in gates
            .iter_mut()
            .zip(network.from_hidden.apply(&self.hidden))
        {
            *gate += more;
        }
        // In the order of PyTorch's LSTMCell: input, forget, cell, output.
        for unit in 0..UNITS {
            let gate = |number: usize| gates[number * UNITS + unit];
            let cell = sigmoid(gate(1)) * self.cell[unit] + sigmoid(gate(0)) * gate(2).tanh();
            self.cell[unit] = cell;
            self.hidden[unit] = sigmoid(gate(3)) * cell.tanh();
        }
        let seen: Vec<f32> = self.hidden.iter().map(|it| it.max(0.0)).collect();
        sigmoid(network.last.apply(&seen)[0])
    }
}

/// The network's weights.
#[derive(Debug)]
struct Network {
    spectrum: Rows,
    /// Convolutions of width 3, and their strides.
    layers: [(Rows, usize); 4],
    from_input: Rows,
    from_hidden: Rows,
    last: Rows,
}

impl Network {
    fn read() -> Self {
        let bytes = include_bytes!("../../data/voice-activity.f16");
        let mut all = bytes
            .chunks_exact(2)
            .map(|pair| f16::from_le_bytes([pair[0], pair[1]]).to_f32());
        let mut take = |count: usize| -> Vec<f32> { all.by_ref().take(count).collect() };
        let mut rows = |outputs: usize, inputs: usize, biased: bool| Rows {
            weights: take(outputs * inputs),
            bias: take(if biased { outputs } else { 0 }),
            inputs,
        };
        let spectrum = rows(2 * FREQUENCIES, WINDOW, false);
        let layers = [
            (rows(128, 3 * FREQUENCIES, true), 1),
            (rows(64, 3 * 128, true), 2),
            (rows(64, 3 * 64, true), 2),
            (rows(UNITS, 3 * 64, true), 1),
        ];
        let mut from_input = rows(4 * UNITS, UNITS, false);
        let mut from_hidden = rows(4 * UNITS, UNITS, false);
        from_input.bias = take(4 * UNITS);
        from_hidden.bias = take(4 * UNITS);
        let last = Rows {
            weights: take(UNITS),
            bias: take(1),
            inputs: UNITS,
        };
        Self {
            spectrum,
            layers,
            from_input,
            from_hidden,
            last,
        }
    }
}

/// A matrix, row after row, and what is added to each row's product.
#[derive(Debug)]
struct Rows {
    weights: Vec<f32>,
    bias: Vec<f32>,
    inputs: usize,
}

impl Rows {
    #[inline(always)]
    fn apply(&self, input: &[f32]) -> Vec<f32> {
        let rows = self.weights.chunks_exact(self.inputs);
        let mut products: Vec<f32> = rows.map(|row| dot(row, input)).collect();
        for (product, bias) in products.iter_mut().zip(&self.bias) {
            *product += bias;
        }
        products
    }
}

/// Over columns with one of zeros before and after them; nothing below zero is passed on.
#[inline(always)]
fn convolve(layer: &Rows, columns: &[Vec<f32>], stride: usize) -> Vec<Vec<f32>> {
    let channels = layer.inputs / 3;
    let column = |at: usize| {
        // The weights of a channel lie side by side.
        let mut patch = vec![0.0; layer.inputs];
        for (tap, place) in (at..at + 3).enumerate() {
            let column = place.checked_sub(1).and_then(|place| columns.get(place));
            for (channel, value) in column.into_iter().flatten().enumerate().take(channels) {
                patch[3 * channel + tap] = *value;
            }
        }
        let mut outputs = layer.apply(&patch);
        outputs
            .iter_mut()
            .for_each(|output| *output = output.max(0.0));
        outputs
    };
    (0..columns.len()).step_by(stride).map(column).collect()
}

/// In sixteen sums, so that they can be computed side by side.
#[inline(always)]
fn dot(one: &[f32], other: &[f32]) -> f32 {
    const WIDTH: usize = 16;
    let mut sums = [0.0f32; WIDTH];
    let (ones, others) = (one.chunks_exact(WIDTH), other.chunks_exact(WIDTH));
    let rest = ones.remainder().iter().zip(others.remainder());
    let rest: f32 = rest.map(|(one, other)| one * other).sum();
    for (one, other) in ones.zip(others) {
        for ((sum, one), other) in sums.iter_mut().zip(one).zip(other) {
            *sum += one * other;
        }
    }
    sums.iter().sum::<f32>() + rest
}

fn sigmoid(x: f32) -> f32 {
    1.0 / (1.0 + (-x).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Vowels of 120 Hz, four a second, gliding from one to another.
    fn sound(chunks: usize) -> Vec<f32> {
        use std::f64::consts::TAU;
        let sample = |n: usize| {
            let t = n as f64 / 16_000.0;
            let glide = (TAU * 2.0 * t).sin();
            let formants = [
                (500.0 + 200.0 * glide, 130.0),
                (1_500.0 + 500.0 * glide, 200.0),
                (2_600.0, 250.0),
            ];
            let partial = |k: usize| {
                let frequency = 120.0 * k as f64;
                let gain = |(at, width): (f64, f64)| (-((frequency - at) / width).powi(2)).exp();
                let gain = formants.map(gain).iter().sum::<f64>() + 0.02;
                gain * (TAU * frequency * t).sin()
            };
            let syllable = (TAU * 4.0 * t).sin().max(0.0);
            (0.08 * syllable * (1..33).map(partial).sum::<f64>()) as f32
        };
        (0..chunks * CHUNK).map(sample).collect()
    }

    #[test]
    fn scores_are_those_of_the_authors_layout() {
        let mut detector = VoiceActivity::new();
        let sound = sound(REFERENCE.len());
        let scores = sound.chunks_exact(CHUNK).map(|chunk| {
            // Each has this length.
            detector.score(chunk.try_into().expect("a whole chunk"))
        });
        for (number, (score, expected)) in scores.zip(REFERENCE).enumerate() {
            assert!(
                (score - expected).abs() < 0.01,
                "chunk {number}: {score}, not {expected}"
            );
        }
    }

    /// Of this sound by NumPy 2.4 with the tensors in single precision, laid out as in the package's `tinygrad_model.py`.
    const REFERENCE: [f32; 40] = [
        0.744, 0.930, 0.659, 0.950, 0.924, 0.934, 0.699, 0.667, 0.979, 0.981, 0.995, 0.989, 0.975,
        0.906, 0.596, 0.649, 0.944, 0.841, 0.782, 0.726, 0.793, 0.452, 0.255, 0.379, 0.635, 0.673,
        0.742, 0.302, 0.227, 0.130, 0.080, 0.348, 0.634, 0.574, 0.701, 0.263, 0.187, 0.136, 0.088,
        0.444,
    ];
}
