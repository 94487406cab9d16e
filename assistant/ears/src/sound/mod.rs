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

use std::ops::Range;
use std::time::Duration;

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
    /// Where in the samples somebody speaks: pieces of speech with pauses of 0.2 s or more between them. Empty where
    /// nobody has looked.
    pub pieces: Vec<Range<usize>>,
    /// Samples of the source before the first one here.
    pub begins_at: u64,
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
            pieces: Vec::new(),
            begins_at: 0,
        }
    }

    /// The last piece of speech alone, with a little of the silence around it, where there were others before it.
    pub fn last_piece(&self) -> Option<Self> {
        let [.., before, last] = self.pieces.as_slice() else {
            return None;
        };
        let mut piece = self.clone();
        piece.samples =
            self.samples[before.end.max(last.start.saturating_sub(PRE_ROLL))..].to_vec();
        let cut = self.samples.len() - piece.samples.len();
        piece.pieces = std::iter::once(last.start - cut..last.end - cut).collect();
        piece.begins_at += cut as u64;
        Some(piece)
    }

    /// The longest pause between two pieces of speech; none where there is only one.
    pub fn longest_pause(&self) -> Duration {
        let pauses = self.pieces.windows(2).map(|it| match it {
            [one, next] => next.start.saturating_sub(one.end),
            _other => 0,
        });
        Duration::from_secs_f64(pauses.max().unwrap_or(0) as f64 / f64::from(SAMPLE_RATE))
    }

    /// Length in seconds.
    pub fn seconds(&self) -> f32 {
        self.samples.len() as f32 / SAMPLE_RATE as f32
    }
}

/// Samples kept before a piece of speech that is taken out of its utterance: 0.3 s.
const PRE_ROLL: usize = 4_800;

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
