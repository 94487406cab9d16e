//! A conversation from a microphone, in real time.

use crate::conversation::{Conversation, ConversationError, now};
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
}

/// Works a job from the microphone until it is closed.
///
/// The job holds while the microphone is gone; it is opened again as soon as it is back.
///
/// # Errors
/// When no microphone can be opened at the start, or the conversation can't go on.
pub fn work(
    conversation: &mut Conversation<'_>,
    device: Option<&str>,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<(), LiveError> {
    let (mut microphone, mut events) = Microphone::open(device)?;
    tell(Notice::Listening(microphone.name()));
    let mut spoke_until = Instant::now();
    let mut began_in_own_voice = false;
    // Events that waited while an utterance was judged and the assistant spoke: whose voice they hold can't
    // be told any more.
    let mut distrusted = 0usize;
    while conversation.job().outcome().is_none() {
        if conversation.voice().is_speaking() {
            spoke_until = Instant::now();
        }
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
        let waited = distrusted > 0;
        distrusted = distrusted.saturating_sub(1);
        match event {
            MicrophoneEvent::Heard(Event::SpeechBegan) => {
                began_in_own_voice = waited || spoke_until.elapsed() < TAIL;
            }
            MicrophoneEvent::Heard(Event::Utterance(utterance)) => {
                let speaking = conversation.voice().is_speaking();
                conversation.hear(&utterance, waited || began_in_own_voice || speaking)?;
                if speaking || conversation.voice().is_speaking() {
                    spoke_until = Instant::now();
                    distrusted = events.len();
                }
            }
            // A piece of talk without a pause: only "stop" is looked for in it.
            MicrophoneEvent::Heard(Event::CutShort(utterance)) => {
                conversation.hear(&utterance, true)?;
            }
            MicrophoneEvent::Heard(Event::Discarded(_)) | MicrophoneEvent::Level { .. } => {}
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
