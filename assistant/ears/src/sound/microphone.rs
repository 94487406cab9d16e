//! The microphone, live.
//!
//! The device calls back on a thread that must never wait, so that call only copies samples into a
//! buffer from a fixed pool and passes it on. A thread of our own mixes, resamples, looks for speech and
//! sends [`MicrophoneEvent`]s. When it falls behind and the pool is empty, sound is lost: how much is
//! counted and said ([`MicrophoneEvent::Overrun`]). When the device fails or falls silent as only a
//! vanished device does, [`MicrophoneEvent::Lost`] is the last event.

mod device;
mod listening;

pub use device::{DeviceListing, devices};

use super::echo::Reference;
use super::endpoint::Patience;
use super::{Utterance, endpoint};
use crossbeam_channel::{Receiver, bounded};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Events that may wait to be taken. Levels beyond it are dropped, everything else waits.
const EVENTS: usize = 64;

/// What the microphone noticed.
#[derive(Debug, Clone, PartialEq)]
pub enum MicrophoneEvent {
    /// Somebody began to speak, or stopped.
    Heard {
        /// What was noticed.
        event: endpoint::Event,
        /// When the sound by which it was noticed came from the device.
        at: Instant,
    },
    /// How loud it was over the last tenth of a second.
    Level {
        /// Root mean square in decibel of full scale, −120 for digital silence.
        rms_dbfs: f32,
        /// Whether the end-pointer hears speech.
        speech: bool,
        /// How loud it is when nobody speaks, in decibel of full scale, once enough was heard to tell.
        noise_dbfs: Option<f32>,
    },
    /// Sound was lost because it wasn't taken in time.
    Overrun {
        /// Frames lost since the last such event because this program was late.
        frames: u64,
        /// Times since the last such event that the device itself reported a loss.
        at_device: u64,
    },
    /// The microphone is gone. No further event follows; open it again, or another one.
    Lost {
        /// What happened, as far as it is known.
        reason: String,
    },
}

impl MicrophoneEvent {
    /// The utterance, if this event brings one that may be trusted (not one that was cut short).
    pub fn into_utterance(self) -> Option<Utterance> {
        match self {
            Self::Heard {
                event: endpoint::Event::Utterance(utterance),
                ..
            } => Some(utterance),
            Self::Heard {
                event:
                    endpoint::Event::SpeechBegan
                    | endpoint::Event::Pause { .. }
                    | endpoint::Event::Resumed
                    | endpoint::Event::CutShort(_)
                    | endpoint::Event::Discarded(_),
                ..
            }
            | Self::Level { .. }
            | Self::Overrun { .. }
            | Self::Lost { .. } => None,
        }
    }
}

/// Why a microphone can't be opened.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MicrophoneError {
    /// There is none.
    #[error("no microphone was found: plug one in, or name one from the list of devices")]
    NoDevice,
    /// None has this name.
    #[error("there is no microphone {name:?}: name one of {known}")]
    NoSuchDevice {
        /// The name that was asked for.
        name: String,
        /// The names that there are.
        known: String,
    },
    /// The device gives no sound in a form that can be used.
    #[error("the microphone {name} can't be used: {reason}")]
    Unusable {
        /// The device.
        name: String,
        /// What the system says.
        reason: String,
    },
    /// The list of devices can't be had.
    #[error("the sound devices can't be listed: {0}; is the sound system running?")]
    Devices(String),
}

/// How a microphone listens.
#[derive(Default)]
pub struct Listening {
    /// Where speech ends.
    pub end_pointing: endpoint::Settings,
    /// What the assistant's loudspeaker plays, where that is known: it is taken out of what the microphone brings.
    pub reference: Option<Reference>,
}

/// What the thread is told while it listens.
#[derive(Debug)]
struct Wishes {
    /// Silence that ends a command, in milliseconds.
    command: AtomicU64,
    /// Silence that ends a turn, in milliseconds.
    turn: AtomicU64,
    end_at_pause: AtomicBool,
}

/// An open microphone. Dropping it closes the device and ends its thread.
#[derive(Debug)]
pub struct Microphone {
    name: String,
    wishes: Arc<Wishes>,
    /// Dropped to tell the thread to end.
    running: Option<crossbeam_channel::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Microphone {
    /// Opens the microphone of this name (see [`devices`]), or the usual one, with the usual end-pointing.
    pub fn open(name: Option<&str>) -> Result<(Self, Receiver<MicrophoneEvent>), MicrophoneError> {
        Self::open_with(name, Listening::default())
    }

    /// The same, listening otherwise.
    pub fn open_with(
        name: Option<&str>,
        listening: Listening,
    ) -> Result<(Self, Receiver<MicrophoneEvent>), MicrophoneError> {
        let usual = name.is_none();
        let device = device::find(name)?;
        let (events, receiver) = bounded(EVENTS);
        let (running, stopped) = bounded(0);
        let name = device.name.clone();
        // The sound system has a usual device even where there is no microphone at all.
        let nothing_there =
            || usual && devices().is_ok_and(|all| all.iter().all(|device| !device.real));
        let capture = device::Capture::start(device).map_err(|error| match nothing_there() {
            true => MicrophoneError::NoDevice,
            false => error,
        })?;
        let wishes = Arc::new(Wishes {
            command: AtomicU64::new(milliseconds(listening.end_pointing.command)),
            turn: AtomicU64::new(milliseconds(listening.end_pointing.hang_over)),
            end_at_pause: AtomicBool::new(false),
        });
        let wished = Arc::clone(&wishes);
        let thread = std::thread::Builder::new()
            .name("microphone".to_owned())
            .spawn(move || listening::run(capture, listening, &wished, &events, &stopped))
            .map_err(|error| MicrophoneError::Unusable {
                name: name.clone(),
                reason: format!("no thread can be started for it: {error}"),
            })?;
        Ok((
            Self {
                name,
                wishes,
                running: Some(running),
                thread: Some(thread),
            },
            receiver,
        ))
    }

    /// The device's name, as [`devices`] lists it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// From now on this much silence ends a plain command, and an utterance.
    pub fn set_patience(&self, patience: Patience) {
        let Wishes { command, turn, .. } = &*self.wishes;
        command.store(milliseconds(patience.command), Ordering::Relaxed);
        turn.store(milliseconds(patience.turn), Ordering::Relaxed);
    }

    /// What was told by [`endpoint::Event::Pause`] is taken: it ends there, and isn't told again, unless somebody has spoken on or
    /// it is on its way already.
    pub fn end_at_pause(&self) {
        self.wishes.end_at_pause.store(true, Ordering::Relaxed);
    }
}

fn milliseconds(time: Duration) -> u64 {
    u64::try_from(time.as_millis()).unwrap_or(u64::MAX)
}

impl Drop for Microphone {
    fn drop(&mut self) {
        self.running = None;
        if let Some(thread) = self.thread.take() {
            // A panic there was printed there; there is nobody here to tell.
            let _ = thread.join();
        }
    }
}
