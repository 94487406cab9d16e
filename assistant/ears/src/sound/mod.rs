//! Sound: files, the microphone, where speech begins and ends.

/// A stretch of sound that holds one thing said.
#[derive(Debug, Clone, PartialEq)]
pub struct Utterance {
    /// 16 kHz mono, −1 to 1.
    pub samples: Vec<f32>,
    /// Speech-to-noise ratio in decibel, where it could be measured.
    pub snr_db: Option<f32>,
    /// Share of the samples that were clipped, 0 to 1.
    pub clipped: f32,
}

/// Samples a second of every [`Utterance`].
pub const SAMPLE_RATE: u32 = 16_000;
