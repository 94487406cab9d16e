//! A conversation from a microphone, in real time.

use crate::conversation::{Asked, Conversation, ConversationError, now};
use crossbeam_channel::{RecvTimeoutError, after};
use ears::sound::endpoint::Event;
use ears::sound::microphone::{Microphone, MicrophoneError, MicrophoneEvent};
use std::time::{Duration, Instant};
use steps::Input;

/// How long after the assistant fell silent its voice may still be in the room.
const TAIL: Duration = Duration::from_millis(300);

/// How often a lost microphone is tried again.
const TRY_AGAIN: Duration = Duration::from_secs(2);

/// What the loop tells besides the conversation itself.
#[derive(Debug)]
pub enum Notice<'a> {
    /// The microphone that is listened to.
    Listening(&'a str),
    /// It is gone; it is tried again until it is back.
    Lost(&'a str),
    /// Sound was lost because this program was late.
    Overrun(u64),
    /// How loud it is.
    Level {
        /// Root mean square in decibels of full scale.
        rms_dbfs: f32,
        /// Whether somebody speaks.
        speech: bool,
        /// How loud it is when nobody speaks, once that is known.
        noise_dbfs: Option<f32>,
    },
}

/// Whether what the microphone brings may be the assistant's own voice.
#[derive(Debug)]
pub struct OwnVoice {
    spoke_until: Instant,
    /// The stretch of speech that is going on began in it.
    began_in_it: bool,
    /// Events that waited while an utterance was judged and the assistant spoke: whose voice they hold
    /// can't be told any more.
    distrusted: usize,
}

impl Default for OwnVoice {
    fn default() -> Self {
        Self {
            spoke_until: Instant::now(),
            began_in_it: false,
            distrusted: 0,
        }
    }
}

impl OwnVoice {
    /// To be told as often as possible whether the assistant speaks.
    pub fn speaks(&mut self, speaking: bool) {
        if speaking {
            self.spoke_until = Instant::now();
        }
    }

    /// Whether this event, the next one taken, may be of the assistant's own voice.
    pub fn is_in(&mut self, event: &MicrophoneEvent) -> bool {
        let waited = self.distrusted > 0;
        self.distrusted = self.distrusted.saturating_sub(1);
        let echoes = waited || self.spoke_until.elapsed() < TAIL;
        if matches!(event, MicrophoneEvent::Heard(Event::SpeechBegan)) {
            self.began_in_it = echoes;
        }
        echoes || self.began_in_it
    }

    /// An utterance was judged and answered; so many events waited meanwhile.
    pub fn answered(&mut self, spoke: bool, waiting: usize) {
        if spoke {
            self.spoke_until = Instant::now();
            self.distrusted = waiting;
        }
    }
}

/// Works a job from the microphone until it is closed.
///
/// The job holds while the microphone is gone; it is opened again as soon as it is back. What viewers `asked` for
/// is done between two events.
///
/// # Errors
/// When no microphone can be opened at the start, or the conversation can't go on.
pub fn work(
    conversation: &mut Conversation<'_>,
    device: Option<&str>,
    asked: &Asked,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<(), LiveError> {
    let (mut microphone, mut events) = Microphone::open(device)?;
    tell(Notice::Listening(microphone.name()));
    let mut own_voice = OwnVoice::default();
    while conversation.job().outcome().is_none() {
        if conversation.attend(asked) {
            own_voice.answered(conversation.voice().is_speaking(), events.len());
        }
        own_voice.speaks(conversation.voice().is_speaking());
        let wait = conversation
            .wake()
            .map_or(Duration::from_millis(100), |at| {
                at.since(now()).min(Duration::from_millis(100))
            });
        let event = match events.recv_timeout(wait) {
            Ok(event) => event,
            Err(RecvTimeoutError::Timeout) => {
                if conversation.wake().is_some_and(|at| at <= now()) {
                    conversation.take(Input::Woke)?;
                }
                continue;
            }
            Err(RecvTimeoutError::Disconnected) => MicrophoneEvent::Lost {
                reason: "its thread ended".to_owned(),
            },
        };
        let ours = own_voice.is_in(&event);
        match event {
            MicrophoneEvent::Heard(Event::Utterance(utterance)) => {
                let speaking = conversation.voice().is_speaking();
                conversation.hear(&utterance, ours || speaking)?;
                own_voice.answered(speaking || conversation.voice().is_speaking(), events.len());
            }
            // A piece of talk without a pause: only "stop" is looked for in it.
            MicrophoneEvent::Heard(Event::CutShort(utterance)) => {
                conversation.hear(&utterance, true)?;
            }
            MicrophoneEvent::Heard(Event::SpeechBegan | Event::Discarded(_)) => {}
            MicrophoneEvent::Level {
                rms_dbfs,
                speech,
                noise_dbfs,
            } => tell(Notice::Level {
                rms_dbfs,
                speech,
                noise_dbfs,
            }),
            MicrophoneEvent::Overrun { frames, at_device } => {
                tell(Notice::Overrun(frames + at_device))
            }
            MicrophoneEvent::Lost { reason } => {
                tell(Notice::Lost(&reason));
                conversation.tell("I can't hear you. I hold.");
                drop(microphone);
                (microphone, events) = loop {
                    // The job holds meanwhile; a wait that ends is still told.
                    let _ = after(TRY_AGAIN).recv();
                    conversation.attend(asked);
                    if conversation.wake().is_some_and(|at| at <= now()) {
                        conversation.take(Input::Woke)?;
                    }
                    if let Ok(opened) = Microphone::open(device) {
                        break opened;
                    }
                };
                tell(Notice::Listening(microphone.name()));
                conversation.tell("I hear you again.");
            }
        }
    }
    conversation.voice().wait();
    Ok(())
}

/// Why a job can't be worked from the microphone.
#[derive(Debug, thiserror::Error)]
pub enum LiveError {
    /// No microphone.
    #[error(transparent)]
    Microphone(#[from] MicrophoneError),
    /// The conversation can't go on.
    #[error(transparent)]
    Conversation(#[from] ConversationError),
}
