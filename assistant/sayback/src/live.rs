//! A conversation from a microphone, in real time.

mod answer;
mod listener;
mod trust;

pub use listener::{Brought, Duplex, EARLY, Level, Listener, Setup, Stretch};
pub use trust::{HalfDuplex, trust_over_playback};

use crate::conversation::{Allowed, Asked, Conversation, ConversationError, Trust, now};
use crate::hearing::Understood;
use answer::Answer;
use crossbeam_channel::after;
use ears::sound::microphone::MicrophoneError;
use std::time::Duration;
use steps::{Beside, Input};

/// How often a lost microphone is tried again.
const TRY_AGAIN: Duration = Duration::from_secs(2);

/// How long the loop waits at most before it looks at everything else.
const LOOK: Duration = Duration::from_millis(100);

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
    Level(Level),
}

/// What was made of an utterance before it was certain that it was all.
struct Considered {
    understood: Understood,
    seconds: f32,
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
    setup: &Setup<'_>,
    asked: &Asked,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<(), LiveError> {
    let mut listener = Listener::open(setup, conversation.voice())?;
    tell(Notice::Listening(listener.name()));
    let mut considered = None;
    let mut answer = None;
    while conversation.job().outcome().is_none() {
        if conversation.attend(asked) {
            listener.answered(conversation.voice().is_speaking());
        }
        if let Some(told) = Answer::told(&mut answer, conversation.voice()) {
            told.trace();
        }
        if let Some(presses) = setup.presses
            && presses.try_iter().count() > 0
        {
            conversation.pressed()?;
            considered = None;
        }
        if conversation.doze()? {
            considered = None;
        }
        listener.set_hang_over(conversation.patience());
        let wait = conversation
            .wake()
            .map_or(LOOK, |at| at.since(now()).min(LOOK));
        let Some(brought) = listener.next(conversation.voice(), wait) else {
            if conversation.wake().is_some_and(|at| at <= now()) {
                conversation.take(Input::Woke)?;
                considered = None;
            }
            continue;
        };
        match brought {
            Brought::Pause(speech) => {
                considered = consider(conversation, &mut listener, speech, &mut answer)?;
            }
            Brought::Began | Brought::SpokeOn | Brought::Nothing => considered = None,
            Brought::Utterance(Stretch {
                utterance,
                trust,
                at,
            }) => {
                let understood = considered
                    .take()
                    .filter(|it| conversation.still_holds(&it.understood))
                    .filter(|it| it.seconds <= utterance.seconds())
                    .map(|it| it.understood);
                let speaking = conversation.voice().is_speaking();
                let mut timing = Answer::after(conversation.patience(), at);
                let judged = match understood {
                    Some(judged) => Some(judged),
                    None => conversation.judge(&utterance)?,
                };
                timing.judged();
                if let Some(understood) = judged {
                    conversation.take_heard(understood, &utterance, &trust)?;
                    let timing = timing.taken();
                    timing.trace_hush(speaking, conversation.voice());
                    answer = Some(timing);
                }
                listener.answered(speaking || conversation.voice().is_speaking());
            }
            // A piece of talk without a pause: only "stop" is looked for in it.
            Brought::Piece(utterance) => {
                considered = None;
                conversation.hear(&utterance, &Trust::OnlyStop)?;
            }
            Brought::Level(level) => tell(Notice::Level(level)),
            Brought::Overrun(frames) => tell(Notice::Overrun(frames)),
            Brought::Lost { reason } => {
                considered = None;
                tell(Notice::Lost(&reason));
                conversation.tell(Beside::CannotHear);
                drop(listener);
                listener = loop {
                    // The job holds meanwhile; a wait that ends is still told.
                    let _ = after(TRY_AGAIN).recv();
                    conversation.attend(asked);
                    if conversation.wake().is_some_and(|at| at <= now()) {
                        conversation.take(Input::Woke)?;
                    }
                    if let Ok(opened) = Listener::open(setup, conversation.voice()) {
                        break opened;
                    }
                };
                tell(Notice::Listening(listener.name()));
                conversation.tell(Beside::HearsAgain);
            }
        }
    }
    conversation.voice().wait();
    Ok(())
}

/// Listens to what was said until a pause. What can't go on is taken at once; what may is kept until it is certain that
/// it was all.
fn consider(
    conversation: &mut Conversation<'_>,
    listener: &mut Listener,
    Stretch {
        utterance,
        trust,
        at,
    }: Stretch,
    answer: &mut Option<Answer>,
) -> Result<Option<Considered>, ConversationError> {
    let speaking = conversation.voice().is_speaking();
    let mut timing = Answer::after(listener.early(), at);
    let Some(understood) = conversation.glimpse(&utterance) else {
        return Ok(None);
    };
    timing.judged();
    // What counts for nothing yet may be clearer at its end.
    if conversation.allows(&trust, &understood) != Allowed::Counts {
        return Ok(None);
    }
    if conversation.is_conclusive(&understood) && listener.take_pause() {
        conversation.take_heard(understood, &utterance, &trust)?;
        let timing = timing.taken();
        timing.trace_hush(speaking, conversation.voice());
        *answer = Some(timing);
        listener.answered(speaking || conversation.voice().is_speaking());
        return Ok(None);
    }
    Ok(Some(Considered {
        understood,
        seconds: utterance.seconds(),
    }))
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
