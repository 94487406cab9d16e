//! A job that is being written.

use crate::journal::{Hold, Journal};
use crate::{BayKey, Checkpoint, Event, JobId, RecordError, Row, sound};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
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
    /// Who signs, and when that was done last or the job was opened.
    pub(crate) key: Option<Arc<BayKey>>,
    pub(crate) signed: Moment,
}

/// So long after a signature the next one follows, with the next input. What was done in between isn't signed yet.
const SIGNED_EVERY: Duration = Duration::from_secs(60 * 60);

/// How a record ends as yet.
#[derive(Debug, Clone)]
pub(crate) enum End {
    /// With something that leads nowhere.
    Plain,
    /// With an input that the job hasn't taken.
    Unsealed(Moment),
    /// With an input; where it led to couldn't be kept yet.
    Sealed(Box<Row>),
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
        let input = Event::Input {
            input: input.clone(),
        };
        self.add(&input, at)?;
        self.end = End::Unsealed(at);
        Ok(())
    }

    /// Tells where the last input led to.
    ///
    /// # Errors
    /// Only when it can't be turned into JSON.
    pub fn seal(&mut self, reached: &Checkpoint) -> Result<(), RecordError> {
        let End::Unsealed(at) = self.end else {
            return Ok(());
        };
        let led_to = Event::LedTo(reached.clone());
        let row = Row::new(&self.job, self.next, at, &led_to, self.head.clone())?;
        // If that fails nothing is lost: replaying gives it again, and it is added before the next entry.
        match self.journal.add_soon(&row) {
            Ok(()) => {
                self.added(&row);
                self.end = End::Plain;
            }
            Err(_) => self.end = End::Sealed(Box::new(row)),
        }
        Ok(())
    }

    /// Closes the record for good, with the bay's signature where it has a key.
    ///
    /// # Errors
    /// As [`append`](Self::append).
    pub fn close(&mut self, outcome: Outcome, at: Moment) -> Result<(), RecordError> {
        self.add_and_sign(&Event::Closed { outcome }, at)?;
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

    /// Adds an entry; when an hour has gone by since the last signature, with a new one before it.
    pub(crate) fn add(&mut self, event: &Event, at: Moment) -> Result<(), RecordError> {
        // A clock that was set back begins the hour anew.
        let due = at.since(self.signed).max(self.signed.since(at)) >= SIGNED_EVERY;
        self.write(event, at, due, false)
    }

    /// Adds an entry, and the bay's signature over all up to it.
    pub(crate) fn add_and_sign(&mut self, event: &Event, at: Moment) -> Result<(), RecordError> {
        self.write(event, at, false, true)
    }

    fn write(
        &mut self,
        event: &Event,
        at: Moment,
        sign_before: bool,
        sign_after: bool,
    ) -> Result<(), RecordError> {
        let mut rows = match &self.end {
            End::Plain => Vec::new(),
            End::Sealed(led_to) => vec![Row::clone(led_to)],
            End::Unsealed(_) => {
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
        let end_of = |rows: &[Row]| match rows.last() {
            Some(row) => (row.seq + 1, row.hash.clone()),
            None => (self.next, self.head.clone()),
        };
        let sign = |rows: &mut Vec<Row>, wanted: bool| match self.key.as_ref().filter(|_| wanted) {
            Some(key) => {
                let (seq, head) = end_of(rows);
                rows.push(Row::signature(&self.job, seq, at, key, head)?);
                Ok(true)
            }
            None => Ok::<_, RecordError>(false),
        };
        let signed_before = sign(&mut rows, sign_before)?;
        let (seq, head) = end_of(&rows);
        rows.push(Row::new(&self.job, seq, at, event, head)?);
        let signed = sign(&mut rows, sign_after)? || signed_before;
        self.journal.add(&rows)?;
        if let Some(last) = rows.last() {
            self.added(last);
        }
        if signed {
            self.signed = at;
        }
        self.end = End::Plain;
        Ok(())
    }

    fn added(&mut self, row: &Row) {
        self.head.clone_from(&row.hash);
        self.next = row.seq + 1;
    }
}
