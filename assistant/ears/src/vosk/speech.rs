//! Whether sound may be given to the decoder at all.

use crate::sound::voice_activity::{CHUNK, VoiceActivity};
use crate::sound::{SAMPLE_RATE, tame};

/// Shorter sound holds no word, in samples (0.1 s).
const SHORTEST: usize = SAMPLE_RATE as usize / 10;

/// Chunks of 32 ms that must sound like a voice.
const CHUNKS: usize = 2;

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
    let mut detector = VoiceActivity::new();
    let (chunks, _) = samples.as_chunks::<CHUNK>();
    let voice = |chunk: &&[f32; CHUNK]| detector.score(chunk) >= 0.5;
    chunks.iter().filter(voice).count() >= CHUNKS
}
