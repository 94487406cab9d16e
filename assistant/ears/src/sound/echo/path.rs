//! The way from the loudspeaker back to the microphone: how late its sound comes, and whether it is taken out.
//!
//! A canceller that hollows out whatever comes while the loudspeaker sounds looks as if it worked, also where the sound comes
//! back a second later, as through a wireless loudspeaker. So it is looked for by itself: the loudness of what is played
//! is correlated with the loudness of what comes, frame by frame, for each time that it may take; and by what is subtracted it is seen
//! whether the canceller has found it. Where nothing is found, noise hides it, or there are headphones.

use super::FRAME;
use crate::sound::noise::HighPass;
use std::collections::VecDeque;

/// Frames of 10 ms that the sound may take.
const LAGS: usize = 250;

/// Frames within which a canceller has to look for it.
const NEAR: usize = 40;

/// Frames of the loudspeaker's sound after which the way may be found: 3 s. With it nothing is taken in `tests/own_voice`; less
/// wasn't tried.
const FOUND: usize = 300;

/// Frames of it after which the sound counts as not coming back where no way was found: 8 s.
const NOT_FOUND: usize = 800;

/// What was measured is forgotten by half in so many frames of sound: 20 s.
const HALF_LIFE: f64 = 2_000.0;

/// A correlation from which on the sound evidently comes back. It is 0.87 in `tests/own_voice`, and 0.6 in the live tests, where
/// the shop is as loud as what comes back.
const EVIDENT: f64 = 0.4;

/// Where it does, no less must be subtracted on average, in decibels. It is 8 and 1.6 dB in those; where the canceller can't
/// find the way, none.
const SUBTRACTED_DB: f64 = 0.5;

/// Power that counts as silence: −60 dB of full scale.
const SILENCE: f32 = 1e-6;

/// A variance of the loudness, in square bel, below which nothing changes.
const STEADY: f64 = 1e-6;

/// What was measured while the loudspeaker sounded.
pub(super) struct EchoPath {
    captured: HighPass,
    subtracted: HighPass,
    /// The loudness of what was played, the newest first.
    played: VecDeque<f64>,
    frames: usize,
    weight: f64,
    came: Moments,
    /// For each lag: of what was played so much earlier, and of its product with what came.
    lags: Vec<(Moments, f64)>,
    /// Decibels subtracted.
    taken_out: f64,
}

/// Weighted sums of a value and of its square.
#[derive(Debug, Clone, Copy, Default)]
struct Moments {
    sum: f64,
    squares: f64,
}

impl Moments {
    fn add(&mut self, value: f64, keep: f64) {
        self.sum = self.sum * keep + value;
        self.squares = self.squares * keep + value * value;
    }

    fn variance(self, weight: f64) -> f64 {
        self.squares / weight - (self.sum / weight).powi(2)
    }
}

impl EchoPath {
    pub(super) fn new() -> Self {
        Self {
            captured: HighPass::new(),
            subtracted: HighPass::new(),
            played: VecDeque::from(vec![loudness(0.0); LAGS]),
            frames: 0,
            weight: 0.0,
            came: Moments::default(),
            lags: vec![(Moments::default(), 0.0); LAGS],
            taken_out: 0.0,
        }
    }

    /// Takes 10 ms: what is played, whether that is to be heard, what came, and what is left of it after subtraction.
    pub(super) fn take(
        &mut self,
        played: &[f32; FRAME],
        sounds: bool,
        captured: &[f32; FRAME],
        subtracted: &[f32; FRAME],
    ) {
        let power = |samples: &[f32; FRAME], high_pass: &mut HighPass| {
            let squares = samples.iter().map(|it| high_pass.filter(*it).powi(2));
            squares.sum::<f32>() / FRAME as f32
        };
        let came = loudness(power(captured, &mut self.captured));
        let left = loudness(power(subtracted, &mut self.subtracted));
        self.played.pop_back();
        let plain = played.iter().map(|it| it * it).sum::<f32>() / FRAME as f32;
        self.played.push_front(loudness(plain));
        // Whoever answers speaks after it, which would look like a long way.
        if !sounds {
            return;
        }
        self.frames = self.frames.saturating_add(1);
        let keep = 0.5f64.powf(1.0 / HALF_LIFE);
        self.weight = self.weight * keep + 1.0;
        self.came.add(came, keep);
        self.taken_out = self.taken_out * keep + 10.0 * (came - left);
        for ((played, product), earlier) in self.lags.iter_mut().zip(&self.played) {
            played.add(*earlier, keep);
            *product = *product * keep + earlier * came;
        }
    }

    /// Whether the loudspeaker's sound is taken out as far as it comes back.
    pub(super) fn is_known(&self) -> bool {
        if self.frames < FOUND {
            return false;
        }
        let correlations = self.lags.iter().map(|lag| self.correlation(lag));
        let best = correlations
            .enumerate()
            .max_by(|(_, one), (_, other)| one.total_cmp(other));
        match best {
            Some((lag, correlation)) if correlation >= EVIDENT => {
                lag <= NEAR && self.taken_out / self.weight >= SUBTRACTED_DB
            }
            Some(_) | None => self.frames >= NOT_FOUND,
        }
    }

    fn correlation(&self, (played, product): &(Moments, f64)) -> f64 {
        // Digital silence is as loud all the time.
        if self.came.variance(self.weight) < STEADY {
            return 0.0;
        }
        let covariance = product / self.weight - self.came.sum * played.sum / self.weight.powi(2);
        let variances = played.variance(self.weight) * self.came.variance(self.weight);
        covariance / variances.max(1e-9).sqrt()
    }
}

/// In bel.
fn loudness(power: f32) -> f64 {
    f64::from((power + SILENCE).log10())
}
