//! Taking the assistant's own voice out of what the microphone brings.
//!
//! The canceller (the crate `aec3`) is given what the loudspeaker plays as it plays it, finds by itself how much later
//! and how changed it comes back through the room, and removes it. In the first second of speech after a start it
//! hasn't found that yet, and no canceller removes all: so whoever judges an utterance is told besides for how
//! long the loudspeaker sounded in it ([`Utterance::under_playback`](super::Utterance::under_playback)).

use super::SAMPLE_RATE;
use super::resample::ToSixteenKilohertz;
use aec3::nodes::audio::AudioFormat;
use aec3::pipelines::linear::{self, LinearPipeline};
use std::collections::VecDeque;
use std::time::Duration;

/// What a loudspeaker played, in the order of time, silence too.
#[derive(Debug, Clone, PartialEq)]
pub struct Played {
    /// Samples a second.
    pub rate_hz: u32,
    /// Mono, −1 to 1.
    pub samples: Vec<f32>,
}

/// Asked for what was played since it was asked last, piece by piece.
pub type Reference = Box<dyn FnMut() -> Option<Played> + Send>;

/// Samples of a frame: 10 ms, as the canceller wants them.
pub const FRAME: usize = SAMPLE_RATE as usize / 100;

/// Played sound that may wait for the microphone's. More means that the microphone lost sound, or that the
/// loudspeaker's clock runs faster: what is oldest is dropped.
const MOST_WAITING: usize = SAMPLE_RATE as usize * 4 / 10;

/// From this on a sample of the loudspeaker is sound.
const AUDIBLE: f32 = 0.003;

/// How long a room goes on sounding after the loudspeaker fell silent, together with the time that sound waits in
/// the devices.
const TAIL: Duration = Duration::from_millis(400);

/// Takes the loudspeaker's sound out of the microphone's, frame by frame, both at 16 kHz.
pub struct EchoCanceller {
    pipeline: LinearPipeline,
    /// Frames since the loudspeaker last sounded.
    silent_frames: usize,
}

impl EchoCanceller {
    /// A canceller that has heard nothing yet. `None`: the canceller refuses its format, which it doesn't.
    pub fn new() -> Option<Self> {
        let format = AudioFormat::ten_ms(SAMPLE_RATE, 1);
        let pipeline = linear::builder(format, format)
            .enable_noise_suppression(false)
            .enable_gain_controller2(false)
            .enable_post_filter(false)
            .enable_high_pass_filter(false)
            .build()
            .ok()?;
        Some(Self {
            pipeline,
            silent_frames: usize::MAX,
        })
    }

    /// Takes 10 ms of what the loudspeaker plays and of what the microphone brought at that time or a little
    /// later, and leaves in the latter what isn't the loudspeaker's. Tells whether the loudspeaker's sound may
    /// be in it.
    pub fn cancel(&mut self, played: &[f32; FRAME], captured: &mut [f32; FRAME]) -> bool {
        let sounds = played.iter().any(|sample| sample.abs() > AUDIBLE);
        self.silent_frames = match sounds {
            true => 0,
            false => self.silent_frames.saturating_add(1),
        };
        let mut cleaned = [0.0; FRAME];
        // The frames have the format's length, which is all that could be wrong with them.
        let done = self
            .pipeline
            .handle_render_frame(played)
            .and_then(|()| self.pipeline.process_capture_frame(captured, &mut cleaned));
        if let Ok(true) = done {
            *captured = cleaned;
        }
        self.silent_frames < (TAIL.as_millis() / 10) as usize
    }
}

/// A microphone's canceller: matches what comes from both sides.
pub(super) struct Cancelling {
    canceller: EchoCanceller,
    reference: Reference,
    converter: Option<(u32, ToSixteenKilohertz)>,
    played: VecDeque<f32>,
    captured: Vec<f32>,
}

impl Cancelling {
    /// `None`: there is no canceller.
    pub(super) fn new(mut reference: Reference) -> Option<Self> {
        // What was played before is over.
        while reference().is_some() {}
        Some(Self {
            canceller: EchoCanceller::new()?,
            reference,
            converter: None,
            played: VecDeque::new(),
            captured: Vec::new(),
        })
    }

    /// Takes captured samples; gives whole frames to `each`, and whether the loudspeaker's sound may be in them.
    pub(super) fn push(&mut self, samples: &[f32], mut each: impl FnMut(&[f32], bool)) {
        self.fetch();
        self.captured.extend_from_slice(samples);
        let whole = self.captured.len() / FRAME * FRAME;
        for frame in self.captured[..whole].chunks_exact(FRAME) {
            let mut captured = [0.0; FRAME];
            captured.copy_from_slice(frame);
            let mut played = [0.0; FRAME];
            // Less than a frame waits: the loudspeaker is silent or late.
            if self.played.len() >= FRAME {
                for (into, sample) in played.iter_mut().zip(self.played.drain(..FRAME)) {
                    *into = sample;
                }
            }
            let under = self.canceller.cancel(&played, &mut captured);
            each(&captured, under);
        }
        self.captured.drain(..whole);
    }

    fn fetch(&mut self) {
        let mut converted = Vec::new();
        while let Some(Played { rate_hz, samples }) = (self.reference)() {
            let known = self
                .converter
                .as_ref()
                .is_some_and(|(rate, _)| *rate == rate_hz);
            if !known {
                self.converter =
                    ToSixteenKilohertz::from_rate(rate_hz).map(|converter| (rate_hz, converter));
            }
            if let Some((_, converter)) = &mut self.converter {
                converter.push(samples, &mut converted);
            }
        }
        self.played.extend(converted);
        let surplus = self.played.len().saturating_sub(MOST_WAITING);
        self.played.drain(..surplus);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn speech_like(seed: u32, seconds: usize) -> Vec<f32> {
        // Noise in bursts of syllables.
        let mut state = seed;
        (0..seconds * SAMPLE_RATE as usize)
            .map(|n| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let noise = (state >> 8) as f32 / (1 << 23) as f32 - 1.0;
                let syllable = (std::f32::consts::TAU * 4.0 * n as f32 / 16_000.0)
                    .sin()
                    .max(0.0);
                0.3 * noise * syllable
            })
            .collect()
    }

    fn power(samples: &[f32]) -> f32 {
        samples.iter().map(|sample| sample * sample).sum::<f32>() / samples.len() as f32
    }

    /// What is left of the loudspeaker's sound that comes back so much later, and of what is said in the room.
    fn after_cancelling(delay: usize, near: &[f32], played: &[f32]) -> (Vec<f32>, Vec<f32>) {
        let (send, reference) = crossbeam_channel::unbounded();
        let mut cancelling = Cancelling::new(Box::new(move || reference.try_recv().ok())).unwrap();
        let (mut captured, mut left) = (Vec::new(), Vec::new());
        for (n, piece) in played.chunks(320).enumerate() {
            let samples = piece.to_vec();
            send.send(Played {
                rate_hz: 16_000,
                samples,
            })
            .unwrap();
            let brought: Vec<f32> = (n * 320..n * 320 + piece.len())
                .map(|at| near[at] + at.checked_sub(delay).map_or(0.0, |at| 0.5 * played[at]))
                .collect();
            captured.extend(&brought);
            cancelling.push(&brought, |frame, _| left.extend_from_slice(frame));
        }
        (captured, left)
    }

    #[test]
    fn the_loudspeakers_sound_is_taken_out_whenever_it_comes_back() {
        for delay in [320, 1_600, 3_200] {
            let played = speech_like(1, 6);
            let near = vec![0.0; played.len()];
            let (captured, left) = after_cancelling(delay, &near, &played);
            let half = captured.len() / 2;
            let removed =
                10.0 * (power(&captured[half..]) / power(&left[half..]).max(1e-12)).log10();
            assert!(removed > 30.0, "{removed} dB after {delay} samples");
        }
    }

    #[test]
    fn what_is_said_while_nothing_plays_stays_as_it_was() {
        let near = speech_like(2, 4);
        let (captured, left) = after_cancelling(0, &near, &vec![0.0; near.len()]);
        let ratio = power(&left) / power(&captured);
        assert!((0.97..1.03).contains(&ratio), "{ratio}");
    }
}
