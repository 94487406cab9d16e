//! The microphone of a conversation: what it brings, and how far it may be trusted.

use super::trust::{HalfDuplex, trust_over_playback};
use crate::conversation::Trust;
use crossbeam_channel::{Receiver, RecvTimeoutError};
use ears::sound::endpoint::{self, Event};
use ears::sound::microphone::{Listening, Microphone, MicrophoneError, MicrophoneEvent};
use ears::sound::{Utterance, echo};
use std::collections::VecDeque;
use std::time::Duration;
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
    /// It wasn't all.
    SpokeOn,
    /// This was said.
    Utterance(Stretch),
    /// A piece of talk without a pause, or with a hole in it.
    Piece(Utterance),
    /// Something else.
    Other(MicrophoneEvent),
}

/// A stretch of speech.
#[derive(Debug)]
pub struct Stretch {
    /// Its sound.
    pub utterance: Utterance,
    /// Whose voice it may be.
    pub trust: Trust,
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
    /// The next utterance was taken already.
    taken: bool,
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
        let listening = Listening {
            end_pointing: endpoint::Settings {
                early: setup.early,
                ..endpoint::Settings::default()
            },
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
            taken: false,
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
    pub fn set_hang_over(&self, hang_over: Duration) {
        self.microphone.set_hang_over(hang_over);
    }

    /// What comes next, waited for no longer than this.
    pub fn next(&mut self, voice: &dyn Voice, wait: Duration) -> Option<Brought> {
        self.half_duplex.speaks(voice.is_speaking());
        let event = match self.ahead.pop_front() {
            Some(event) => event,
            None => match self.events.recv_timeout(wait) {
                Ok(event) => event,
                Err(RecvTimeoutError::Timeout) => return None,
                Err(RecvTimeoutError::Disconnected) => MicrophoneEvent::Lost {
                    reason: "its thread ended".to_owned(),
                },
            },
        };
        let guess = self.half_duplex.trust(&event);
        let trusted = |utterance| {
            let trust = match self.cancels {
                true => trust_over_playback(&utterance, |time| voice.words_within(time)),
                false => guess,
            };
            let trust = match self.goes_on {
                true => Trust::OnlyStop,
                false => trust,
            };
            Stretch { utterance, trust }
        };
        Some(match event {
            MicrophoneEvent::Heard(Event::SpeechBegan) => {
                (self.taken, self.goes_on) = (false, false);
                Brought::Other(MicrophoneEvent::Heard(Event::SpeechBegan))
            }
            MicrophoneEvent::Heard(Event::Pause(utterance)) => Brought::Pause(trusted(utterance)),
            MicrophoneEvent::Heard(Event::Resumed) => {
                self.goes_on |= std::mem::take(&mut self.taken);
                Brought::SpokeOn
            }
            MicrophoneEvent::Heard(Event::Utterance(utterance)) => {
                match std::mem::take(&mut self.taken) {
                    true => return None,
                    false => Brought::Utterance(trusted(utterance)),
                }
            }
            MicrophoneEvent::Heard(Event::CutShort(utterance)) => Brought::Piece(utterance),
            MicrophoneEvent::Level {
                rms_dbfs,
                noise_dbfs,
                ..
            } => {
                self.half_duplex.level(rms_dbfs, noise_dbfs);
                Brought::Other(event)
            }
            MicrophoneEvent::Heard(Event::Discarded(_))
            | MicrophoneEvent::Overrun { .. }
            | MicrophoneEvent::Lost { .. } => Brought::Other(event),
        })
    }

    /// Takes what the newest [`Brought::Pause`] brought, unless somebody has spoken on meanwhile: then it isn't all.
    pub fn take_pause(&mut self) -> bool {
        self.ahead.extend(self.events.try_iter());
        let ends = self.ahead.iter().find_map(|event| match event {
            MicrophoneEvent::Heard(Event::Utterance(_)) => Some(true),
            MicrophoneEvent::Heard(Event::Resumed | Event::CutShort(_) | Event::Discarded(_))
            | MicrophoneEvent::Lost { .. } => Some(false),
            MicrophoneEvent::Heard(Event::SpeechBegan | Event::Pause(_))
            | MicrophoneEvent::Level { .. }
            | MicrophoneEvent::Overrun { .. } => None,
        });
        if ends == Some(false) {
            return false;
        }
        self.taken = true;
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
        let voice::Played { rate_hz, samples } = played.try_recv().ok()?;
        Some(echo::Played { rate_hz, samples })
    })
}
