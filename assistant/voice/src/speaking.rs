//! Whether something is being spoken, kept by ourselves: an engine's own answer is false right after it
//! was told to speak, and stays true for ever when the engine dies.

use std::collections::VecDeque;
use std::time::{Duration, Instant};

use crate::WordsPerMinute;

/// A sentence that is spoken or waits.
#[derive(Debug)]
struct Pending {
    id: u64,
    /// When it will have been spoken at the latest: after that its end is taken as missed.
    overdue_at: Instant,
}

/// The sentences that were handed to the engine and haven't ended.
#[derive(Debug, Default)]
pub struct Speaking {
    pending: VecDeque<Pending>,
    /// Ends that arrived before the engine's number of the sentence was known here.
    ended_early: Vec<u64>,
}

impl Speaking {
    /// A sentence was handed over.
    pub fn began(&mut self, id: u64, estimate: Duration, now: Instant) {
        if let Some(place) = self.ended_early.iter().position(|&ended| ended == id) {
            self.ended_early.swap_remove(place);
            return;
        }
        let starts = self
            .pending
            .back()
            .map_or(now, |last| last.overdue_at.max(now));
        self.pending.push_back(Pending {
            id,
            overdue_at: starts + overdue_after(estimate),
        });
    }

    /// The engine says that a sentence ended or was cut off.
    pub fn ended(&mut self, id: u64) {
        match self.pending.iter().position(|pending| pending.id == id) {
            // The engine speaks in order: those before it have ended as well.
            Some(place) => drop(self.pending.drain(..=place)),
            None => {
                // Those of stopped sentences come late and mean nothing; keep the few newest.
                if self.ended_early.len() == 16 {
                    self.ended_early.remove(0);
                }
                self.ended_early.push(id);
            }
        }
    }

    /// All was stopped.
    pub fn stopped(&mut self) {
        self.pending.clear();
    }

    /// Whether something is being spoken.
    pub fn is_on(&self, now: Instant) -> bool {
        self.pending
            .back()
            .is_some_and(|last| now < last.overdue_at)
    }

    /// Whether an end was missed since this was last asked: the engine may be dead.
    pub fn missed_an_end(&mut self, now: Instant) -> bool {
        let before = self.pending.len();
        self.pending.retain(|pending| now < pending.overdue_at);
        self.pending.len() < before
    }
}

/// How long a text takes to speak: 5.5 letters and spaces a word (common practice, no source).
pub fn estimate(text: &str, rate: WordsPerMinute) -> Duration {
    let words = text.chars().count() as f64 / 5.5;
    Duration::from_secs_f64(0.3 + words * 60.0 / f64::from(rate.words()))
}

/// Estimates are rough, and the end is reported about 0.3 s late.
fn overdue_after(estimate: Duration) -> Duration {
    estimate * 2 + Duration::from_secs(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND: Duration = Duration::from_secs(1);

    #[test]
    fn it_speaks_from_the_handing_over_to_the_last_end() {
        let (mut speaking, now) = (Speaking::default(), Instant::now());
        assert!(!speaking.is_on(now));
        speaking.began(1, SECOND, now);
        speaking.began(2, SECOND, now);
        assert!(speaking.is_on(now));
        speaking.ended(1);
        assert!(speaking.is_on(now));
        speaking.ended(2);
        assert!(!speaking.is_on(now));
        assert!(!speaking.missed_an_end(now));
    }

    #[test]
    fn an_end_that_outruns_the_handing_over_counts() {
        let (mut speaking, now) = (Speaking::default(), Instant::now());
        speaking.ended(7);
        speaking.began(7, SECOND, now);
        assert!(!speaking.is_on(now));
    }

    #[test]
    fn an_end_that_never_comes_is_missed_not_waited_for() {
        let (mut speaking, now) = (Speaking::default(), Instant::now());
        speaking.began(1, SECOND, now);
        assert!(speaking.is_on(now + SECOND));
        assert!(!speaking.is_on(now + 5 * SECOND));
        assert!(speaking.missed_an_end(now + 5 * SECOND));
        assert!(!speaking.missed_an_end(now + 5 * SECOND));
    }

    #[test]
    fn late_ends_of_stopped_sentences_change_nothing() {
        let (mut speaking, now) = (Speaking::default(), Instant::now());
        speaking.began(1, SECOND, now);
        speaking.stopped();
        speaking.began(2, SECOND, now);
        speaking.ended(1);
        assert!(speaking.is_on(now));
    }
}
