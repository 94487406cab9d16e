//! The front end: the logarithm of the energy in 80 bands of the mel scale, a hundred times a second.
//!
//! As A. Radford et al., "Robust Speech Recognition via Large-Scale Weak Supervision" (arXiv:2212.04356,
//! section 2.2), use it: windows of 25 ms (periodic Hann), a step of 10 ms, mirrored at both ends; the
//! decadic logarithm, held at most 8 below the loudest, brought near −1 to 1. The bands are M. Slaney's
//! ("Auditory Toolbox", 1998: linear up to 1 kHz, logarithmic above, equal area), computed here.

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};
use std::sync::Arc;

/// Bands of the mel scale.
pub const BANDS: usize = 80;
/// Samples from one frame to the next.
pub const STEP: usize = 160;
const WINDOW: usize = 400;
const BINS: usize = WINDOW / 2 + 1;

/// One band: its first frequency bin, and the weights of that and the following ones.
struct Band {
    first: usize,
    weights: Vec<f64>,
}

/// The front end with what can be computed once.
pub struct FrontEnd {
    transform: Arc<dyn RealToComplex<f64>>,
    window: Vec<f64>,
    bands: Vec<Band>,
}

impl FrontEnd {
    pub fn new() -> Self {
        let window = (0..WINDOW)
            .map(|n| 0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / WINDOW as f64).cos())
            .collect();
        Self {
            transform: RealFftPlanner::new().plan_fft_forward(WINDOW),
            window,
            bands: slaney_bands(),
        }
    }

    /// `frames` × [`BANDS`] values, frame after frame, of 16 kHz sound that is cut or filled up with
    /// silence to that length.
    pub fn features(&self, samples: &[f32], frames: usize) -> Vec<f32> {
        let length = frames * STEP;
        let sample = |at: isize| {
            // Mirrored at both ends without repeating the sample at the end.
            let last = length as isize - 1;
            let inside = if at < 0 {
                -at
            } else if at > last {
                2 * last - at
            } else {
                at
            };
            usize::try_from(inside)
                .ok()
                .and_then(|inside| samples.get(inside))
                .copied()
                .unwrap_or(0.0)
        };
        let mut piece = vec![0.0; WINDOW];
        let mut spectrum = vec![Complex::default(); BINS];
        let mut scratch = self.transform.make_scratch_vec();
        let mut features = Vec::with_capacity(frames * BANDS);
        for frame in 0..frames {
            let start = (frame * STEP) as isize - (WINDOW / 2) as isize;
            for (n, (value, weight)) in piece.iter_mut().zip(&self.window).enumerate() {
                let given = f64::from(sample(start + n as isize));
                *value = if given.is_finite() {
                    given * weight
                } else {
                    0.0
                };
            }
            // The three slices have the lengths that the transform was planned for, so it can't fail.
            let done = self
                .transform
                .process_with_scratch(&mut piece, &mut spectrum, &mut scratch);
            debug_assert!(done.is_ok());
            for band in &self.bands {
                let energy: f64 = band
                    .weights
                    .iter()
                    .zip(&spectrum[band.first..])
                    .map(|(weight, bin)| weight * bin.norm_sqr())
                    .sum();
                features.push(energy.max(1e-10).log10() as f32);
            }
        }
        let loudest = features.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        for value in &mut features {
            *value = (value.max(loudest - 8.0) + 4.0) / 4.0;
        }
        features
    }
}

/// Triangular bands between neighbouring centres that are equally spaced on Slaney's scale.
fn slaney_bands() -> Vec<Band> {
    let top = hertz_to_mel(8000.0);
    let edges: Vec<f64> = (0..BANDS + 2)
        .map(|n| mel_to_hertz(top * n as f64 / (BANDS + 1) as f64))
        .collect();
    edges
        .windows(3)
        .map(|edge| {
            let (low, centre, high) = (edge[0], edge[1], edge[2]);
            let weight = |bin: usize| {
                let hertz = bin as f64 * 16_000.0 / WINDOW as f64;
                let rising = (hertz - low) / (centre - low);
                let falling = (high - hertz) / (high - centre);
                rising.min(falling).max(0.0) * 2.0 / (high - low)
            };
            let inside: Vec<usize> = (0..BINS).filter(|bin| weight(*bin) > 0.0).collect();
            match (inside.first(), inside.last()) {
                (Some(first), Some(last)) => Band {
                    first: *first,
                    weights: (*first..=*last).map(weight).collect(),
                },
                (None, _) | (_, None) => Band {
                    first: 0,
                    weights: Vec::new(),
                },
            }
        })
        .collect()
}

const LINEAR_STEP: f64 = 200.0 / 3.0;
const LOGARITHMIC_FROM: f64 = 1000.0;

fn hertz_to_mel(hertz: f64) -> f64 {
    if hertz < LOGARITHMIC_FROM {
        hertz / LINEAR_STEP
    } else {
        LOGARITHMIC_FROM / LINEAR_STEP + (hertz / LOGARITHMIC_FROM).ln() * 27.0 / 6.4f64.ln()
    }
}

fn mel_to_hertz(mel: f64) -> f64 {
    let knee = LOGARITHMIC_FROM / LINEAR_STEP;
    if mel < knee {
        mel * LINEAR_STEP
    } else {
        LOGARITHMIC_FROM * ((mel - knee) * 6.4f64.ln() / 27.0).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_lies_in_its_band() {
        let tone: Vec<f32> = (0..16_000)
            .map(|n| (n as f32 * 1000.0 / 16_000.0 * std::f32::consts::TAU).sin())
            .collect();
        let features = FrontEnd::new().features(&tone, 100);
        let frame = &features[50 * BANDS..51 * BANDS];
        let loudest = (0..BANDS)
            .max_by(|a, b| frame[*a].total_cmp(&frame[*b]))
            .expect("bands");
        let top = hertz_to_mel(8000.0);
        let centre = mel_to_hertz(top * (loudest + 1) as f64 / (BANDS + 1) as f64);
        assert!((centre - 1000.0).abs() < 60.0, "{centre} Hz");
    }

    #[test]
    fn silence_and_broken_samples_give_numbers() {
        for samples in [
            vec![],
            vec![0.0; 10],
            vec![f32::NAN; 500],
            vec![f32::INFINITY; 500],
        ] {
            assert!(
                FrontEnd::new()
                    .features(&samples, 300)
                    .iter()
                    .all(|value| value.is_finite())
            );
        }
    }
}
