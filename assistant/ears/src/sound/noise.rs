//! How loud it is, and how loud it is when nobody speaks.

use super::SAMPLE_RATE;
use std::collections::VecDeque;

/// Frames that a frame's power is averaged over: 80 ms, about a syllable's nucleus.
const SMOOTHED: usize = 5;

/// Frames that the floor is looked for in: 2 s, in which a talker pauses at least between words.
const REMEMBERED: usize = 125;

/// Frames needed before the floor is taken for known: 0.3 s.
const ENOUGH: usize = 19;

/// The least of many averages lies below their mean. This factor (1 dB) was measured on white and
/// pink noise: it brings the floor to within half a decibel of the noise's power.
const BIAS: f32 = 1.25;

/// Below this power (−90 dB of full scale) is only the rounding of 16-bit samples.
const LEAST: f32 = 1e-9;

/// Power of full scale 1 in decibel.
pub(super) fn decibel(power: f32) -> f32 {
    10.0 * power.max(1e-12).log10()
}

/// Follows the power of the background frame by frame (minimum statistics: the least smoothed power
/// of the last two seconds), above 120 Hz so that hum and rumble don't hide behind it.
#[derive(Debug)]
pub(super) struct NoiseFloor {
    high_pass: HighPass,
    powers: VecDeque<f32>,
    smoothed: VecDeque<f32>,
}

/// A frame's power against the background.
#[derive(Debug, Clone, Copy)]
pub(super) struct Level {
    /// Mean square of this frame.
    pub(super) power: f32,
    /// Mean square of the last frames.
    pub(super) smoothed: f32,
    /// Mean square of the background, once enough was heard to tell.
    pub(super) floor: Option<f32>,
}

impl NoiseFloor {
    pub(super) fn new() -> Self {
        Self {
            high_pass: HighPass::new(),
            powers: VecDeque::with_capacity(SMOOTHED + 1),
            smoothed: VecDeque::with_capacity(REMEMBERED + 1),
        }
    }

    /// Takes the next frame.
    pub(super) fn take(&mut self, frame: &[f32]) -> Level {
        let sum: f32 = frame
            .iter()
            .map(|sample| self.high_pass.filter(*sample).powi(2))
            .sum();
        let power = sum / frame.len().max(1) as f32;
        push_bounded(&mut self.powers, power, SMOOTHED);
        let smoothed = self.powers.iter().sum::<f32>() / self.powers.len() as f32;
        if self.powers.len() == SMOOTHED {
            push_bounded(&mut self.smoothed, smoothed, REMEMBERED);
        }
        Level {
            power,
            smoothed,
            floor: self.floor(),
        }
    }

    /// The background's mean square by what was heard so far.
    pub(super) fn floor(&self) -> Option<f32> {
        if self.smoothed.len() < ENOUGH {
            return None;
        }
        let least = self.smoothed.iter().copied().fold(f32::INFINITY, f32::min);
        Some((least * BIAS).max(LEAST))
    }
}

/// Follows how loud the voices are that go on in the background without a pause: at the next bench, in a canteen. Somebody
/// close by stands out of them as somebody in a quiet room stands out of the noise.
#[derive(Debug, Default)]
pub(super) struct BackgroundVoices {
    /// Of the last frames: how loud, in decibel, where there was a voice.
    levels: VecDeque<Option<f32>>,
    /// Frames since the last voice.
    pause: usize,
}

/// Frames that background voices are remembered for: 10 s.
const VOICES_REMEMBERED: usize = 625;

/// Frames with a voice among them from which somebody talks in the background: 1.5 s.
const VOICES_ENOUGH: usize = 94;

/// Frames without any voice after which there are none in the background: 0.6 s. Several people at once hardly pause so long.
const VOICES_PAUSE: usize = 38;

impl BackgroundVoices {
    /// Takes a frame in which nobody close by speaks.
    pub(super) fn take(&mut self, voice_db: Option<f32>) {
        self.pause = match voice_db {
            Some(_) => 0,
            None => self.pause + 1,
        };
        if self.pause >= VOICES_PAUSE {
            // Whoever talked has ended. That was somebody who talks, and no background.
            self.levels.clear();
        }
        push_bounded(&mut self.levels, voice_db, VOICES_REMEMBERED);
    }

    /// What four fifths of their frames don't exceed, in decibel of full scale, where there are any voices.
    pub(super) fn loud_db(&self) -> Option<f32> {
        let mut voices: Vec<f32> = self.levels.iter().copied().flatten().collect();
        let loud = voices.len() * 4 / 5;
        let enough = voices.len() >= VOICES_ENOUGH;
        enough.then(|| *voices.select_nth_unstable_by(loud, f32::total_cmp).1)
    }
}

fn push_bounded<T>(queue: &mut VecDeque<T>, value: T, bound: usize) {
    queue.push_back(value);
    if queue.len() > bound {
        queue.pop_front();
    }
}

/// Second-order Butterworth high-pass at 120 Hz.
/// Coefficients: R. Bristow-Johnson, "Cookbook formulae for audio equalizer biquad filter
/// coefficients", HPF with Q = 1/√2.
#[derive(Debug)]
pub(super) struct HighPass {
    b: [f32; 3],
    a: [f32; 2],
    state: [f32; 2],
}

impl HighPass {
    pub(super) fn new() -> Self {
        let omega = std::f32::consts::TAU * 120.0 / SAMPLE_RATE as f32;
        let (sin, cos) = omega.sin_cos();
        let alpha = sin * std::f32::consts::FRAC_1_SQRT_2;
        let a0 = 1.0 + alpha;
        let b0 = (1.0 + cos) / 2.0 / a0;
        Self {
            b: [b0, -2.0 * b0, b0],
            a: [-2.0 * cos / a0, (1.0 - alpha) / a0],
            state: [0.0; 2],
        }
    }

    /// One sample, transposed direct form II.
    pub(super) fn filter(&mut self, x: f32) -> f32 {
        let y = self.b[0] * x + self.state[0];
        self.state[0] = self.b[1] * x - self.a[0] * y + self.state[1];
        self.state[1] = self.b[2] * x - self.a[1] * y;
        y
    }
}
