//! The microphone of a conversation: what it hears, and how far that may be trusted.

use super::source::{Level, SoundEvent, Source, TurnTaking};
use super::trust::{HalfDuplex, trust_over_playback};
use crossbeam_channel::{Receiver, RecvTimeoutError};
use ears::sound::echo;
use ears::sound::endpoint::{self, Event, Patience};
use ears::sound::microphone::{Listening, Microphone, MicrophoneError, MicrophoneEvent};
use ears::turn::EARLY;
use std::collections::VecDeque;
use std::time::{Duration, Instant};
use voice::Voice;

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

/// An open microphone in a room in which the assistant speaks.
pub struct Listener {
    microphone: Microphone,
    events: Receiver<MicrophoneEvent>,
    /// Events that were looked at before their time.
    ahead: VecDeque<MicrophoneEvent>,
    half_duplex: HalfDuplex,
    /// Whether the loudspeaker's sound is taken out.
    cancels: bool,
    turn_taking: TurnTaking,
    /// When it was opened.
    opened: Instant,
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
            turn_taking: TurnTaking::new(Patience {
                command: end_pointing.command,
                turn: end_pointing.hang_over,
            }),
            opened: Instant::now(),
        })
    }

    /// The microphone's name.
    pub fn name(&self) -> &str {
        self.microphone.name()
    }
}

impl Source for Listener {
    fn set_patience(&mut self, patience: Patience) {
        self.turn_taking.set_patience(patience);
        self.microphone.set_patience(patience);
    }

    fn next(&mut self, voice: &dyn Voice, wait: Duration) -> Option<SoundEvent> {
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
                return Some(SoundEvent::Level(Level {
                    rms_dbfs,
                    speech,
                    noise_dbfs,
                }));
            }
            MicrophoneEvent::Overrun { frames, at_device } => {
                return Some(SoundEvent::Overrun(frames + at_device));
            }
            MicrophoneEvent::Lost { reason } => return Some(SoundEvent::Lost { reason }),
        };
        let cancels = self.cancels;
        let since_opened = at.saturating_duration_since(self.opened);
        self.turn_taking
            .bring(event, since_opened, at, |utterance| {
                match cancels {
                    true => trust_over_playback(utterance, |time| {
                        // It may have waited while another was judged.
                        voice.words_within(time + at.elapsed())
                    }),
                    false => guess,
                }
            })
    }

    fn end_at_pause(&mut self) -> bool {
        self.ahead.extend(self.events.try_iter());
        let ends = self.ahead.iter().find_map(|event| match event {
            MicrophoneEvent::Heard { event, .. } => match event {
                Event::Utterance(_) => Some(true),
                Event::Resumed | Event::CutShort(_) | Event::Discarded(_) => Some(false),
                Event::SpeechBegan | Event::Pause { .. } => None,
            },
            MicrophoneEvent::Lost { .. } => Some(false),
            MicrophoneEvent::Level { .. } | MicrophoneEvent::Overrun { .. } => None,
        });
        if ends == Some(false) {
            return false;
        }
        self.turn_taking.take_at_pause();
        if ends.is_none() {
            self.microphone.end_at_pause();
        }
        true
    }

    fn answered(&mut self, speaks: bool) {
        let waiting = self.ahead.len() + self.events.len();
        self.half_duplex.answered(speaks, waiting);
    }

    fn turn_taking(&mut self) -> &mut TurnTaking {
        &mut self.turn_taking
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
