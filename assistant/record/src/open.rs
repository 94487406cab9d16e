//! A job that is being written.

use crate::chain::json;
use crate::journal::{Hold, Journal};
use crate::{Checkpoint, Event, JobId, RecordError, Row, sound};
use std::path::PathBuf;
use std::sync::Arc;
use steps::{Input, Moment, Outcome};

/// The sole right to write one job's record. Dropping it puts the job down; it can be taken up again.
#[derive(Debug)]
pub struct OpenJob {
    pub(crate) journal: Arc<dyn Journal>,
    pub(crate) hold: Box<dyn Hold>,
    pub(crate) folder: PathBuf,
    pub(crate) job: JobId,
    /// Number of the entry to come.
    pub(crate) next: u64,
    /// Hash of the last one.
    pub(crate) head: String,
    pub(crate) end: End,
}

/// How a record ends as yet.
#[derive(Debug, Clone)]
pub(crate) enum End {
    /// With something that leads nowhere: the opening.
    Plain,
    /// With an input that the job hasn't taken.
    Unsealed,
    /// With an input, and where it led to, as JSON.
    Sealed(String),
    /// For good.
    Closed,
}

impl OpenJob {
    /// The job's name.
    pub fn id(&self) -> &JobId {
        &self.job
    }

    /// How many entries the record has.
    pub fn entries(&self) -> u64 {
        self.next
    }

    /// The newest entry's hash: whoever keeps it elsewhere can prove that nothing was changed since.
    pub fn head(&self) -> &str {
        &self.head
    }

    /// Adds an input. It is on disk when this returns, and only then may the job take it; then tell where
    /// that led to with [`seal`](Self::seal). Times may run backwards, as clocks do that are set.
    ///
    /// # Errors
    /// When it can't be written: nothing was added then, and it can be tried again. When the job is closed,
    /// or the input before wasn't sealed.
    pub fn append(&mut self, input: &Input, at: Moment) -> Result<(), RecordError> {
        self.add(
            &Event::Input {
                input: input.clone(),
            },
            at,
        )?;
        self.end = End::Unsealed;
        Ok(())
    }

    /// Tells where the last input led to. The next entry holds it, in the chain.
    ///
    /// # Errors
    /// Only when it can't be turned into JSON.
    pub fn seal(&mut self, reached: &Checkpoint) -> Result<(), RecordError> {
        if matches!(self.end, End::Closed) {
            return Ok(());
        }
        let text = json(reached)?;
        // Kept at once, so that a record that ends here can be checked to its end. If that fails nothing
        // is lost: replaying gives it again, and the next entry, which can't go missing, holds it.
        let _ = self
            .journal
            .reached(&self.job, self.next.saturating_sub(1), &text);
        self.end = End::Sealed(text);
        Ok(())
    }

    /// Closes the record for good.
    ///
    /// # Errors
    /// As [`append`](Self::append).
    pub fn close(&mut self, outcome: Outcome, at: Moment) -> Result<(), RecordError> {
        self.add(&Event::Closed { outcome }, at)?;
        self.end = End::Closed;
        self.hold.done();
        Ok(())
    }

    /// Keeps a sound as evidence, and gives the path to name in the input, from the records' folder. `sound`
    /// is one channel at 16 kHz, −1 to 1; it is kept with 16 bits. `what` says what it is in a word or two:
    /// "gate", "note". It is on disk when this returns. Its SHA-256 stands in its name, so the input that
    /// names it proves it.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn keep_sound(&self, sound: &[f32], what: &str) -> Result<String, RecordError> {
        sound::keep(&self.folder, &self.job, sound, what)
    }

    pub(crate) fn add(&mut self, event: &Event, at: Moment) -> Result<(), RecordError> {
        let reached = match &self.end {
            End::Plain => String::new(),
            End::Sealed(reached) => reached.clone(),
            End::Unsealed => {
                return Err(RecordError::Unsealed {
                    job: self.job.clone(),
                    seq: self.next.saturating_sub(1),
                });
            }
            End::Closed => {
                return Err(RecordError::Closed {
                    job: self.job.clone(),
                });
            }
        };
        let row = Row::new(&self.job, self.next, at, event, reached, self.head.clone())?;
        self.journal.add(&row)?;
        self.head = row.hash;
        self.next += 1;
        self.end = End::Plain;
        Ok(())
    }
}
