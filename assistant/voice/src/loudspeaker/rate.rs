//! From the engine's rate to the device's.

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{
    Async, FixedAsync, Indexing, Resampler, SincInterpolationParameters, SincInterpolationType,
    WindowFunction,
};

/// Samples taken at a time.
const CHUNK: usize = 220;

/// Converts one sentence, piece by piece.
pub struct Rate {
    /// `None`: both have the same rate.
    converter: Option<Async<f32>>,
    waiting: Vec<f32>,
    chunk: Vec<f32>,
    /// Samples still to be dropped from the start: the filter's delay.
    delay: usize,
}

impl Rate {
    /// From so many samples a second to so many. `None`: there is no way between them.
    pub fn new(from_hz: u32, to_hz: u32) -> Option<Self> {
        let converter = match from_hz == to_hz {
            true => None,
            false => {
                let parameters =
                    SincInterpolationParameters::new(128, WindowFunction::BlackmanHarris2)
                        .oversampling_factor(128)
                        .interpolation(SincInterpolationType::Quadratic);
                let ratio = f64::from(to_hz) / f64::from(from_hz);
                let input = FixedAsync::Input;
                Some(Async::new_sinc(ratio, 1.0, &parameters, CHUNK, 1, input).ok()?)
            }
        };
        Some(Self {
            chunk: vec![0.0; converter.as_ref().map_or(0, |it| it.output_frames_max())],
            delay: converter.as_ref().map_or(0, |it| it.output_delay()),
            waiting: Vec::with_capacity(2 * CHUNK),
            converter,
        })
    }

    /// Takes samples and appends what they become.
    pub fn push(&mut self, samples: &[i16], out: &mut Vec<f32>) {
        let samples = samples.iter().map(|sample| f32::from(*sample) / 32_768.0);
        if self.converter.is_none() {
            out.extend(samples);
            return;
        }
        self.waiting.extend(samples);
        while self.waiting.len() >= CHUNK {
            self.convert(CHUNK, out);
            self.waiting.drain(..CHUNK);
        }
    }

    /// Appends what is still held back.
    pub fn finish(&mut self, out: &mut Vec<f32>) {
        // The rest, and a chunk of silence that pushes the filter's delay out.
        let rest = self.waiting.len();
        if rest > 0 {
            self.convert(rest, out);
            self.waiting.clear();
        }
        self.convert(0, out);
    }

    fn convert(&mut self, count: usize, out: &mut Vec<f32>) {
        let Some(converter) = &mut self.converter else {
            return;
        };
        let room = self.chunk.len();
        let (Ok(input), Ok(mut output)) = (
            InterleavedSlice::new(&self.waiting, 1, self.waiting.len()),
            InterleavedSlice::new_mut(&mut self.chunk, 1, room),
        ) else {
            return;
        };
        let indexing = Indexing::new().partial_len(count);
        // The only errors are wrong buffer sizes, and both were asked of the converter itself.
        let Ok((_, written)) = converter.process_into_buffer(&input, &mut output, Some(&indexing))
        else {
            return;
        };
        let skipped = self.delay.min(written);
        self.delay -= skipped;
        out.extend_from_slice(&self.chunk[skipped..written]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_keeps_its_frequency_and_its_loudness() {
        let tone: Vec<i16> = (0..22_050)
            .map(|n| {
                let angle = std::f64::consts::TAU * 440.0 * f64::from(n) / 22_050.0;
                (10_000.0 * angle.sin()) as i16
            })
            .collect();
        for to in [16_000, 22_050, 44_100, 48_000] {
            let mut rate = Rate::new(22_050, to).unwrap();
            let mut out = Vec::new();
            for piece in tone.chunks(441) {
                rate.push(piece, &mut out);
            }
            rate.finish(&mut out);
            let middle = &out[to as usize / 4..to as usize * 3 / 4];
            let rising = middle.windows(2).filter(|it| it[0] < 0.0 && it[1] >= 0.0);
            assert!((219..=221).contains(&rising.count()), "at {to} Hz");
            let rms = (middle.iter().map(|it| it * it).sum::<f32>() / middle.len() as f32).sqrt();
            assert!((rms - 0.2158).abs() < 0.002, "{rms} at {to} Hz");
        }
    }
}
