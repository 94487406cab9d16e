//! Whether sound may be given to the decoder at all.

use crate::sound::{SAMPLE_RATE, tame};

/// Shorter sound holds no word, in samples (0.1 s).
const SHORTEST: usize = SAMPLE_RATE as usize / 10;

/// Frames of 16 ms that must sound like a voice.
const FRAMES: usize = 4;

/// Mean square (−65 dB of full scale) under which nothing was said.
const LEAST_POWER: f32 = 3.2e-7;

/// False for silence, for less than a tenth of a second and for white noise: forced into the
/// grammar, noise comes out as words, digits above all.
pub(super) fn may_be_in(samples: &[f32]) -> bool {
    if samples.len() < SHORTEST {
        return false;
    }
    let samples: Vec<f32> = samples.iter().copied().map(tame).collect();
    let power = samples.iter().map(|s| s * s).sum::<f32>() / samples.len() as f32;
    if power < LEAST_POWER {
        return false;
    }
    let mut detector = earshot::Detector::default_boxed();
    // The network takes the first frames of any noise for voice; silence settles it.
    for _ in 0..19 {
        detector.predict_f32(&[0.0; 256]);
    }
    samples
        .chunks_exact(256)
        .filter(|frame| detector.predict_f32(frame) >= 0.5)
        .count()
        >= FRAMES
}
