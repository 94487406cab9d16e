//! The machine's loudspeaker, with what it plays known to the sample.
//!
//! libespeak-ng or a neural voice makes the sound and `cpal` plays it, all in this process: a sentence of espeak-ng sounds
//! some 25 ms after it was handed over and ends within a period of the device, and what is played is told, so that an echo
//! canceller can take it out of what the microphone brings.

mod earcon;
mod engine;
mod neural;
mod player;
mod rate;
mod synthesiser;
mod timed;

pub use earcon::Earcon;
pub use engine::Word;
pub use neural::Neural;
pub use player::Played;
pub use timed::timed;

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};

use crate::{Settings, Voice, VoiceError};
use engine::Sink;
use player::{Piece, Player, Shared};
use rate::Rate;
use synthesiser::Synthesiser;

/// Words that are remembered: some minutes of speech.
const REMEMBERED: usize = 1_000;

/// What sounded from a device that is gone is remembered so far back, longer than any utterance.
const KEPT: Duration = Duration::from_secs(20);

/// Pieces of played sound that may wait to be taken, seconds of it. Beyond it they are dropped.
const PLAYED: usize = 256;

/// Speaks through the machine's usual output device.
pub struct Loudspeaker {
    synthesiser: Synthesiser,
    settings: Settings,
    player: Player,
    maker: Maker,
    /// Tells what was played, over all devices that were opened.
    reference: (Sender<Played>, Receiver<Played>),
    /// When a device was last given up, and the last words that sounded from it.
    gone: Option<(Instant, Vec<String>)>,
}

impl Loudspeaker {
    /// Opens the usual output device, with a voice of espeak-ng such as `en-us`.
    ///
    /// # Errors
    /// When the library, its voice or a sound device is missing.
    pub fn open(voice: &str, settings: Settings) -> Result<Self, VoiceError> {
        Self::with(Synthesiser::Espeak(voice.to_owned()), settings)
    }

    /// Opens the usual output device, with the neural voice that set-up brings. It speaks English.
    ///
    /// # Errors
    /// When the voice, a library that it needs or a sound device is missing.
    pub fn open_neural(settings: Settings) -> Result<Self, VoiceError> {
        Self::with(Synthesiser::Neural(Arc::new(Neural::load()?)), settings)
    }

    fn with(synthesiser: Synthesiser, settings: Settings) -> Result<Self, VoiceError> {
        // A voice that isn't there is told now, not at the first sentence.
        synthesiser.speak("ready", settings, &mut Nothing)?;
        let reference = bounded(PLAYED);
        let player = Player::open(synthesiser.rate_hz()?, &reference.0)?;
        let maker = Maker::start(&player, &synthesiser)?;
        Ok(Self {
            settings: synthesiser.within(settings),
            synthesiser,
            player,
            maker,
            reference,
            gone: None,
        })
    }

    /// The device, opened again if it is gone.
    fn reopened(&mut self) -> Result<(), VoiceError> {
        if self.player.shared.is_gone() {
            let rate_hz = self.synthesiser.rate_hz()?;
            let player = Player::open(rate_hz, &self.reference.0)?;
            let maker = Maker::start(&player, &self.synthesiser)?;
            self.gone = Some((Instant::now(), self.words_within(KEPT).unwrap_or_default()));
            self.maker = maker;
            self.player = player;
        }
        Ok(())
    }
}

impl Voice for Loudspeaker {
    fn name(&self) -> String {
        format!("{} on {}", self.synthesiser.name(), self.player.name)
    }

    fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
        self.reopened()?;
        let generation = self.player.shared.sentence();
        self.maker.make(Order {
            generation,
            what: What::Sentence {
                sentence: sentence.to_owned(),
                settings: self.settings,
            },
        })
    }

    fn stop(&mut self) {
        self.player.shared.stop();
    }

    fn is_speaking(&self) -> bool {
        self.player.shared.is_speaking()
    }

    fn lost(&mut self) -> Option<VoiceError> {
        self.player.shared.has_lost().then(|| {
            self.player.shared.stop();
            VoiceError::Failed {
                program: "the loudspeaker".to_owned(),
                reason: "its device is gone".to_owned(),
            }
        })
    }

    fn set(&mut self, settings: Settings) -> Result<(), VoiceError> {
        self.settings = self.synthesiser.within(settings);
        Ok(())
    }

    fn settings(&self) -> Settings {
        self.settings
    }

    fn sound(&mut self, earcon: Earcon) {
        let loudness = f32::from(self.settings.volume.percent()) / 100.0;
        let generation = self.player.shared.sentence();
        // Where its thread ended the next sentence tells so.
        let _ = self.maker.make(Order {
            generation,
            what: What::Earcon(earcon, loudness),
        });
    }

    fn played(&self) -> Option<Receiver<Played>> {
        Some(self.reference.1.clone())
    }

    fn words_within(&self, time: Duration) -> Option<Vec<String>> {
        let samples = |time: Duration| (f64::from(self.player.rate_hz) * time.as_secs_f64()) as u64;
        let shared = &self.player.shared;
        // Where it is in doubt whether a word began within the time, it did.
        let doubt = samples(self.synthesiser.doubt());
        // In this order: a silence that ends in between is counted once or not at all.
        let (before_silence, silence) = shared.silence();
        let of_now = (time + self.synthesiser.doubt()).saturating_sub(shared.silent_for());
        let of_before = of_now.saturating_sub(silence);
        let played = shared.played();
        let from = |time: Duration| played.saturating_sub(samples(time));
        let before = self.gone.iter().filter(|(at, _)| at.elapsed() <= time);
        let before = before.flat_map(|(_, words)| words.clone());
        let now = [
            from(of_before)..before_silence,
            from(of_now).max(before_silence)..played + doubt,
        ];
        let now = now.into_iter().flat_map(|played| self.maker.words(played));
        Some(before.chain(now).collect())
    }

    fn began(&self) -> Option<Instant> {
        self.player.shared.began()
    }
}

/// A sink for which the first piece is enough.
struct Nothing;

impl Sink for Nothing {
    fn piece(&mut self, _samples: &[i16], _words: Vec<Word>) -> bool {
        false
    }
}

/// Something to be made.
struct Order {
    generation: u32,
    what: What,
}

enum What {
    Sentence {
        sentence: String,
        settings: Settings,
    },
    /// With its loudness, 0 to 1.
    Earcon(Earcon, f32),
}

/// The thread that makes sound of sentences.
struct Maker {
    /// Dropped to tell the thread to end.
    orders: Option<Sender<Order>>,
    thread: Option<JoinHandle<()>>,
    timeline: Arc<Mutex<Timeline>>,
    shared: Arc<Shared>,
}

/// Which word begins at which sample of all that is played of sentences.
#[derive(Default)]
struct Timeline {
    /// Where what is made next will be played, if nothing stops it.
    end: u64,
    generation: u32,
    words: VecDeque<(u64, String)>,
}

impl Maker {
    fn start(player: &Player, synthesiser: &Synthesiser) -> Result<Self, VoiceError> {
        let (orders, received) = unbounded::<Order>();
        let timeline = Arc::new(Mutex::new(Timeline::default()));
        let shared = Arc::clone(&player.shared);
        let making = Making {
            synthesiser: synthesiser.clone(),
            pieces: player.pieces.clone(),
            rate_hz: player.rate_hz,
            shared: Arc::clone(&shared),
            timeline: Arc::clone(&timeline),
        };
        let thread = std::thread::Builder::new()
            .name("voice".to_owned())
            .spawn(move || {
                for order in received {
                    making.make(&order);
                }
            })
            .map_err(|source| VoiceError::io("a thread for the voice", source))?;
        Ok(Self {
            orders: Some(orders),
            thread: Some(thread),
            timeline,
            shared,
        })
    }

    fn make(&self, order: Order) -> Result<(), VoiceError> {
        let sent = self.orders.as_ref().map(|orders| orders.send(order));
        match sent {
            Some(Ok(())) => Ok(()),
            Some(Err(_)) | None => {
                self.shared.stop();
                Err(VoiceError::Lost {
                    reason: "its thread ended".to_owned(),
                })
            }
        }
    }

    fn words(&self, played: std::ops::Range<u64>) -> Vec<String> {
        let timeline = lock(&self.timeline);
        let words = timeline.words.iter();
        words
            .filter(|(at, _)| played.contains(at))
            .map(|(_, word)| word.clone())
            .collect()
    }
}

impl Drop for Maker {
    fn drop(&mut self) {
        self.shared.stop();
        self.orders = None;
        if let Some(thread) = self.thread.take() {
            // A panic there was printed there; there is nobody here to tell.
            let _ = thread.join();
        }
    }
}

/// What the thread works with.
struct Making {
    synthesiser: Synthesiser,
    pieces: Sender<Piece>,
    rate_hz: u32,
    shared: Arc<Shared>,
    timeline: Arc<Mutex<Timeline>>,
}

impl Making {
    fn make(&self, order: &Order) {
        let generation = order.generation;
        if self.shared.generation() != generation {
            return;
        }
        let made = self.synthesiser.rate_hz().and_then(|rate_hz| {
            let mut sentence = MadeSentence {
                making: self,
                rate: Rate::new(rate_hz, self.rate_hz),
                generation,
                from: self.begins(generation),
                made: 0,
            };
            match &order.what {
                What::Sentence {
                    sentence: text,
                    settings,
                } => self.synthesiser.speak(text, *settings, &mut sentence)?,
                What::Earcon(earcon, loudness) => {
                    sentence.send(earcon.samples(self.rate_hz, *loudness), false);
                }
            }
            sentence.finish();
            Ok(())
        });
        if made.is_err() {
            self.shared.ended(generation);
        }
    }

    /// Where a sentence of this generation will begin.
    fn begins(&self, generation: u32) -> u64 {
        let mut timeline = lock(&self.timeline);
        let played = self.shared.played();
        if timeline.generation != generation {
            timeline.generation = generation;
            // What was to come never sounds.
            timeline.words.retain(|(at, _)| *at <= played);
            timeline.end = played;
        }
        timeline.end = timeline.end.max(played);
        timeline.end
    }
}

struct MadeSentence<'a> {
    making: &'a Making,
    rate: Option<Rate>,
    generation: u32,
    /// Where the sentence begins in all that is played.
    from: u64,
    made: u64,
}

impl MadeSentence<'_> {
    fn send(&mut self, samples: Vec<f32>, last: bool) -> bool {
        self.made += samples.len() as u64;
        let sent = self.making.pieces.send(Piece {
            generation: self.generation,
            samples,
            last,
        });
        sent.is_ok() && self.making.shared.generation() == self.generation
    }

    fn finish(mut self) {
        let mut rest = Vec::new();
        if let Some(rate) = &mut self.rate {
            rate.finish(&mut rest);
        }
        self.send(rest, true);
        lock(&self.making.timeline).end = self.from + self.made;
    }
}

impl Sink for MadeSentence<'_> {
    fn piece(&mut self, samples: &[i16], words: Vec<Word>) -> bool {
        {
            let mut timeline = lock(&self.making.timeline);
            for word in words {
                let at = u64::from(word.at_ms) * u64::from(self.making.rate_hz) / 1_000;
                timeline.words.push_back((self.from + at, word.text));
            }
            let surplus = timeline.words.len().saturating_sub(REMEMBERED);
            timeline.words.drain(..surplus);
        }
        let mut out = Vec::with_capacity(samples.len() * 3);
        if let Some(rate) = &mut self.rate {
            rate.push(samples, &mut out);
        }
        self.send(out, false)
    }
}

/// The state is whole between any two statements, so a panic elsewhere leaves it usable.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
