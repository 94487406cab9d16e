//! The sound device: plays what is queued, and tells what it played.
//!
//! The device calls back on a thread that must never wait. What it needs comes and goes over channels that are
//! only tried, and counters.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{BufferSize, ErrorKind, FromSample, SampleFormat, SizedSample, StreamConfig};
use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, bounded, never, select, unbounded};

use crate::VoiceError;

/// How often the device is to ask for sound. It may do as it likes.
const PERIOD: Duration = Duration::from_millis(20);

/// The same on a machine that is too busy for it: the period doubles with each break, up to this.
const LONGEST_PERIOD: Duration = Duration::from_millis(80);

/// A device that works asks for sound many times a second. After this long without it is gone, whether or not
/// it said so.
const SILENT_DEVICE: Duration = Duration::from_secs(2);

/// After this long it won't play what waits any more: our choice, well above the time of a device that is only late.
const LOST_DEVICE: Duration = Duration::from_secs(5);

/// A stream that breaks more often than this within [`LATELY`] isn't restarted.
const MAX_BREAKS: usize = 10;

const LATELY: Duration = Duration::from_secs(10);

/// The wait before a stream that has broken again and again is restarted: it doubles with each break, up to the longest.
/// On a machine that is busy a stream may break some milliseconds after it was begun, ten times within a few hundredths of a
/// second (measured through PulseAudio beside six busy loops).
const WAIT: Duration = Duration::from_millis(10);
const LONGEST_WAIT: Duration = Duration::from_millis(500);

/// A gap this long lies between sentences; a shorter one is a sentence's own, whose sound wasn't made in time.
const SILENCE: Duration = Duration::from_millis(500);

/// How long a closing stream is waited for. A sound server that died can make it hang for ever.
const TO_CLOSE: Duration = Duration::from_millis(300);

/// What the loudspeaker played, in the order of time, silence too.
#[derive(Debug, Clone, PartialEq)]
pub struct Played {
    /// Samples a second.
    pub rate_hz: u32,
    /// Mono, −1 to 1.
    pub samples: Vec<f32>,
    /// Whether a device begins with it: what was learned of the way from the one before doesn't hold.
    pub begins: bool,
}

/// A piece of a sentence.
#[derive(Debug)]
pub struct Piece {
    /// The stop before which it was made: what is older than the newest stop isn't played.
    pub generation: u32,
    /// Mono, −1 to 1, at the device's rate.
    pub samples: Vec<f32>,
    /// Whether the sentence ends with it.
    pub last: bool,
}

/// What the callback and its owner both know.
#[derive(Debug)]
pub struct Shared {
    /// The generation in the upper half; below it how many sentences of it are to be played to their end.
    speaking: AtomicU64,
    /// Samples of sentences played since the beginning.
    played: AtomicU64,
    failed: AtomicBool,
    /// Microseconds since `epoch` at which the device called last.
    called: AtomicU64,
    /// Microseconds since `epoch` at which the sentences of this generation began to sound; 0: not yet.
    began: AtomicU64,
    /// Microseconds since `epoch` at which something of a sentence was played last.
    last: AtomicU64,
    /// The newest silence between sentences: the samples played before it, and its microseconds.
    silence: [AtomicU64; 2],
    epoch: Instant,
}

impl Shared {
    fn new() -> Self {
        Self {
            speaking: AtomicU64::new(0),
            played: AtomicU64::new(0),
            failed: AtomicBool::new(false),
            called: AtomicU64::new(0),
            began: AtomicU64::new(0),
            last: AtomicU64::new(0),
            silence: [0, 0].map(AtomicU64::new),
            epoch: Instant::now(),
        }
    }

    fn now(&self) -> u64 {
        u64::try_from(self.epoch.elapsed().as_micros()).unwrap_or(u64::MAX)
    }

    /// The generation that is played now.
    pub fn generation(&self) -> u32 {
        (self.speaking.load(Ordering::Acquire) >> 32) as u32
    }

    /// One sentence more is to be played.
    pub fn sentence(&self) -> u32 {
        let before = self.speaking.fetch_add(1, Ordering::AcqRel);
        if before as u32 == 0 {
            self.began.store(0, Ordering::Release);
        }
        (before >> 32) as u32
    }

    /// A sentence of this generation is over.
    pub fn ended(&self, generation: u32) {
        let one_less =
            |now: u64| ((now >> 32) as u32 == generation && now as u32 > 0).then(|| now - 1);
        // Of another generation: it was forgotten with it.
        let _ = self
            .speaking
            .fetch_update(Ordering::AcqRel, Ordering::Acquire, one_less);
    }

    /// Everything that waits is forgotten.
    pub fn stop(&self) {
        let next = |now: u64| Some(((now >> 32).wrapping_add(1) & u64::from(u32::MAX)) << 32);
        let _ = self
            .speaking
            .fetch_update(Ordering::AcqRel, Ordering::Acquire, next);
    }

    /// Whether a sentence is being played or waits, on a device that works.
    pub fn is_speaking(&self) -> bool {
        self.speaking.load(Ordering::Acquire) as u32 > 0 && !self.is_gone()
    }

    /// Whether the device is gone.
    pub fn is_gone(&self) -> bool {
        self.is_silent_for(SILENT_DEVICE)
    }

    /// Whether sentences wait for a device that is gone for good: one that is only late may still play them.
    pub fn has_lost(&self) -> bool {
        self.speaking.load(Ordering::Acquire) as u32 > 0 && self.is_silent_for(LOST_DEVICE)
    }

    /// Whether the device failed, or hasn't asked for sound for longer than this.
    fn is_silent_for(&self, time: Duration) -> bool {
        let called = self.called.load(Ordering::Acquire);
        let silent = Duration::from_micros(self.now().saturating_sub(called));
        self.failed.load(Ordering::Acquire) || silent > time
    }

    /// Samples of sentences played since the beginning.
    pub fn played(&self) -> u64 {
        self.played.load(Ordering::Acquire)
    }

    /// For how long nothing of a sentence has been played.
    pub fn silent_for(&self) -> Duration {
        Duration::from_micros(self.now().saturating_sub(self.last.load(Ordering::Acquire)))
    }

    /// The newest silence between sentences: the samples played before it, and how long it was.
    pub fn silence(&self) -> (u64, Duration) {
        let [before, micros] = &self.silence;
        let before = before.load(Ordering::Acquire);
        let micros = micros.load(Ordering::Acquire);
        (before, Duration::from_micros(micros))
    }

    /// Something of a sentence is played now.
    fn plays(&self, now: u64) {
        let silent = now.saturating_sub(self.last.swap(now, Ordering::AcqRel));
        if Duration::from_micros(silent) > SILENCE {
            let [before, micros] = &self.silence;
            // Whoever looks in between, and reads them in this order, takes an older word for one of now, never the other way
            // round.
            micros.store(0, Ordering::Release);
            before.store(self.played(), Ordering::Release);
            micros.store(silent, Ordering::Release);
        }
    }

    /// When what is being said began to sound.
    pub fn began(&self) -> Option<Instant> {
        match self.began.load(Ordering::Acquire) {
            0 => None,
            at => Some(self.epoch + Duration::from_micros(at)),
        }
    }
}

/// An open device.
pub struct Player {
    /// The device's name.
    pub name: String,
    /// Samples a second.
    pub rate_hz: u32,
    /// Takes the pieces of sentences.
    pub pieces: Sender<Piece>,
    /// What it tells.
    pub shared: Arc<Shared>,
    /// Dropped to close the device.
    open: Option<Sender<()>>,
    /// Ends when it is closed.
    closing: Receiver<()>,
}

impl Drop for Player {
    fn drop(&mut self) {
        self.open = None;
        // Nothing is ever sent: it only ends.
        let _ = self.closing.recv_timeout(TO_CLOSE);
    }
}

/// From here on what the sound library writes to standard error on this thread is kept from it: it tells of each
/// plug-in that it tries. What goes wrong is told by the errors.
fn hush() {
    #[cfg(target_os = "linux")]
    // Where that fails, the messages are only a nuisance.
    let _ = alsa::Output::local_error_handler();
}

impl Player {
    /// Opens the usual output device, at this rate where it can, and tells what it plays.
    pub fn open(wanted_hz: u32, played: &Sender<Played>) -> Result<Self, VoiceError> {
        hush();
        let device = cpal::default_host()
            .default_output_device()
            .ok_or_else(|| failed("there is none".to_owned()))?;
        let usual = device
            .default_output_config()
            .map_err(|error| failed(error.to_string()))?;
        let ranges = device
            .supported_output_configs()
            .map_err(|error| failed(error.to_string()))?;
        let config = ranges
            .filter(|range| format_cost(range.sample_format()).is_some())
            .map(|range| {
                let rate = match range.contains_rate(wanted_hz) {
                    true => wanted_hz,
                    false => usual.sample_rate(),
                };
                range.with_sample_rate(rate.clamp(range.min_sample_rate(), range.max_sample_rate()))
            })
            .min_by_key(|config| {
                (
                    config.sample_rate() != wanted_hz,
                    config.channels(),
                    format_cost(config.sample_format()),
                )
            })
            .unwrap_or(usual);
        let name = device
            .description()
            .map_or_else(|_| "the loudspeaker".to_owned(), |it| it.to_string());
        let rate_hz = config.sample_rate();
        let (pieces, queued) = unbounded();
        let shared = Arc::new(Shared::new());
        let filler = Filler {
            queued,
            played: played.clone(),
            current: None,
            begins: true,
            rate_hz,
            shared: Arc::clone(&shared),
        };
        let (broken, breaks) = bounded(1);
        let mut output = Output {
            device,
            config: config.config(),
            format: config.sample_format(),
            filler: Arc::new(Mutex::new(filler)),
            shared: Arc::clone(&shared),
            broken,
        };
        output.config.buffer_size = BufferSize::Fixed(frames_of(PERIOD, rate_hz));
        let stream = output
            .begin()
            .or_else(|_| {
                output.config.buffer_size = BufferSize::Default;
                output.begin()
            })
            .map_err(|error| failed(error.to_string()))?;
        // It has until the first look at it to call.
        shared.called.store(shared.now(), Ordering::Release);
        let (open, closed) = bounded(0);
        let (keeping, closing) = bounded::<()>(0);
        std::thread::Builder::new()
            .name("voice-device".to_owned())
            .spawn(move || {
                output.keep(stream, &breaks, &closed);
                drop(keeping);
            })
            .map_err(|source| VoiceError::io("a thread for the loudspeaker", source))?;
        Ok(Self {
            name,
            rate_hz,
            pieces,
            shared,
            open: Some(open),
            closing,
        })
    }
}

/// What a stream is started and restarted with.
struct Output {
    device: cpal::Device,
    config: StreamConfig,
    format: SampleFormat,
    filler: Arc<Mutex<Filler>>,
    shared: Arc<Shared>,
    /// Tells that the stream broke.
    broken: Sender<()>,
}

/// A stream, and whether it is over: then it takes nothing more of what is to be played, and tells nothing more.
struct Stream {
    over: Arc<AtomicBool>,
    stream: cpal::Stream,
}

impl Output {
    fn begin(&self) -> Result<Stream, cpal::Error> {
        let over = Arc::new(AtomicBool::new(false));
        let stream = match self.format {
            SampleFormat::I16 => self.begin_as::<i16>(&over),
            SampleFormat::F32 => self.begin_as::<f32>(&over),
            SampleFormat::I32 => self.begin_as::<i32>(&over),
            SampleFormat::U16 => self.begin_as::<u16>(&over),
            SampleFormat::U8 => self.begin_as::<u8>(&over),
            _ => Err(cpal::Error::new(ErrorKind::UnsupportedConfig)),
        }?;
        stream.play()?;
        Ok(Stream { over, stream })
    }

    fn begin_as<T>(&self, over: &Arc<AtomicBool>) -> Result<cpal::Stream, cpal::Error>
    where
        T: SizedSample + FromSample<f32>,
    {
        let (shared, broken) = (Arc::clone(&self.shared), self.broken.clone());
        let (is_over, breaks) = (Arc::clone(over), Arc::clone(over));
        let filler = Arc::clone(&self.filler);
        let channels = usize::from(self.config.channels).max(1);
        let mut mono = Vec::new();
        self.device.build_output_stream::<T, _, _>(
            self.config,
            move |out, _| {
                mono.clear();
                mono.resize(out.len() / channels, 0.0);
                if !is_over.load(Ordering::Acquire)
                    && let Ok(mut filler) = filler.try_lock()
                {
                    filler.fill(&mut mono);
                }
                for (frame, sample) in out.chunks_mut(channels).zip(&mono) {
                    frame.fill(T::from_sample(*sample));
                }
            },
            move |error| match error.kind() {
                // Going on, if less well.
                ErrorKind::Xrun | ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => {}
                ErrorKind::DeviceNotAvailable => shared.failed.store(true, Ordering::Release),
                _ => {
                    if !breaks.swap(true, Ordering::AcqRel) {
                        let _ = broken.try_send(());
                    }
                }
            },
            None,
        )
    }

    /// Keeps the stream until its owner goes. One that breaks, as PulseAudio's may when a busy machine let it run dry, is
    /// begun anew, with more in its buffer: the sentence goes on but for what the device had not played yet, some hundredths
    /// of a second. One that breaks again and again is waited for; where that doesn't help the device is gone.
    fn keep(mut self, stream: Stream, breaks: &Receiver<()>, closed: &Receiver<()>) {
        let mut stream = Some(stream);
        let mut times: Vec<Instant> = Vec::new();
        let never = never();
        loop {
            let breaks = if stream.is_some() { breaks } else { &never };
            select! {
                recv(closed) -> _ => return,
                recv(breaks) -> _ => {}
            }
            if let Some(broken) = stream.take() {
                close(broken);
            }
            times.retain(|at| at.elapsed() < LATELY);
            if let Some(doublings) = u32::try_from(times.len()).ok().filter(|it| *it > 0) {
                let wait = WAIT.saturating_mul(2_u32.saturating_pow(doublings));
                let waited = closed.recv_timeout(wait.min(LONGEST_WAIT));
                if waited != Err(RecvTimeoutError::Timeout) {
                    return;
                }
            }
            times.push(Instant::now());
            if times.len() <= MAX_BREAKS {
                if let Ok(mut filler) = self.filler.lock() {
                    filler.begins = true;
                }
                if let BufferSize::Fixed(frames) = self.config.buffer_size {
                    let longest = frames_of(LONGEST_PERIOD, self.config.sample_rate);
                    self.config.buffer_size = BufferSize::Fixed((2 * frames).min(longest));
                }
                stream = self.begin().ok();
            }
            // Whoever was told meanwhile that it speaks no more isn't to hear it speak again.
            if stream.is_none() || self.shared.is_gone() {
                self.shared.failed.store(true, Ordering::Release);
                stream = None;
            } else {
                let now = self.shared.now();
                self.shared.called.store(now, Ordering::Release);
            }
        }
    }
}

fn frames_of(period: Duration, rate_hz: u32) -> u32 {
    (f64::from(rate_hz) * period.as_secs_f64()) as u32
}

/// Closes a stream on a thread of its own, and waits for it as long as it has.
fn close(stream: Stream) {
    stream.over.store(true, Ordering::Release);
    let (closing, closed) = bounded::<()>(0);
    let thread = std::thread::Builder::new().name("voice-close".to_owned());
    // Without a thread it is closed here.
    let _ = thread.spawn(move || {
        drop(stream.stream);
        drop(closing);
    });
    let _ = closed.recv_timeout(TO_CLOSE);
}

fn failed(reason: String) -> VoiceError {
    VoiceError::Failed {
        program: "the loudspeaker".to_owned(),
        reason,
    }
}

/// `None`: can't be written.
fn format_cost(format: SampleFormat) -> Option<u8> {
    // cpal may add formats.
    match format {
        SampleFormat::I16 => Some(0),
        SampleFormat::F32 => Some(1),
        SampleFormat::I32 => Some(2),
        SampleFormat::U16 => Some(3),
        SampleFormat::U8 => Some(4),
        _ => None,
    }
}

/// Runs in the device's callback.
struct Filler {
    queued: Receiver<Piece>,
    played: Sender<Played>,
    /// The piece that is being played, and how far.
    current: Option<(Piece, usize)>,
    /// The stream played nothing yet.
    begins: bool,
    rate_hz: u32,
    shared: Arc<Shared>,
}

impl Filler {
    fn fill(&mut self, out: &mut [f32]) {
        let now = self.shared.now();
        self.shared.called.store(now, Ordering::Release);
        let mut at = 0;
        while at < out.len() {
            let Some((piece, from)) = self.next_piece() else {
                break;
            };
            let count = (piece.samples.len() - from).min(out.len() - at);
            out[at..at + count].copy_from_slice(&piece.samples[from..from + count]);
            at += count;
            if from + count < piece.samples.len() {
                self.current = Some((piece, from + count));
            } else if piece.last {
                self.shared.ended(piece.generation);
            }
        }
        out[at..].fill(0.0);
        if at > 0 {
            self.shared.plays(now);
            self.shared.played.fetch_add(at as u64, Ordering::AcqRel);
            let none = self.shared.began.load(Ordering::Acquire) == 0;
            if none && out.iter().any(|sample| sample.abs() > AUDIBLE) {
                self.shared.began.store(now.max(1), Ordering::Release);
            }
        }
        // Where nobody takes it, or seconds late, it is dropped: the canceller distrusts such a backlog as a whole.
        let sent = self.played.try_send(Played {
            rate_hz: self.rate_hz,
            samples: out.to_vec(),
            begins: self.begins,
        });
        self.begins &= sent.is_err();
    }

    /// The piece to be played now and where it goes on; those of an older generation are dropped.
    fn next_piece(&mut self) -> Option<(Piece, usize)> {
        let generation = self.shared.generation();
        loop {
            let (piece, from) = match self.current.take() {
                Some(current) => current,
                None => (self.queued.try_recv().ok()?, 0),
            };
            if piece.generation == generation {
                return Some((piece, from));
            }
        }
    }
}

/// From this on a sample is sound.
const AUDIBLE: f32 = 0.003;

#[cfg(test)]
mod tests {
    use super::*;
    use crossbeam_channel::bounded;

    fn filler() -> (Filler, Sender<Piece>, Receiver<Played>) {
        let (pieces, queued) = unbounded();
        let (played, reference) = bounded(4);
        let filler = Filler {
            queued,
            played,
            current: None,
            begins: true,
            rate_hz: 16_000,
            shared: Arc::new(Shared::new()),
        };
        (filler, pieces, reference)
    }

    fn piece(generation: u32, samples: &[f32], last: bool) -> Piece {
        Piece {
            generation,
            samples: samples.to_vec(),
            last,
        }
    }

    #[test]
    fn a_silence_between_sentences_is_known_and_a_gap_within_one_is_none() {
        let (mut filler, pieces, _reference) = filler();
        let shared = Arc::clone(&filler.shared);
        let mut plays = || {
            let generation = filler.shared.sentence();
            pieces.send(piece(generation, &[0.1; 4], true)).unwrap();
            filler.fill(&mut [0.0; 4]);
        };
        plays();
        plays();
        assert_eq!(shared.silence().1, Duration::ZERO);
        shared.last.store(0, Ordering::Release);
        std::thread::sleep(SILENCE + Duration::from_millis(20));
        assert!(shared.silent_for() > SILENCE);
        plays();
        let (before, silence) = shared.silence();
        assert_eq!(before, 8);
        assert!(silence > SILENCE);
        assert!(shared.silent_for() < SILENCE);
    }

    #[test]
    fn sentences_are_played_in_order_and_told_as_they_are_played() {
        let (mut filler, pieces, reference) = filler();
        let generation = filler.shared.sentence();
        pieces.send(piece(generation, &[0.1, 0.2], false)).unwrap();
        pieces.send(piece(generation, &[0.3], true)).unwrap();
        let mut out = [9.0; 2];
        filler.fill(&mut out);
        assert_eq!(out, [0.1, 0.2]);
        assert!(filler.shared.is_speaking());
        filler.fill(&mut out);
        assert_eq!(out, [0.3, 0.0]);
        assert!(!filler.shared.is_speaking());
        assert_eq!(filler.shared.played(), 3);
        let told: Vec<f32> = reference.try_iter().flat_map(|it| it.samples).collect();
        assert_eq!(told, [0.1, 0.2, 0.3, 0.0]);
    }

    #[test]
    fn a_stop_forgets_what_waits_and_what_is_being_played() {
        let (mut filler, pieces, _reference) = filler();
        let old = filler.shared.sentence();
        pieces.send(piece(old, &[0.1; 4], true)).unwrap();
        let mut out = [9.0; 2];
        filler.fill(&mut out);
        filler.shared.stop();
        assert!(!filler.shared.is_speaking());
        let new = filler.shared.sentence();
        // Made before the stop, sent after it.
        pieces.send(piece(old, &[0.1], true)).unwrap();
        pieces.send(piece(new, &[0.5], true)).unwrap();
        filler.fill(&mut out);
        assert_eq!(out, [0.5, 0.0]);
        assert!(!filler.shared.is_speaking());
    }

    #[test]
    fn a_device_that_calls_no_more_doesnt_speak_for_ever() {
        let shared = Shared::new();
        shared.sentence();
        shared.called.store(shared.now(), Ordering::Release);
        assert!(shared.is_speaking());
        assert!(!shared.has_lost());
        shared.failed.store(true, Ordering::Release);
        assert!(!shared.is_speaking());
        assert!(shared.has_lost());
        shared.stop();
        assert!(!shared.has_lost(), "it is told once");
    }
}
