//! Where the sound of a conversation comes from.

use super::trust::Trust;
use ears::sound::Utterance;
use ears::sound::endpoint::{Event, Patience};
use ears::turn::{Turn, Turns};
use std::time::{Duration, Instant};
use voice::Voice;

/// A source of sound: the microphone, or recordings. Both go through the same end-pointer, and what it finds becomes turns
/// in the same way ([`TurnTaking`]).
pub trait Source {
    /// From now on this much silence ends what is said.
    fn set_patience(&mut self, patience: Patience);

    /// What comes next, waited for no longer than this.
    fn next(&mut self, voice: &dyn Voice, wait: Duration) -> Option<SoundEvent>;

    /// Ends the turn at the newest [`SoundEvent::Pause`], unless somebody has spoken on meanwhile. Returns whether it ended.
    fn end_at_pause(&mut self) -> bool;

    /// Something was said, or it was judged whether to: whether the assistant speaks now.
    fn answered(&mut self, speaks: bool);

    /// How what is said becomes turns.
    fn turn_taking(&mut self) -> &mut TurnTaking;

    /// How much sound has passed since this was last asked that the clock on the wall knows nothing of.
    fn passed(&mut self) -> Duration {
        Duration::ZERO
    }

    /// Whether the sound waits while the assistant speaks, as a recording can.
    fn waits_for_the_voice(&self) -> bool {
        false
    }
}

/// What a source brings.
#[derive(Debug)]
pub enum SoundEvent {
    /// Somebody began to speak.
    Began,
    /// This was said so far, and may be all.
    Pause {
        /// What was said.
        speech: Speech,
        /// How long nobody has spoken since.
        silence: Duration,
    },
    /// It wasn't all.
    SpokeOn,
    /// It was no speech.
    Nothing,
    /// This was said.
    Turn(Speech),
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
    /// A recording has ended, and somebody waits for the answer.
    ClipEnded,
    /// There is no more sound.
    Over,
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

/// Something said.
#[derive(Debug)]
pub struct Speech {
    /// Its sound, and what was said shortly before.
    pub turn: Turn,
    /// Whose voice it may be.
    pub trust: Trust,
    /// When the sound by which its end was noticed came from the device.
    pub at: Instant,
}

/// Makes turns of what the end-pointer notices.
#[derive(Debug)]
pub struct TurnTaking {
    turns: Turns,
    patience: Patience,
    /// The newest pause: when it was noticed, and how long nobody had spoken then.
    paused: (Duration, Duration),
    /// The pause at which what is being said was taken.
    taken: Option<(Duration, Duration)>,
    /// What is being said goes on from something that was taken already.
    goes_on: bool,
}

impl TurnTaking {
    /// For a source that waits this long.
    pub fn new(patience: Patience) -> Self {
        Self {
            turns: Turns::default(),
            patience,
            paused: Default::default(),
            taken: None,
            goes_on: false,
        }
    }

    /// From now on this much silence ends what is said.
    pub fn set_patience(&mut self, patience: Patience) {
        self.patience = patience;
    }

    /// What an event of the end-pointer means, noticed when so much time of the source had passed.
    pub fn bring(
        &mut self,
        event: Event,
        now: Duration,
        at: Instant,
        trusted: impl FnOnce(&Utterance) -> Trust,
    ) -> Option<SoundEvent> {
        let goes_on = self.goes_on;
        let trust = |utterance: &Utterance| match goes_on {
            true => Trust::OnlyStop,
            false => trusted(utterance),
        };
        Some(match event {
            Event::SpeechBegan => {
                // Before what was taken would have ended by itself: it is the rest of it.
                self.goes_on = self.taken.take().is_some_and(|(paused, silence)| {
                    silence + now.saturating_sub(paused) < self.patience.turn
                });
                SoundEvent::Began
            }
            // It was taken at an earlier pause.
            Event::Pause { .. } if self.taken.is_some() => return None,
            Event::Pause { said, silence } => {
                self.paused = (now, silence);
                let trust = trust(&said);
                let turn = Turn::alone(said);
                SoundEvent::Pause {
                    speech: Speech { turn, trust, at },
                    silence,
                }
            }
            Event::Resumed => {
                self.goes_on |= self.taken.take().is_some();
                SoundEvent::SpokeOn
            }
            Event::Utterance(utterance) => match self.taken.take() {
                Some(_) => return None,
                None => {
                    let trust = trust(&utterance);
                    let turn = self.turns.take(utterance);
                    // The assistant's own voice is no talk beside what is answered to it.
                    if trust != Trust::Whole {
                        self.turns.disregard();
                    }
                    SoundEvent::Turn(Speech { turn, trust, at })
                }
            },
            Event::CutShort(utterance) => {
                if trust(&utterance) == Trust::Whole {
                    self.turns.take_piece(&utterance);
                }
                SoundEvent::Piece(utterance)
            }
            Event::Discarded(_) => SoundEvent::Nothing,
        })
    }

    /// What is being said was taken at its newest pause.
    pub fn take_at_pause(&mut self) {
        self.taken = Some(self.paused);
    }

    /// The last turn opened a gate.
    pub fn opened(&mut self) {
        self.turns.opened();
    }

    /// The last turn was a command.
    pub fn forget(&mut self) {
        self.turns.forget();
    }

    /// The last turn was nobody's talk.
    pub fn disregard(&mut self) {
        self.turns.disregard();
    }
}
