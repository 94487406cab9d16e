//! Short sounds that say without words how something went.
//!
//! Made here from sine tones, so that no ear takes them for speech: each is shorter than the shortest word, and
//! the end-pointer needs a voice.

use std::f32::consts::TAU;

/// A short sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Earcon {
    /// It was heard and counts: one short high tone.
    Heard,
    /// It wasn't understood: two low tones, falling.
    NotUnderstood,
    /// A hold point asks for its words: three tones, rising.
    Hold,
    /// A hold point opened: two tones, rising a fifth.
    Opened,
    /// Listening to one person now, or no more: one long middle tone.
    Attention,
}

/// Hertz and seconds of each tone.
type Tones = &'static [(f32, f32)];

impl Earcon {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Heard,
        Self::NotUnderstood,
        Self::Hold,
        Self::Opened,
        Self::Attention,
    ];

    fn tones(self) -> Tones {
        match self {
            Self::Heard => &[(1_175.0, 0.045)],
            Self::NotUnderstood => &[(330.0, 0.08), (262.0, 0.12)],
            Self::Hold => &[(587.0, 0.07), (740.0, 0.07), (880.0, 0.11)],
            Self::Opened => &[(587.0, 0.07), (880.0, 0.12)],
            Self::Attention => &[(659.0, 0.15)],
        }
    }

    /// The sound, −1 to 1, at this loudness from 0 to 1.
    pub fn samples(self, rate_hz: u32, loudness: f32) -> Vec<f32> {
        let rate = rate_hz as f32;
        let mut samples = Vec::new();
        for (hertz, seconds) in self.tones() {
            let count = (seconds * rate) as usize;
            let ramp = (0.008 * rate).max(1.0);
            samples.extend((0..count).map(|n| {
                // Risen and fallen softly, or it clicks.
                let edge = (n.min(count - 1 - n) as f32 / ramp).min(1.0);
                let swell = 0.5 - 0.5 * (edge * TAU / 2.0).cos();
                0.25 * loudness * swell * (TAU * hertz * n as f32 / rate).sin()
            }));
        }
        samples
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn earcons_are_short_soft_and_each_its_own() {
        let mut all = Vec::new();
        for earcon in Earcon::ALL {
            let samples = earcon.samples(16_000, 1.0);
            assert!(samples.len() < 16_000 * 3 / 10, "{earcon:?}");
            assert!(samples.iter().all(|sample| sample.abs() <= 0.25));
            assert!(samples.iter().any(|sample| sample.abs() > 0.2));
            assert!(!all.contains(&samples));
            all.push(samples);
        }
    }
}
