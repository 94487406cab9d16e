//! A conversation by sound: from the microphone in real time, or from recordings.
//!
//! Both go through [`follow`], so that what opens a gate at the vehicle and what opens it in a test is the same thing.
//!
//! # How soon does it answer?
//!
//! An utterance is judged at its first pause of 0.2 s, while more may still be said. A command that is certain and can't
//! go on is taken then, or at the end of the pause without being judged again. (“No” can go on: “no, not yet”.) Where a
//! readback, a number or an answer may be said, only “stop” is taken early, and whatever is kept as proof is judged
//! together with all that followed it.
//!
//! `cargo xtask bench answer` compares such pauses, live, and shows where the time goes. From the last word to the first
//! sound of the answer it took 445 ms in the median (p95 537, 24 answers) with the pause of 0.2 s, 611 ms (688) without
//! it, and 428 ms (591) with 0.16 s. After a “stop” over its own voice, the loudspeaker gets nothing more 72 ms after the
//! pause was noticed (24 times, 92 at most).

mod answer;
mod listener;
mod recordings;
mod source;
mod trust;

pub use ears::turn::EARLY;
pub use listener::{Duplex, Listener, Setup};
pub use recordings::Recordings;
pub use source::{Level, SoundEvent, Source, Speech};
pub use trust::{Allowed, HalfDuplex, Trust, trust_over_playback};

use crate::work::conversation::{Conversation, ConversationError};
use crate::work::hearing::{Meaning, Understood};
use crate::work::viewers::ViewerRequests;
use answer::Answer;
use crossbeam_channel::{Receiver, after};
use ears::sound::endpoint::Patience;
use ears::sound::microphone::MicrophoneError;
use ears::turn::Turn;
use std::time::Duration;
use steps::{Command, Input, SystemNotice};
use voice::Voice;

/// How often a lost microphone is tried again.
const TRY_AGAIN: Duration = Duration::from_secs(2);

/// How long the loop waits at most before it looks at everything else.
const LOOK: Duration = Duration::from_millis(100);

/// After this much talk without a pause at a gate the assistant says what it is waiting for, and then again after as long.
const TALK_GOES_ON: Duration = Duration::from_secs(15);

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
    /// What a turn was taken for.
    Heard(&'a Meaning),
}

/// What was made of a turn before it was certain that it was over.
struct Considered {
    understood: Understood,
    seconds: f32,
}

/// Why sound is no longer followed.
enum End {
    /// The job is closed.
    Closed,
    /// The microphone is gone.
    Lost(String),
    /// There is no more sound.
    Over,
}

/// Works a job from the microphone until it is closed.
///
/// The job holds while the microphone is gone; it is opened again as soon as it is back. What viewers ask for (`requests`)
/// is done between two events.
///
/// # Errors
/// When no microphone can be opened at the start, or the conversation can't go on.
pub fn work(
    conversation: &mut Conversation<'_>,
    setup: &Setup<'_>,
    requests: &ViewerRequests,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<(), LiveError> {
    let listener = Listener::open(setup, conversation.voice())?;
    Ok(work_with(conversation, listener, setup, requests, tell)?)
}

/// The same with a microphone that is open already.
///
/// # Errors
/// When the conversation can't go on.
pub fn work_with(
    conversation: &mut Conversation<'_>,
    mut listener: Listener,
    setup: &Setup<'_>,
    requests: &ViewerRequests,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<(), ConversationError> {
    loop {
        tell(Notice::Listening(listener.name()));
        match follow(conversation, &mut listener, setup.presses, requests, tell)? {
            End::Closed | End::Over => break,
            End::Lost(reason) => {
                tell(Notice::Lost(&reason));
                conversation.tell(SystemNotice::CannotHear);
                drop(listener);
                listener = loop {
                    // The job holds meanwhile; a wait that ends is still told.
                    let _ = after(TRY_AGAIN).recv();
                    conversation.attend(requests);
                    // Both are often lost together, the loudspeaker a moment later.
                    conversation.look_after_the_voice();
                    if conversation.is_due() {
                        conversation.take(Input::Woke)?;
                    }
                    if let Ok(opened) = Listener::open(setup, conversation.voice()) {
                        break opened;
                    }
                };
                conversation.tell(SystemNotice::HearsAgain);
            }
        }
    }
    conversation.voice().wait();
    Ok(())
}

/// Works a job from recordings until they are over or the job is closed: after each it is waited for the answer, and until
/// nothing can be taken back any more. The time that a recording takes passes for the job, too.
///
/// # Errors
/// When the conversation can't go on.
pub fn play(
    conversation: &mut Conversation<'_>,
    recordings: &mut Recordings,
    requests: &ViewerRequests,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<(), ConversationError> {
    follow(conversation, recordings, None, requests, tell)?;
    conversation.voice().wait();
    Ok(())
}

/// The next turn of a source, in a state that is waited in for so long. `None`: there is no more sound.
///
/// # Errors
/// Why the microphone is gone.
pub fn next_turn(
    source: &mut dyn Source,
    patience: Patience,
    voice: &mut dyn Voice,
) -> Result<Option<Speech>, String> {
    source.set_patience(patience);
    loop {
        match source.next(voice, LOOK) {
            Some(SoundEvent::Turn(speech)) => return Ok(Some(speech)),
            Some(SoundEvent::Lost { reason }) => return Err(reason),
            Some(SoundEvent::Over) => return Ok(None),
            Some(SoundEvent::Began) if source.waits_for_the_voice() => voice.wait(),
            Some(
                SoundEvent::Began
                | SoundEvent::Pause { .. }
                | SoundEvent::SpokeOn
                | SoundEvent::Nothing
                | SoundEvent::Piece(_)
                | SoundEvent::Level(_)
                | SoundEvent::Overrun(_)
                | SoundEvent::ClipEnded,
            )
            | None => {}
        }
    }
}

fn follow(
    conversation: &mut Conversation<'_>,
    source: &mut dyn Source,
    presses: Option<&Receiver<()>>,
    requests: &ViewerRequests,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<End, ConversationError> {
    let mut considered = None;
    let mut answer = None;
    // Whether somebody is in the middle of a turn: what they say may be a correction, so nothing goes on meanwhile.
    let mut in_a_turn = false;
    let mut talk_began = None;
    while conversation.job().outcome().is_none() {
        if conversation.attend(requests) {
            source.answered(conversation.voice().is_speaking());
        }
        conversation.look_after_the_voice();
        if let Some(told) = Answer::told(&mut answer, conversation.voice()) {
            told.trace();
        }
        if presses.is_some_and(|presses| presses.try_iter().count() > 0) {
            conversation.pressed()?;
            considered = None;
        }
        if conversation.doze()? {
            considered = None;
        }
        source.set_patience(conversation.patience());
        let wait = conversation
            .until_due()
            .map_or(LOOK, |due| match in_a_turn {
                true => LOOK,
                false => due.min(LOOK),
            });
        let brought = source.next(conversation.voice(), wait);
        conversation.pass(source.passed());
        let Some(brought) = brought else {
            if conversation.is_due() && !in_a_turn {
                conversation.take(Input::Woke)?;
                considered = None;
            }
            continue;
        };
        match brought {
            SoundEvent::Pause { speech, silence } => {
                let before = considered.take();
                match consider(conversation, source, speech, silence, before, tell)? {
                    Look::Nothing => {}
                    Look::Goes(on) => considered = Some(on),
                    Look::Taken(timing) => {
                        answer = Some(timing);
                        in_a_turn = false;
                        talk_began = None;
                    }
                }
            }
            SoundEvent::Began => {
                considered = None;
                in_a_turn = true;
                talk_began.get_or_insert(conversation.now());
                if source.waits_for_the_voice() {
                    conversation.voice().wait();
                }
            }
            SoundEvent::SpokeOn => considered = None,
            SoundEvent::Nothing => {
                considered = None;
                in_a_turn = false;
                talk_began = None;
            }
            SoundEvent::Turn(speech) => {
                in_a_turn = false;
                talk_began = None;
                let understood = considered
                    .take()
                    .filter(|it: &Considered| conversation.still_holds(&it.understood))
                    .filter(|it| it.seconds <= speech.turn.utterance.seconds())
                    .map(|it| it.understood);
                let mut timing = Answer::after(conversation.patience().turn, speech.at);
                let judged = match understood {
                    Some(judged) => Some(judged),
                    None => conversation.judge(&speech.turn)?,
                };
                timing.judged();
                if let Some(understood) = judged {
                    let taken = take(conversation, source, understood, &speech, timing, tell)?;
                    answer = Some(taken);
                }
            }
            // A piece of talk without a pause: only "stop" is looked for in it.
            SoundEvent::Piece(utterance) => {
                considered = None;
                in_a_turn = false;
                let turn = Turn::alone(utterance);
                if let Some(understood) = conversation.judge(&turn)? {
                    conversation.take_heard(understood, &turn, &Trust::OnlyStop)?;
                }
                let since = talk_began.get_or_insert(conversation.now());
                if conversation.now().since(*since) >= TALK_GOES_ON
                    && conversation.job().holding().is_some()
                {
                    talk_began = None;
                    conversation.tell(SystemNotice::TalkGoesOn);
                }
            }
            SoundEvent::Level(level) => tell(Notice::Level(level)),
            SoundEvent::Overrun(frames) => tell(Notice::Overrun(frames)),
            SoundEvent::Lost { reason } => return Ok(End::Lost(reason)),
            SoundEvent::ClipEnded => {
                in_a_turn = false;
                talk_began = None;
                conversation.voice().wait();
            }
            SoundEvent::Over => return Ok(End::Over),
        }
    }
    Ok(End::Closed)
}

/// Takes what was understood, and tells the source what became of it.
fn take(
    conversation: &mut Conversation<'_>,
    source: &mut dyn Source,
    understood: Understood,
    Speech { turn, trust, .. }: &Speech,
    timing: Answer,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<Answer, ConversationError> {
    let speaking = conversation.voice().is_speaking();
    let is_speech = understood.is_speech;
    let meaning = conversation.take_heard(understood, turn, trust)?;
    match &meaning {
        Meaning::Told(Command::Readback { .. }) if conversation.job().may_take_back() => {
            source.turn_taking().opened();
        }
        Meaning::Told(Command::Readback { .. }) => {}
        // What was said against a gate stays talk beside a readback that follows at once.
        Meaning::Told(Command::NotSo | Command::No) if conversation.job().holding().is_some() => {}
        Meaning::Told(_) | Meaning::Called if *trust == Trust::Whole => {
            source.turn_taking().forget();
        }
        Meaning::NotUnderstood | Meaning::Ignored if !is_speech => {
            source.turn_taking().disregard();
        }
        Meaning::Told(_) | Meaning::Called | Meaning::NotUnderstood | Meaning::Ignored => {}
    }
    tell(Notice::Heard(&meaning));
    let timing = timing.taken();
    timing.trace_hush(speaking, conversation.voice());
    source.answered(speaking || conversation.voice().is_speaking());
    Ok(timing)
}

/// What came of listening to what was said until a pause.
enum Look {
    /// Nothing yet.
    Nothing,
    /// It may be all.
    Goes(Considered),
    /// It was taken, and the turn is over.
    Taken(Answer),
}

/// Listens to what was said until a pause. What can't go on is taken at once; what may is kept until it is certain that
/// it was all.
fn consider(
    conversation: &mut Conversation<'_>,
    source: &mut dyn Source,
    speech: Speech,
    silence: Duration,
    before: Option<Considered>,
    tell: &mut dyn FnMut(Notice<'_>),
) -> Result<Look, ConversationError> {
    let seconds = speech.turn.utterance.seconds();
    let mut timing = Answer::after(silence, speech.at);
    let understood = match before {
        // At the second pause it is the same sound with a little more silence.
        Some(before) => Some(before.understood),
        None => conversation.glimpse(&speech.turn),
    };
    let Some(understood) = understood else {
        return Ok(Look::Nothing);
    };
    timing.judged();
    // What counts for nothing yet may be clearer at its end.
    if conversation.allows(&speech.trust, &understood) != Allowed::Counts {
        return Ok(Look::Nothing);
    }
    if conversation.is_conclusive(&understood, silence) && source.end_at_pause() {
        let timing = take(conversation, source, understood, &speech, timing, tell)?;
        return Ok(Look::Taken(timing));
    }
    Ok(Look::Goes(Considered {
        understood,
        seconds,
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
