//! Recordings as a source of sound: they pass through the same end-pointer as the microphone's.

use super::source::{SoundEvent, Source, TurnTaking};
use super::trust::Trust;
use ears::sound::SAMPLE_RATE;
use ears::sound::endpoint::{EndPointer, Event, Patience, Settings};
use std::collections::VecDeque;
use std::time::{Duration, Instant};
use steps::CORRECTION_WINDOW;
use voice::Voice;

/// Samples that are pushed at once: 16 ms.
const CHUNK: usize = 256;

/// Whoever made the recordings waits after each one for the answer, and until a correction is no longer listened for.
const BETWEEN: Duration = CORRECTION_WINDOW.saturating_add(Duration::from_secs(1));

/// Recordings, played one after the other.
pub struct Recordings {
    /// 16 kHz mono.
    clips: VecDeque<Vec<f32>>,
    /// How much of the first has been played.
    at: usize,
    /// Whether the first one's last sound was looked at.
    ended: bool,
    /// How much longer it is waited before the next one.
    waits: Duration,
    end_pointer: EndPointer,
    noticed: VecDeque<Event>,
    turn_taking: TurnTaking,
    /// Time of all sound so far, and what was asked for of it.
    played: Duration,
    asked_for: Duration,
}

impl Recordings {
    /// Plays these, 16 kHz mono; the end-pointer tells of pauses this early.
    pub fn new(clips: impl IntoIterator<Item = Vec<f32>>, early: Option<Duration>) -> Self {
        let settings = Settings {
            early,
            ..Settings::default()
        };
        Self {
            clips: clips.into_iter().collect(),
            at: 0,
            ended: false,
            waits: Duration::ZERO,
            end_pointer: EndPointer::new(settings),
            noticed: VecDeque::new(),
            turn_taking: TurnTaking::new(Patience {
                command: settings.command,
                turn: settings.hang_over,
            }),
            played: Duration::ZERO,
            asked_for: Duration::ZERO,
        }
    }
}

impl Source for Recordings {
    fn set_patience(&mut self, patience: Patience) {
        self.end_pointer.set_patience(patience);
        self.turn_taking.set_patience(patience);
    }

    fn next(&mut self, _voice: &dyn Voice, wait: Duration) -> Option<SoundEvent> {
        let until = self.played + wait;
        loop {
            while let Some(event) = self.noticed.pop_front() {
                let whole = |_: &_| Trust::Whole;
                let brought = self
                    .turn_taking
                    .bring(event, self.played, Instant::now(), whole);
                if brought.is_some() {
                    return brought;
                }
            }
            if self.played >= until && wait > Duration::ZERO {
                return None;
            }
            if !self.waits.is_zero() {
                let passes = self.waits.min(wait);
                self.waits -= passes;
                self.played += passes;
                return None;
            }
            let Some(clip) = self.clips.front() else {
                return Some(SoundEvent::Over);
            };
            if let Some(rest) = clip.get(self.at..).filter(|rest| !rest.is_empty()) {
                let chunk = &rest[..CHUNK.min(rest.len())];
                self.at += chunk.len();
                self.played += Duration::from_secs_f64(chunk.len() as f64 / f64::from(SAMPLE_RATE));
                self.noticed.extend(self.end_pointer.push(chunk));
                if wait.is_zero() && self.noticed.is_empty() {
                    return None;
                }
            } else if !self.ended {
                self.ended = true;
                self.noticed.extend(self.end_pointer.finish());
            } else {
                self.clips.pop_front();
                (self.at, self.ended, self.waits) = (0, false, BETWEEN);
                // Each recording is a source of its own.
                self.turn_taking.forget();
                return Some(SoundEvent::ClipEnded);
            }
        }
    }

    fn end_at_pause(&mut self) -> bool {
        // Nothing is pushed while it is judged, so nobody has spoken on.
        self.end_pointer.end_at_pause();
        self.turn_taking.take_at_pause();
        true
    }

    fn answered(&mut self, _speaks: bool) {}

    fn turn_taking(&mut self) -> &mut TurnTaking {
        &mut self.turn_taking
    }

    fn passed(&mut self) -> Duration {
        let passed = self.played - self.asked_for;
        self.asked_for = self.played;
        passed
    }

    fn waits_for_the_voice(&self) -> bool {
        true
    }
}
