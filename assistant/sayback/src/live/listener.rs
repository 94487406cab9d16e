//! The microphone of a conversation: what it brings, and how far it may be trusted.

use super::trust::{HalfDuplex, trust_over_playback};
use crate::conversation::Trust;
use crossbeam_channel::{Receiver, RecvTimeoutError};
use ears::sound::endpoint::{self, Event};
use ears::sound::microphone::{Listening, Microphone, MicrophoneError, MicrophoneEvent};
use ears::sound::{Utterance, echo};
use std::collections::VecDeque;
use std::time::{Duration, Instant};
use voice::Voice;

/// Silence after which what was said is listened to, while it is still waited whether more is said. The benchmark `answer`
/// compares others.
pub const EARLY: Duration = Duration::from_millis(208);

/// How the ears and the voice share the room.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Duplex {
    /// Commands are taken while the assistant speaks, where its own sound can be taken out of the microphone's.
    #[default]
    Full,
    /// Only "stop" is taken while it speaks.
    Half,
}

/// How a job is listened to.
#[derive(Debug, Clone, Copy)]
pub struct Setup<'a> {
    /// The microphone; the usual one when left out.
    pub device: Option<&'a str>,
    /// How the ears and the voice share the room.
    pub duplex: Duplex,
    /// Silence after which what was said is listened to, while it is still waited whether more is said. `None`: only
    /// when it is certain.
    pub early: Option<Duration>,
    /// Tells of each press of the key after which it is to listen, where there is one.
    pub presses: Option<&'a Receiver<()>>,
}

impl Default for Setup<'_> {
    fn default() -> Self {
        Self {
            device: None,
            duplex: Duplex::Full,
            early: Some(EARLY),
            presses: None,
        }
    }
}

/// A stretch of speech, or what happened to the microphone.
#[derive(Debug)]
pub enum Brought {
    /// This was said so far, and may be all.
    Pause(Stretch),
    /// Somebody began to speak.
    Began,
    /// It wasn't all.
    SpokeOn,
    /// It was no speech.
    Nothing,
    /// This was said.
    Utterance(Stretch),
    /// A piece of talk without a pause, or with a hole in it.
    Piece(Utterance),
    /// How loud it is.
    Level(Level),
    /// So many frames were lost because this program was late, or the device lost some so many times.
    Overrun(u64),
    /// The microphone is gone.
    Lost {
        /// What happened.
        reason: String,
    },
}

/// How loud it is.
#[derive(Debug, Clone, Copy)]
pub struct Level {
    /// Root mean square in decibels of full scale.
    pub rms_dbfs: f32,
    /// Whether somebody speaks.
    pub speech: bool,
    /// How loud it is when nobody speaks, once that is known.
    pub noise_dbfs: Option<f32>,
}

/// A stretch of speech.
#[derive(Debug)]
pub struct Stretch {
    /// Its sound.
    pub utterance: Utterance,
    /// Whose voice it may be.
    pub trust: Trust,
    /// When the sound by which its end was noticed came from the device.
    pub at: Instant,
}

/// An open microphone in a room in which the assistant speaks.
pub struct Listener {
    microphone: Microphone,
    events: Receiver<MicrophoneEvent>,
    /// Events that were looked at before their time.
    ahead: VecDeque<MicrophoneEvent>,
    half_duplex: HalfDuplex,
    /// Whether the loudspeaker's sound is taken out.
    cancels: bool,
    early: Duration,
    hang_over: Duration,
    /// When the newest pause was noticed.
    paused: Instant,
    /// What is being said was taken at the pause noticed at this time.
    taken: Option<Instant>,
    /// What is being said goes on from something that was taken already.
    goes_on: bool,
}

impl Listener {
    /// Opens a microphone for a room in which this voice speaks.
    ///
    /// # Errors
    /// When the microphone can't be opened.
    pub fn open(setup: &Setup<'_>, voice: &dyn Voice) -> Result<Self, MicrophoneError> {
        let played = match setup.duplex {
            Duplex::Full => voice.played(),
            Duplex::Half => None,
        };
        let cancels = played.is_some();
        let end_pointing = endpoint::Settings {
            early: setup.early,
            ..endpoint::Settings::default()
        };
        let listening = Listening {
            end_pointing,
            reference: played.map(reference),
        };
        let (microphone, events) = Microphone::open_with(setup.device, listening)?;
        Ok(Self {
            microphone,
            events,
            ahead: VecDeque::new(),
            half_duplex: HalfDuplex::default(),
            cancels,
            early: setup.early.unwrap_or_default(),
            hang_over: end_pointing.hang_over,
            paused: Instant::now(),
            taken: None,
            goes_on: false,
        })
    }

    /// The microphone's name.
    pub fn name(&self) -> &str {
        self.microphone.name()
    }

    /// Silence after which what was said is listened to.
    pub fn early(&self) -> Duration {
        self.early
    }

    /// From now on so much silence ends an utterance.
    pub fn set_hang_over(&mut self, hang_over: Duration) {
        self.hang_over = hang_over;
        self.microphone.set_hang_over(hang_over);
    }

    /// What comes next, waited for no longer than this.
    pub fn next(&mut self, voice: &dyn Voice, wait: Duration) -> Option<Brought> {
        self.half_duplex.speaks(voice.is_speaking());
        let noticed = match self.ahead.pop_front() {
            Some(event) => event,
            None => match self.events.recv_timeout(wait) {
                Ok(event) => event,
                Err(RecvTimeoutError::Timeout) => return None,
                Err(RecvTimeoutError::Disconnected) => MicrophoneEvent::Lost {
                    reason: "its thread ended".to_owned(),
                },
            },
        };
        let guess = self.half_duplex.trust(&noticed);
        let (event, at) = match noticed {
            MicrophoneEvent::Heard { event, at } => (event, at),
            MicrophoneEvent::Level {
                rms_dbfs,
                speech,
                noise_dbfs,
            } => {
                self.half_duplex.level(rms_dbfs, noise_dbfs);
                return Some(Brought::Level(Level {
                    rms_dbfs,
                    speech,
                    noise_dbfs,
                }));
            }
            MicrophoneEvent::Overrun { frames, at_device } => {
                return Some(Brought::Overrun(frames + at_device));
            }
            MicrophoneEvent::Lost { reason } => return Some(Brought::Lost { reason }),
        };
        let trusted = |utterance| {
            let trust = match self.cancels {
                true => trust_over_playback(&utterance, |time| {
                    // It may have waited while another was judged.
                    voice.words_within(time + at.elapsed())
                }),
                false => guess,
            };
            let trust = match self.goes_on {
                true => Trust::OnlyStop,
                false => trust,
            };
            Stretch {
                utterance,
                trust,
                at,
            }
        };
        Some(match event {
            Event::SpeechBegan => {
                // Before what was taken would have ended by itself: it is the rest of it.
                self.goes_on = self.taken.take().is_some_and(|paused| {
                    self.early + at.saturating_duration_since(paused) < self.hang_over
                });
                Brought::Began
            }
            Event::Pause(utterance) => {
                self.paused = at;
                Brought::Pause(trusted(utterance))
            }
            Event::Resumed => {
                self.goes_on |= self.taken.take().is_some();
                Brought::SpokeOn
            }
            Event::Utterance(utterance) => match self.taken.take() {
                Some(_) => return None,
                None => Brought::Utterance(trusted(utterance)),
            },
            Event::CutShort(utterance) => Brought::Piece(utterance),
            Event::Discarded(_) => Brought::Nothing,
        })
    }

    /// Takes what the newest [`Brought::Pause`] brought, unless somebody has spoken on meanwhile: then it isn't all.
    pub fn take_pause(&mut self) -> bool {
        self.ahead.extend(self.events.try_iter());
        let ends = self.ahead.iter().find_map(|event| match event {
            MicrophoneEvent::Heard { event, .. } => match event {
                Event::Utterance(_) => Some(true),
                Event::Resumed | Event::CutShort(_) | Event::Discarded(_) => Some(false),
                Event::SpeechBegan | Event::Pause(_) => None,
            },
            MicrophoneEvent::Lost { .. } => Some(false),
            MicrophoneEvent::Level { .. } | MicrophoneEvent::Overrun { .. } => None,
        });
        if ends == Some(false) {
            return false;
        }
        self.taken = Some(self.paused);
        if ends.is_none() {
            self.microphone.end_at_pause();
        }
        true
    }

    /// Something was said, or it was judged whether to: whether the assistant speaks now.
    pub fn answered(&mut self, speaks: bool) {
        let waiting = self.ahead.len() + self.events.len();
        self.half_duplex.answered(speaks, waiting);
    }
}

/// What the voice plays, as the ears want it.
fn reference(played: Receiver<voice::Played>) -> echo::Reference {
    Box::new(move || {
        let voice::Played {
            rate_hz,
            samples,
            begins,
        } = played.try_recv().ok()?;
        Some(echo::Played {
            rate_hz,
            samples,
            begins,
        })
    })
}
