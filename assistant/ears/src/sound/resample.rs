//! Any rate to 16 kHz.

use super::{SAMPLE_RATE, tame};
use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{
    Async, FixedAsync, Indexing, Resampler, SincInterpolationParameters, SincInterpolationType,
    WindowFunction,
};

/// Rates that sound may have, in hertz. Below, no speech is left; above, no device records.
pub(super) const RATES: std::ops::RangeInclusive<u32> = 4_000..=384_000;

/// Samples taken at a time: short enough that a live source isn't delayed noticeably.
const CHUNK_SECONDS: f64 = 0.01;

/// Converts a stream of mono samples to 16 kHz, whatever the sizes of the pieces it comes in.
pub(super) struct ToSixteenKilohertz {
    /// `None`: the source has 16 kHz already.
    converter: Option<Converter>,
}

struct Converter {
    inner: Async<f32>,
    /// Source samples that don't fill a chunk yet.
    waiting: Vec<f32>,
    /// Converted samples of one chunk, overwritten by the next.
    chunk: Vec<f32>,
    /// Samples still to be dropped from the start: the filter's delay.
    delay: usize,
    /// Source samples taken and samples given, so that the end falls where it fell in the source.
    taken: u64,
    given: u64,
    rate: u32,
}

impl ToSixteenKilohertz {
    /// For a source of `rate` hertz. `None`: no sound has this rate (see [`RATES`]).
    pub(super) fn from_rate(rate: u32) -> Option<Self> {
        if !RATES.contains(&rate) {
            return None;
        }
        if rate == SAMPLE_RATE {
            return Some(Self { converter: None });
        }
        // 192 source samples of filter put the cut-off at over 0.9 of the lower rate's Nyquist frequency for
        // 48 kHz; faster sources need proportionally longer filters for the same.
        let length = (192 * rate.div_ceil(48_000) as usize).next_multiple_of(8);
        let parameters = SincInterpolationParameters::new(length, WindowFunction::BlackmanHarris2)
            .oversampling_factor(128)
            .interpolation(SincInterpolationType::Quadratic);
        let chunk = ((f64::from(rate) * CHUNK_SECONDS) as usize).max(16);
        let ratio = f64::from(SAMPLE_RATE) / f64::from(rate);
        let inner = Async::new_sinc(ratio, 1.0, &parameters, chunk, 1, FixedAsync::Input).ok()?;
        Some(Self {
            converter: Some(Converter {
                waiting: Vec::with_capacity(2 * chunk),
                chunk: vec![0.0; inner.output_frames_max()],
                delay: inner.output_delay(),
                taken: 0,
                given: 0,
                rate,
                inner,
            }),
        })
    }

    /// Takes source samples and appends what they become to `out`.
    pub(super) fn push(&mut self, samples: impl IntoIterator<Item = f32>, out: &mut Vec<f32>) {
        match &mut self.converter {
            None => out.extend(samples.into_iter().map(tame)),
            Some(converter) => converter.push(samples, out),
        }
    }

    /// Appends what the filter still holds. Afterwards as many seconds have come out as went in.
    pub(super) fn finish(mut self, out: &mut Vec<f32>) {
        if let Some(converter) = &mut self.converter {
            converter.finish(out);
        }
    }
}

impl Converter {
    fn push(&mut self, samples: impl IntoIterator<Item = f32>, out: &mut Vec<f32>) {
        let before = self.waiting.len();
        self.waiting.extend(samples);
        self.taken += (self.waiting.len() - before) as u64;
        let mut from = 0;
        while self.waiting.len() - from >= self.inner.input_frames_next() {
            let needed = self.inner.input_frames_next();
            self.convert(from, needed, out);
            from += needed;
        }
        self.waiting.drain(..from);
    }

    /// Converts `count` waiting samples; where they are fewer than a chunk, silence follows them.
    fn convert(&mut self, from: usize, count: usize, out: &mut Vec<f32>) {
        let room = self.chunk.len();
        let (Ok(input), Ok(mut output)) = (
            InterleavedSlice::new(&self.waiting[from..], 1, self.waiting.len() - from),
            InterleavedSlice::new_mut(&mut self.chunk, 1, room),
        ) else {
            return;
        };
        let indexing = Indexing::new().partial_len(count);
        // The only errors are wrong buffer sizes, and both were asked of the converter itself.
        let Ok((_, written)) = self
            .inner
            .process_into_buffer(&input, &mut output, Some(&indexing))
        else {
            return;
        };
        let skipped = self.delay.min(written);
        self.delay -= skipped;
        out.extend(self.chunk[skipped..written].iter().copied().map(tame));
        self.given += (written - skipped) as u64;
    }

    fn finish(&mut self, out: &mut Vec<f32>) {
        let due = self.taken * u64::from(SAMPLE_RATE) / u64::from(self.rate);
        let rest = self.waiting.len();
        if rest > 0 {
            self.convert(0, rest, out);
            self.waiting.clear();
        }
        // A chunk of silence moves the filter on by at least a sample, so this ends.
        while self.given < due {
            let before = self.given + self.delay as u64;
            self.convert(0, 0, out);
            if self.given + self.delay as u64 == before && self.delay == 0 {
                break;
            }
        }
        let surplus = self.given.saturating_sub(due) as usize;
        out.truncate(out.len().saturating_sub(surplus));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(rate: u32, hertz: f64, seconds: f64) -> Vec<f32> {
        (0..(f64::from(rate) * seconds) as usize)
            .map(|n| {
                let phase = std::f64::consts::TAU * hertz * n as f64 / f64::from(rate);
                (0.5 * phase.sin()) as f32
            })
            .collect()
    }

    fn converted(rate: u32, samples: &[f32], piece: usize) -> Vec<f32> {
        let mut converter = ToSixteenKilohertz::from_rate(rate).unwrap();
        let mut out = Vec::new();
        for piece in samples.chunks(piece) {
            converter.push(piece.iter().copied(), &mut out);
        }
        converter.finish(&mut out);
        out
    }

    /// The tone found in `out` by projection on sine and cosine: its height, its delay in seconds,
    /// and what is left without it in decibel below it. The ends, where the filter settles, don't count.
    fn found(out: &[f32], hertz: f64) -> (f64, f64, f64) {
        let omega = std::f64::consts::TAU * hertz / f64::from(SAMPLE_RATE);
        // Whole periods: sine and cosine are orthogonal over them.
        let middle = 800..800 + (out.len() - 1_600) / 16 * 16;
        let (mut sine, mut cosine, mut power) = (0.0, 0.0, 0.0);
        for n in middle.clone() {
            let (s, c) = (omega * n as f64).sin_cos();
            sine += f64::from(out[n]) * s;
            cosine += f64::from(out[n]) * c;
            power += f64::from(out[n]).powi(2);
        }
        let half = middle.len() as f64 / 2.0;
        let height = sine.hypot(cosine) / half;
        let delay = (-cosine).atan2(sine) / (std::f64::consts::TAU * hertz);
        let tone = height * height * half;
        (
            height,
            delay,
            10.0 * ((power - tone).max(1e-12) / tone).log10(),
        )
    }

    #[test]
    fn a_tone_keeps_its_pitch_level_and_place_at_every_rate() {
        for rate in [
            8_000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 96_000, 192_000,
        ] {
            let out = converted(rate, &tone(rate, 1_000.0, 1.0), 441);
            assert!(
                out.len().abs_diff(16_000) <= 1,
                "{rate} Hz gave {} samples",
                out.len()
            );
            let (height, delay, rest) = found(&out, 1_000.0);
            assert!((height - 0.5).abs() < 0.001, "{rate} Hz: height {height}");
            assert!(delay.abs() < 1e-4, "{rate} Hz: delayed by {delay} s");
            assert!(
                rest < -70.0,
                "{rate} Hz: something else at {rest:.1} dB came in"
            );
        }
    }

    #[test]
    fn what_lies_above_eight_kilohertz_does_not_fold_back() {
        for rate in [44_100, 48_000, 96_000] {
            let out = converted(rate, &tone(rate, 10_000.0, 0.5), 4096);
            let loudest = out[800..7_000]
                .iter()
                .fold(0.0f32, |max, s| max.max(s.abs()));
            assert!(
                loudest < 0.001,
                "{rate} Hz: {loudest} of a 10 kHz tone came through"
            );
        }
    }

    #[test]
    fn the_size_of_the_pieces_does_not_matter() {
        let samples = tone(44_100, 440.0, 0.3);
        let whole = converted(44_100, &samples, samples.len());
        for piece in [1, 7, 213, 1024] {
            assert_eq!(
                whole,
                converted(44_100, &samples, piece),
                "pieces of {piece}"
            );
        }
    }

    #[test]
    fn rates_that_no_sound_has_are_refused() {
        for rate in [0, 1, 3_999, 384_001, u32::MAX] {
            assert!(ToSixteenKilohertz::from_rate(rate).is_none());
        }
    }
}
