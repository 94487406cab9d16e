//! How long an answer takes, and where the time goes.

use std::time::{Duration, Instant};
use voice::Voice;

/// An answer that is on its way. Once it sounds, [`trace`](Answer::trace) tells what it took.
#[derive(Debug, Clone, Copy)]
pub struct Answer {
    /// The silence that was waited for.
    end_pointing: Duration,
    begun: Instant,
    /// Until it was known what was said; the wait for another judgement counts.
    decoding: Duration,
    /// Until the record was written and the job had answered.
    engine: Duration,
    /// Until the first sample was given to the sound device.
    voice: Option<Duration>,
}

/// An answer that hasn't sounded after this was none: a note is taken silently.
const SILENT: Duration = Duration::from_secs(3);

impl Answer {
    /// To something after which there was so much silence at this time.
    pub fn after(end_pointing: Duration, at: Instant) -> Self {
        Self {
            end_pointing,
            begun: at,
            decoding: Duration::ZERO,
            engine: Duration::ZERO,
            voice: None,
        }
    }

    /// It is known what was said.
    pub fn judged(&mut self) {
        self.decoding = self.begun.elapsed();
    }

    /// The job has answered.
    #[must_use]
    pub fn taken(mut self) -> Self {
        self.engine = self.begun.elapsed() - self.decoding;
        self
    }

    /// The answer that waits, once it sounds.
    pub fn told(waiting: &mut Option<Self>, voice: &dyn Voice) -> Option<Self> {
        let answer = waiting.as_mut()?;
        let taken = answer.begun + answer.decoding;
        let sounds = voice.began().filter(|began| *began >= taken);
        let Some(sounds) = sounds else {
            if answer.begun.elapsed() > SILENT {
                *waiting = None;
            }
            return None;
        };
        let before = answer.begun + answer.decoding + answer.engine;
        answer.voice = Some(sounds.saturating_duration_since(before));
        waiting.take()
    }

    /// Where the assistant spoke and fell silent by it: tells how long that took, in milliseconds, as an event of the target
    /// `answer`. The sound device still plays what it has.
    pub fn trace_hush(&self, spoke: bool, voice: &dyn Voice) {
        if spoke && !voice.is_speaking() {
            tracing::debug!(target: "answer", hushed = milliseconds(self.begun.elapsed()));
        }
    }

    /// Tells the parts, in milliseconds, as an event of the target `answer`.
    pub fn trace(&self) {
        let voice = self.voice.unwrap_or_default();
        tracing::debug!(
            target: "answer",
            end_pointing = milliseconds(self.end_pointing),
            decoding = milliseconds(self.decoding),
            engine = milliseconds(self.engine),
            voice = milliseconds(voice),
        );
    }
}

fn milliseconds(time: Duration) -> f64 {
    time.as_secs_f64() * 1_000.0
}
