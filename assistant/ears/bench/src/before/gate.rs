//! A spectral gate: what doesn't stand out of the noise before speech is turned down, frequency by frequency.
//!
//! Spectral subtraction with more than the noise taken off and a floor: M. Berouti, R. Schwartz and J. Makhoul,
//! "Enhancement of Speech Corrupted by Acoustic Noise" (1979).

use super::super::shop::RATE;
use realfft::RealFftPlanner;
use realfft::num_complex::Complex;

/// Samples of a piece, 32 ms, and from one to the next.
const PIECE: usize = 512;
const STEP: usize = PIECE / 4;

/// At the beginning nobody speaks for so many samples.
const QUIET: usize = RATE / 2;

/// How much more than the noise is taken off, and the least gain of an amplitude (−12 dB). Not tuned.
const OVER: f32 = 2.0;
const LEAST: f32 = 0.25;

/// Pieces before and after that a power is averaged over, so that single bins don't chirp.
const AROUND: usize = 2;

/// The sound through the gate, as long as it was.
pub fn gated(sound: &[f32]) -> Vec<f32> {
    let mut padded = vec![0.0; PIECE];
    padded.extend(sound);
    padded.resize((sound.len() + 2 * PIECE).next_multiple_of(STEP), 0.0);
    // Four of its squares laid over one another sum up to 2.
    let window: Vec<f32> = (0..PIECE)
        .map(|n| (std::f32::consts::PI * n as f32 / PIECE as f32).sin())
        .collect();
    let mut planner = RealFftPlanner::<f32>::new();
    let (forward, back) = (
        planner.plan_fft_forward(PIECE),
        planner.plan_fft_inverse(PIECE),
    );
    let mut spectra: Vec<Vec<Complex<f32>>> = padded
        .windows(PIECE)
        .step_by(STEP)
        .map(|piece| {
            let mut piece: Vec<f32> = piece.iter().zip(&window).map(|(x, w)| x * w).collect();
            let mut spectrum = forward.make_output_vec();
            // Both have the lengths that the transform was planned for, so it can't fail.
            let done = forward.process(&mut piece, &mut spectrum);
            debug_assert!(done.is_ok());
            spectrum
        })
        .collect();
    turn_down(&mut spectra);
    let mut out = vec![0.0; padded.len()];
    for (number, mut spectrum) in spectra.into_iter().enumerate() {
        let mut piece = back.make_output_vec();
        // As above; the first and last bin are real, since only their size was changed.
        let done = back.process(&mut spectrum, &mut piece);
        debug_assert!(done.is_ok());
        let places = out[number * STEP..].iter_mut();
        for ((place, sample), weight) in places.zip(piece).zip(&window) {
            *place += sample * weight / (2 * PIECE) as f32;
        }
    }
    out[PIECE..PIECE + sound.len()].to_vec()
}

fn turn_down(spectra: &mut [Vec<Complex<f32>>]) {
    let powers: Vec<Vec<f32>> = spectra
        .iter()
        .map(|spectrum| spectrum.iter().map(Complex::norm_sqr).collect())
        .collect();
    let mean = |pieces: &[Vec<f32>], bin: usize| {
        pieces.iter().map(|piece| piece[bin]).sum::<f32>() / pieces.len().max(1) as f32
    };
    let last = powers.len().saturating_sub(1);
    // Those that lie wholly in the quiet.
    let quiet = &powers[(PIECE / STEP).min(last)..(QUIET / STEP).min(last)];
    for bin in 0..=PIECE / 2 {
        let noise = mean(quiet, bin);
        for (at, spectrum) in spectra.iter_mut().enumerate() {
            let near = &powers[at.saturating_sub(AROUND)..=(at + AROUND).min(last)];
            let left = 1.0 - OVER * noise / mean(near, bin).max(1e-12);
            spectrum[bin] *= left.max(LEAST * LEAST).sqrt();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::Noise;

    fn decibel(samples: &[f32]) -> f32 {
        10.0 * (samples.iter().map(|x| x * x).sum::<f32>() / samples.len() as f32).log10()
    }

    #[test]
    fn noise_is_lowered_and_a_tone_stays() {
        let noise: Vec<f32> = Noise::White.samples(3 * RATE, 5, &[]);
        let mut sound: Vec<f32> = noise.iter().map(|sample| 0.02 * sample).collect();
        for (n, sample) in sound.iter_mut().enumerate().skip(2 * RATE) {
            *sample += 0.1 * (n as f32 * 0.4).sin();
        }
        let gated = gated(&sound);
        assert_eq!(gated.len(), sound.len());
        let noise = RATE..2 * RATE - PIECE;
        let lowered = decibel(&sound[noise.clone()]) - decibel(&gated[noise]);
        assert!((9.0..=12.1).contains(&lowered), "{lowered} dB");
        let tone = 2 * RATE + PIECE..3 * RATE - PIECE;
        // Against the tone alone, whose phase must be as it was.
        let off: Vec<f32> = tone
            .clone()
            .map(|n| gated[n] - 0.1 * (n as f32 * 0.4).sin())
            .collect();
        assert!(
            decibel(&off) < decibel(&gated[tone]) - 20.0,
            "{}",
            decibel(&off)
        );
    }
}
