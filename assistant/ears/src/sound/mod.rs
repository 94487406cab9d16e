//! Sound: files, the microphone, where speech begins and ends.
//!
//! Whatever the source, sound is 16 kHz mono from here on. [`file`] and [`folder`] read recordings,
//! [`microphone`] captures live, and [`endpoint`] cuts either into [`Utterance`]s.

pub mod echo;
pub mod endpoint;
pub mod file;
pub mod folder;
pub mod microphone;
mod noise;
mod resample;

/// A stretch of sound that holds one thing said.
#[derive(Debug, Clone, PartialEq)]
pub struct Utterance {
    /// 16 kHz mono, −1 to 1.
    pub samples: Vec<f32>,
    /// Speech-to-noise ratio in decibel, where it could be measured.
    pub snr_db: Option<f32>,
    /// Share of the samples that were clipped, 0 to 1.
    pub clipped: f32,
    /// Seconds of it in which the assistant's own loudspeaker sounded; 0 where that isn't known.
    pub under_playback: f32,
    /// Whether it still sounded, or the room of it, as the last was said.
    pub ends_under_playback: bool,
    /// Whether that sound could not be taken out of all of it.
    pub uncancelled: bool,
}

impl Utterance {
    /// Takes samples as they are (16 kHz mono) for one utterance, without looking for speech in them.
    /// The speech-to-noise ratio stays unknown.
    pub fn whole(samples: Vec<f32>) -> Self {
        let clipped = clipped_share(&samples);
        Self {
            samples,
            snr_db: None,
            clipped,
            under_playback: 0.0,
            ends_under_playback: false,
            uncancelled: false,
        }
    }

    /// Length in seconds.
    pub fn seconds(&self) -> f32 {
        self.samples.len() as f32 / SAMPLE_RATE as f32
    }
}

/// Samples a second of every [`Utterance`].
pub const SAMPLE_RATE: u32 = 16_000;

/// A sample this close to full scale counts as clipped. Resampling rounds the flat tops of clipped
/// sound off by about a percent, so that exactly 1 would miss most of them.
const CLIPPED: f32 = 0.99;

/// Share of the samples at full scale, 0 to 1; 0 for no samples.
fn clipped_share(samples: &[f32]) -> f32 {
    if samples.is_empty() {
        return 0.0;
    }
    samples
        .iter()
        .filter(|sample| sample.abs() >= CLIPPED)
        .count() as f32
        / samples.len() as f32
}

/// A sample that arithmetic can be done on: NaN becomes silence, everything else is held to −1 to 1.
pub(crate) fn tame(sample: f32) -> f32 {
    if sample.is_nan() {
        0.0
    } else {
        sample.clamp(-1.0, 1.0)
    }
}

/// Averages interleaved channels into one. A last frame that misses channels is dropped.
fn mix_to_mono(interleaved: &[f32], channels: usize) -> impl Iterator<Item = f32> {
    let channels = channels.max(1);
    interleaved
        .chunks_exact(channels)
        .map(move |frame| frame.iter().copied().map(tame).sum::<f32>() / channels as f32)
}
