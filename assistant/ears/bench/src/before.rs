//! What may be put before the ear against noise, to be compared: only the bench has it.

mod compare;
mod gate;

pub use compare::{Tried, csv, lines, share, table};

use super::scene::active_power;
use super::shop::RATE;
use ears::sound::Utterance;
use ears::sound::endpoint::Patience;
use ears::turn::{Turn, turns_beside, turns_with_looks};
use nnnoiseless::DenoiseState;
use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{
    Async, FixedAsync, Resampler, SincInterpolationParameters, SincInterpolationType,
    WindowFunction,
};
use std::error::Error;
use std::time::Instant;

/// A treatment of the sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Before {
    /// As at work.
    Nothing,
    /// A network takes noise out of what is heard; where speech begins and ends is told from the raw sound.
    Denoised,
    /// The network's sound only tells where speech begins and ends.
    DenoisedEnds,
    /// Each frequency is turned down where it doesn't stand out of the noise before speech.
    Gated,
    /// What is said is brought to one active level.
    Levelled,
    /// 0.1 s is left out at both ends of what is said.
    Tighter,
    /// 0.1 s more is heard at both ends.
    Wider,
}

/// What is heard, and how long the treatment took; finding the ends isn't counted.
pub struct Treated {
    /// The turns in it, each with what had been said at its pauses where that is heard early.
    pub turns: Vec<(Turn, Vec<Utterance>)>,
    /// On one thread.
    pub milliseconds: f32,
}

type Failure = Box<dyn Error + Send + Sync>;

impl Before {
    /// All of them; what they are compared with comes first.
    pub const ALL: [Self; 7] = [
        Self::Nothing,
        Self::Denoised,
        Self::DenoisedEnds,
        Self::Gated,
        Self::Levelled,
        Self::Tighter,
        Self::Wider,
    ];

    /// Its name in options, files and tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::Denoised => "denoised",
            Self::DenoisedEnds => "denoised-ends",
            Self::Gated => "gated",
            Self::Levelled => "levelled",
            Self::Tighter => "tighter",
            Self::Wider => "wider",
        }
    }

    /// Those of a list with commas between, or `all`.
    ///
    /// # Errors
    /// When a name is none of them.
    pub fn list(names: &str) -> Result<Vec<Self>, Failure> {
        if names == "all" {
            return Ok(Self::ALL.to_vec());
        }
        let of = |name: &str| Self::ALL.into_iter().find(|way| way.name() == name);
        names
            .split(',')
            .map(|name| {
                let known = Self::ALL.map(Self::name).join(", ");
                of(name).ok_or(format!("--before knows no `{name}`, but {known} or all").into())
            })
            .collect()
    }

    /// What is heard of a sound.
    ///
    /// # Errors
    /// When the resampler can't be made.
    pub fn hear(self, sound: &[f32], patience: Patience) -> Result<Treated, Failure> {
        let start = Instant::now();
        let other = match self {
            Self::Denoised | Self::DenoisedEnds => Some(denoised(sound)?),
            Self::Gated => Some(gate::gated(sound)),
            Self::Nothing | Self::Levelled | Self::Tighter | Self::Wider => None,
        };
        let mut milliseconds = start.elapsed().as_secs_f32() * 1000.0;
        let other = other.as_deref().unwrap_or(sound);
        let alone = |turn| (turn, Vec::new());
        let mut turns: Vec<_> = match self {
            // Only where no readback or number may be said is a command taken early.
            Self::Nothing if patience == Patience::COMMAND => turns_with_looks(sound, patience),
            Self::DenoisedEnds => {
                let turns = turns_beside(other, sound, patience).into_iter();
                turns.map(alone).collect()
            }
            _ => {
                let turns = turns_beside(sound, other, patience).into_iter();
                turns.map(alone).collect()
            }
        };
        let start = Instant::now();
        for (turn, _) in &mut turns {
            let samples = &mut turn.utterance.samples;
            match self {
                Self::Levelled => level(samples),
                Self::Tighter => *samples = tighter(samples).to_vec(),
                Self::Wider => *samples = wider(samples, sound).to_vec(),
                Self::Nothing | Self::Denoised | Self::DenoisedEnds | Self::Gated => {}
            }
        }
        milliseconds += start.elapsed().as_secs_f32() * 1000.0;
        Ok(Treated {
            turns,
            milliseconds,
        })
    }
}

/// Rate that the network was trained for.
const NETWORK_RATE: usize = 48_000;

/// Through the network, which takes samples as large as those of 16 bits and gives each frame one frame late.
fn denoised(sound: &[f32]) -> Result<Vec<f32>, Failure> {
    const FRAME: usize = DenoiseState::FRAME_SIZE;
    let full_scale = f32::from(i16::MAX);
    let mut fine = resampled(sound, RATE, NETWORK_RATE)?;
    let length = fine.len();
    fine.resize(length.next_multiple_of(FRAME) + FRAME, 0.0);
    fine.iter_mut().for_each(|sample| *sample *= full_scale);
    let mut network = DenoiseState::new();
    let mut clean = vec![0.0; fine.len()];
    for (given, out) in fine.chunks_exact(FRAME).zip(clean.chunks_exact_mut(FRAME)) {
        network.process_frame(out, given);
    }
    clean.iter_mut().for_each(|sample| *sample /= full_scale);
    let mut clean = resampled(&clean[FRAME..FRAME + length], NETWORK_RATE, RATE)?;
    clean.resize(sound.len(), 0.0);
    Ok(clean)
}

/// The same sound at another rate, beginning where it began.
fn resampled(sound: &[f32], from: usize, to: usize) -> Result<Vec<f32>, Failure> {
    let parameters = SincInterpolationParameters::new(192, WindowFunction::BlackmanHarris2)
        .oversampling_factor(128)
        .interpolation(SincInterpolationType::Quadratic);
    let ratio = to as f64 / from as f64;
    let mut resampler =
        Async::<f32>::new_sinc(ratio, 1.0, &parameters, from / 100, 1, FixedAsync::Input)?;
    let input = InterleavedSlice::new(sound, 1, sound.len())?;
    Ok(resampler
        .process_all(&input, sound.len(), None)?
        .take_data())
}

/// Active level that speech is brought to: 26 dB below full scale, the nominal level of ITU-T P.56's speech
/// voltmeter in listening tests (ITU-T G.191; from memory). What is active is told as for the scenes' noise.
const LEVEL_DB: f32 = -26.0;

fn level(samples: &mut [f32]) {
    let gain = (10f32.powf(LEVEL_DB / 10.0) / active_power(samples).max(1e-12)).sqrt();
    samples.iter_mut().for_each(|sample| *sample *= gain);
}

/// Samples that the other cuts differ by at each end.
const EDGE: usize = RATE / 10;

fn tighter(samples: &[f32]) -> &[f32] {
    samples
        .get(EDGE..samples.len().saturating_sub(EDGE))
        .unwrap_or(samples)
}

/// An utterance is a stretch of its sound, sample by sample.
fn wider<'a>(samples: &'a [f32], sound: &'a [f32]) -> &'a [f32] {
    let starts = sound.windows(samples.len().max(1));
    match starts.enumerate().find(|(_, window)| *window == samples) {
        Some((at, _)) => {
            let end = at + samples.len() + EDGE;
            &sound[at.saturating_sub(EDGE)..end.min(sound.len())]
        }
        None => samples,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::Noise;

    /// Seven tenths of a second of hiss, vowels that glide from one to another, four a second, hiss.
    fn scene() -> Vec<f32> {
        let mut sound = Noise::White.samples(3 * RATE, 3, &[]);
        for (n, sample) in sound.iter_mut().enumerate() {
            let t = n as f32 / RATE as f32;
            *sample *= 0.002;
            if (0.7..2.3).contains(&t) {
                let turn = std::f32::consts::TAU * (t - 0.7);
                let glide = (2.0 * turn).sin();
                let formants = [
                    (500.0 + 200.0 * glide, 130.0f32),
                    (1_500.0 + 500.0 * glide, 200.0),
                    (2_600.0, 250.0),
                ];
                let partial = |k: u8| {
                    let frequency = 120.0 * f32::from(k);
                    let gain =
                        |(at, width): (f32, f32)| (-((frequency - at) / width).powi(2)).exp();
                    (formants.map(gain).iter().sum::<f32>() + 0.02) * (turn * frequency).sin()
                };
                *sample += 0.08 * (4.0 * turn).sin().max(0.0) * (1..33).map(partial).sum::<f32>();
            }
        }
        sound
    }

    fn power(samples: &[f32]) -> f32 {
        samples.iter().map(|x| x * x).sum::<f32>() / samples.len() as f32
    }

    #[test]
    fn the_network_keeps_length_and_time_and_lowers_hiss() {
        let sound = scene();
        let clean = denoised(&sound).expect("a resampler");
        assert_eq!(clean.len(), sound.len());
        let alike = |lag: isize| -> f32 {
            let from = |lag: isize| lag.max(0) as usize;
            let pairs = sound[from(-lag)..].iter().zip(&clean[from(lag)..]);
            pairs.map(|(one, other)| one * other).sum()
        };
        // Less than half a period of the buzz to either side; each resampling rounds its delay.
        let best = (-60..=60).max_by(|one, other| alike(*one).total_cmp(&alike(*other)));
        assert!(best.is_some_and(|lag| lag.abs() <= 2), "{best:?}");
        let hiss = 2 * RATE + RATE / 2..3 * RATE - RATE / 10;
        assert!(power(&clean[hiss.clone()]) < 0.1 * power(&sound[hiss]));
    }

    #[test]
    fn every_way_hears_the_one_thing_that_was_said() {
        let sound = scene();
        let seconds = |way: Before| {
            let heard = way.hear(&sound, Patience::COMMAND);
            let turns = heard.expect("a resampler").turns;
            assert_eq!(turns.len(), 1, "{}", way.name());
            turns[0].0.utterance.samples.len()
        };
        let usual = seconds(Before::Nothing);
        for way in [Before::Denoised, Before::Gated, Before::Levelled] {
            assert_eq!(seconds(way), usual, "{}", way.name());
        }
        assert_eq!(seconds(Before::Tighter), usual - 2 * EDGE);
        assert_eq!(seconds(Before::Wider), usual + 2 * EDGE);
        let ends = seconds(Before::DenoisedEnds);
        assert!(ends.abs_diff(usual) < RATE / 2, "{ends} for {usual}");
    }

    #[test]
    fn levelling_reaches_its_level_from_any() {
        for gain in [0.01, 0.3, 2.0] {
            let mut samples: Vec<f32> = scene().iter().map(|sample| gain * sample).collect();
            level(&mut samples);
            let reached = 10.0 * active_power(&samples).log10();
            assert!((reached - LEVEL_DB).abs() < 0.01, "{reached}");
        }
    }

    #[test]
    fn a_way_that_isnt_there_is_named() {
        let error = Before::list("gated,louder").expect_err("no such way");
        assert!(error.to_string().contains("`louder`"), "{error}");
        assert_eq!(Before::list("gated").expect("it is there"), [Before::Gated]);
    }
}
