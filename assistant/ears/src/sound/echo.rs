//! Taking the assistant's own voice out of what the microphone brings.
//!
//! The canceller (the crate `aec3`) is given what the loudspeaker plays as it plays it, finds by itself how much later
//! and how changed it comes back through the room, and removes it. It may not have found that yet, or never does where
//! the sound comes back too late (a wireless loudspeaker), and no canceller removes all. So it is measured
//! (`echo::path`), and whoever judges an utterance is told for how long the loudspeaker sounded in it
//! ([`Utterance::under_playback`](super::Utterance::under_playback)).
//!
//! # Why are there two sounds of one microphone?
//!
//! The canceller produces two. In one, the assistant's own voice is only subtracted; in the other, what remains of it is
//! suppressed. The second also hollows out what is said at the same time: judged on it, 29 of 68 commands over equally
//! loud speech were missed, and “stop” was taken for “done”. So the second decides whether somebody is speaking, and
//! the first what was said ([`EndPointer::push_beside`](super::endpoint::EndPointer::push_beside)). While nothing is
//! played, the first is the microphone's own sound, bit for bit.

mod path;

use super::SAMPLE_RATE;
use super::resample::ToSixteenKilohertz;
use aec3::nodes::audio::AudioFormat;
use aec3::pipelines::linear::{self, LinearPipeline};
use path::EchoPath;
use std::collections::VecDeque;
use std::time::Duration;

/// What a loudspeaker played, in the order of time, silence too.
#[derive(Debug, Clone, PartialEq)]
pub struct Played {
    /// Samples a second.
    pub rate_hz: u32,
    /// Mono, −1 to 1.
    pub samples: Vec<f32>,
    /// Whether a device begins with it: what was learned of the way from the one before doesn't hold.
    pub begins: bool,
}

/// Asked for what was played since it was asked last, piece by piece.
pub type Reference = Box<dyn FnMut() -> Option<Played> + Send>;

/// Samples of a frame: 10 ms, as the canceller wants them.
pub const FRAME: usize = SAMPLE_RATE as usize / 100;

/// Played sound that may wait for the microphone's. More means that the microphone lost sound, or that the
/// loudspeaker's clock runs faster: what is oldest is dropped.
const MAX_WAITING: usize = SAMPLE_RATE as usize * 4 / 10;

/// For how long after such a loss the loudspeaker's sound counts as not taken out: until what the microphone's thread had
/// fallen behind by is through.
const UNKNOWN: Duration = Duration::from_secs(4);

/// From this on a sample of the loudspeaker is sound.
const AUDIBLE: f32 = 0.003;

/// A pause between words: the loudspeaker still counts as sounding.
const PAUSE: Duration = Duration::from_millis(200);

/// How long a room goes on sounding after the loudspeaker fell silent, together with the time that sound waits in
/// the devices: where the canceller takes the sound out, since it can't reach further back.
const TAIL: Duration = Duration::from_millis(400);

/// The same where it doesn't: the sound may come as late as through a wireless loudspeaker (common practice, no source).
const LONGEST_TAIL: Duration = Duration::from_millis(2_500);

/// What is left of 10 ms of the microphone's sound.
#[derive(Debug, Clone, PartialEq)]
pub struct Cleaned {
    /// Without the loudspeaker's sound as far as that can be had: to tell whether somebody speaks. What is said at the same
    /// time is hollowed out by it.
    pub suppressed: [f32; FRAME],
    /// With what is said as it was, and more of the loudspeaker's sound left: to tell what is said.
    pub subtracted: [f32; FRAME],
    /// Whether the loudspeaker's sound may be in it.
    pub playback: Playback,
}

/// Whether the loudspeaker's sound may be in what the microphone brings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Playback {
    /// It is silent, and the room too.
    Silent,
    /// It sounds, and is taken out.
    Cancelled,
    /// It sounds, and it isn't known that it is taken out.
    Learning,
}

/// Takes the loudspeaker's sound out of the microphone's, frame by frame, both at 16 kHz.
pub struct EchoCanceller {
    pipeline: LinearPipeline,
    /// Frames since the loudspeaker last sounded.
    silent_frames: usize,
    path: EchoPath,
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
            .export_linear_output(true)
            .build()
            .ok()?;
        Some(Self {
            pipeline,
            silent_frames: usize::MAX,
            path: EchoPath::new(),
        })
    }

    /// Takes 10 ms of what the loudspeaker plays, and of what the microphone brought at that time or a little later.
    pub fn cancel(&mut self, played: &[f32; FRAME], captured: &[f32; FRAME]) -> Cleaned {
        let sounds = played.iter().copied().any(is_audible);
        self.silent_frames = match sounds {
            true => 0,
            false => self.silent_frames.saturating_add(1),
        };
        let (tail, playback) = match self.path.is_known() {
            true => (TAIL, Playback::Cancelled),
            false => (LONGEST_TAIL, Playback::Learning),
        };
        let mut cleaned = Cleaned {
            suppressed: *captured,
            subtracted: *captured,
            playback: match self.silent_frames >= frames(tail) {
                true => Playback::Silent,
                false => playback,
            },
        };
        let mut suppressed = [0.0; FRAME];
        // The frames have the format's length, which is all that could be wrong with them.
        let done = self.pipeline.handle_render_frame(played).and_then(|()| {
            self.pipeline
                .process_capture_frame(captured, &mut suppressed)
        });
        match done {
            Ok(true) => cleaned.suppressed = suppressed,
            // Nothing was taken out of it.
            Ok(false) | Err(_) => cleaned.playback = Playback::Learning,
        }
        if let Ok(Some(linear)) = self.pipeline.try_pull_linear_output() {
            let samples = linear.payload().samples();
            for (into, sample) in cleaned.subtracted.iter_mut().zip(samples) {
                *into = *sample;
            }
        }
        let sounds = self.silent_frames < frames(PAUSE);
        self.path
            .take(played, sounds, captured, &cleaned.subtracted);
        cleaned
    }
}

fn is_audible(sample: f32) -> bool {
    sample.abs() > AUDIBLE
}

fn frames(duration: Duration) -> usize {
    (duration.as_millis() / 10) as usize
}

/// A microphone's canceller: matches what comes from both sides.
pub(super) struct Cancelling {
    canceller: EchoCanceller,
    reference: Reference,
    converter: Option<(u32, ToSixteenKilohertz)>,
    played: VecDeque<f32>,
    captured: Vec<f32>,
    /// Frames for which it isn't known what was played: some of it was dropped.
    unknown_frames: usize,
    /// Frames with the loudspeaker's sound in them that come back at another time than before: silence was dropped.
    shifted_frames: usize,
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
            unknown_frames: 0,
            shifted_frames: 0,
        })
    }

    /// Takes captured samples; gives whole frames to `each`.
    pub(super) fn push(&mut self, samples: &[f32], mut each: impl FnMut(&Cleaned)) {
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
            let mut cleaned = self.canceller.cancel(&played, &captured);
            if self.unknown_frames > 0 {
                self.unknown_frames -= 1;
                cleaned.playback = Playback::Learning;
            } else if self.shifted_frames > 0 && cleaned.playback != Playback::Silent {
                self.shifted_frames -= 1;
                cleaned.playback = Playback::Learning;
            }
            each(&cleaned);
        }
        self.captured.drain(..whole);
    }

    fn fetch(&mut self) {
        let mut converted = Vec::new();
        while let Some(Played {
            rate_hz,
            samples,
            begins,
        }) = (self.reference)()
        {
            if begins && let Some(canceller) = EchoCanceller::new() {
                self.canceller = EchoCanceller {
                    // What the other device played may still be on its way.
                    silent_frames: 0,
                    ..canceller
                };
            }
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
        let surplus = self.played.len().saturating_sub(MAX_WAITING);
        if surplus > 0 {
            self.shifted_frames = frames(UNKNOWN);
        }
        if self.played.drain(..surplus).any(is_audible) {
            self.unknown_frames = frames(UNKNOWN);
        }
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

    /// What the microphone brings where the loudspeaker's sound comes back so much later, and what is left of it.
    fn after_cancelling(delay: usize, near: &[f32], played: &[f32]) -> [Vec<f32>; 3] {
        let (send, reference) = crossbeam_channel::unbounded();
        let mut cancelling = Cancelling::new(Box::new(move || reference.try_recv().ok())).unwrap();
        let mut captured = Vec::new();
        let (mut suppressed, mut subtracted) = (Vec::new(), Vec::new());
        for (n, piece) in played.chunks(320).enumerate() {
            let samples = piece.to_vec();
            send.send(Played {
                rate_hz: 16_000,
                samples,
                begins: n == 0,
            })
            .unwrap();
            let brought: Vec<f32> = (n * 320..n * 320 + piece.len())
                .map(|at| near[at] + at.checked_sub(delay).map_or(0.0, |at| 0.5 * played[at]))
                .collect();
            captured.extend(&brought);
            cancelling.push(&brought, |cleaned| {
                suppressed.extend_from_slice(&cleaned.suppressed);
                subtracted.extend_from_slice(&cleaned.subtracted);
            });
        }
        [captured, suppressed, subtracted]
    }

    #[test]
    fn the_loudspeakers_sound_is_taken_out_whenever_it_comes_back() {
        for delay in [320, 1_600, 3_200] {
            let played = speech_like(1, 6);
            let near = vec![0.0; played.len()];
            let [captured, suppressed, subtracted] = after_cancelling(delay, &near, &played);
            let half = captured.len() / 2;
            let removed = |left: &[f32]| {
                let ratio = power(&captured[half..]) / power(&left[half..]).max(1e-12);
                10.0 * ratio.log10()
            };
            let (suppressed, subtracted) = (removed(&suppressed), removed(&subtracted));
            println!("after {delay} samples: {suppressed} and {subtracted} dB");
            assert!(suppressed > 30.0, "{suppressed} dB after {delay} samples");
            assert!(subtracted > 10.0, "{subtracted} dB after {delay} samples");
        }
    }

    /// For each 10 ms what is told of the loudspeaker's sound, which comes back so much later, half as loud.
    fn told(delay: usize, played: &[f32]) -> Vec<Playback> {
        let mut canceller = EchoCanceller::new().unwrap();
        let frames = played.chunks_exact(FRAME).enumerate();
        frames
            .map(|(n, frame)| {
                let mut captured = [0.0; FRAME];
                for (at, sample) in captured.iter_mut().enumerate() {
                    let back = (n * FRAME + at).checked_sub(delay);
                    *sample = back.map_or(0.0, |at| 0.5 * played[at]);
                }
                canceller
                    .cancel(frame.try_into().unwrap(), &captured)
                    .playback
            })
            .collect()
    }

    #[test]
    fn a_room_is_known_when_its_echo_is_gone_and_never_where_it_comes_too_late() {
        let mut played = speech_like(1, 20);
        played.extend(vec![0.0; 4 * SAMPLE_RATE as usize]);
        let near = told(1_600, &played);
        assert_eq!(near[200], Playback::Learning);
        assert_eq!(near[400], Playback::Cancelled);
        assert_eq!(near[1_900], Playback::Cancelled);
        assert_eq!(near[2_050], Playback::Silent, "half a second after");
        let late = told(24_000, &played);
        assert!(!late.contains(&Playback::Cancelled));
        assert_eq!(late[2_149], Playback::Learning, "it still sounds");
        assert_eq!(late[2_300], Playback::Silent);
        // Through headphones nothing comes back.
        let none = told(usize::MAX, &played);
        assert_eq!(none[1_900], Playback::Cancelled);
    }

    /// A busy machine: the loudspeaker played all this before the microphone brought its first sound. What is told of the
    /// next five seconds, in which it plays nothing, and then what it plays then.
    fn told_after_a_jam(jam: Vec<f32>, next: &[f32]) -> Vec<Playback> {
        let (send, reference) = crossbeam_channel::unbounded();
        let mut cancelling = Cancelling::new(Box::new(move || reference.try_recv().ok())).unwrap();
        let silence = vec![0.0; 5 * SAMPLE_RATE as usize];
        let mut told = Vec::new();
        let pieces = [&silence, next].concat();
        let pieces = pieces.chunks(FRAME).map(<[f32]>::to_vec);
        for samples in [jam].into_iter().chain(pieces) {
            let captured = vec![0.0; FRAME];
            send.send(Played {
                rate_hz: SAMPLE_RATE,
                samples,
                begins: false,
            })
            .unwrap();
            cancelling.push(&captured, |cleaned| told.push(cleaned.playback));
        }
        told
    }

    #[test]
    fn silence_that_is_dropped_hides_nobodys_words_and_sound_does() {
        let next = speech_like(3, 2);
        let silence = vec![0.0; 2 * SAMPLE_RATE as usize];
        let told = told_after_a_jam(silence, &next);
        assert_eq!(told[..450], [Playback::Silent; 450]);
        // What is played next comes back at another time than before.
        assert!(told[560..].iter().all(|it| *it == Playback::Learning));

        let told = told_after_a_jam(speech_like(4, 2), &next);
        assert_eq!(told[..350], [Playback::Learning; 350]);
    }

    #[test]
    fn what_is_said_while_nothing_plays_stays_as_it_was() {
        let near = speech_like(2, 4);
        let [captured, suppressed, subtracted] = after_cancelling(0, &near, &vec![0.0; near.len()]);
        for left in [&suppressed, &subtracted] {
            let ratio = power(left) / power(&captured);
            assert!((0.97..1.03).contains(&ratio), "{ratio}");
        }
        // What is judged is, to the bit, what the microphone brought 4 ms before.
        assert_eq!(captured[..captured.len() - 64], subtracted[64..]);
    }
}
