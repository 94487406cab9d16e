//! A job and its record, in step.

use crate::{Archive, Checkpoint, Event, IfChanged, JobId, KeptPhoto, Line, OpenJob, RecordError};
use std::sync::Arc;
use steps::{Effect, Heard, Input, Job, Moment, Procedure, Settings};

/// A job that takes nothing before it is on disk.
#[derive(Debug)]
pub struct JournaledJob {
    job: Job,
    open: OpenJob,
    /// Whether the closing entry still has to be written.
    to_close: bool,
}

/// A job taken up again, with what it says about that.
#[derive(Debug)]
pub struct WorkedAgain {
    /// The job.
    pub worked: JournaledJob,
    /// What it answers to being taken up.
    pub effects: Vec<Effect>,
    /// What was on its record before.
    pub lines: Vec<Line>,
    /// Whether it goes on by a changed procedure. Say so aloud before the effects.
    pub changed: bool,
}

impl JournaledJob {
    /// Opens a new job. The effects are those of [`Input::Begin`].
    ///
    /// # Errors
    /// As [`Archive::begin`].
    pub fn begin(
        archive: &Archive,
        procedure: Arc<Procedure>,
        settings: Settings,
        now: Moment,
    ) -> Result<(Self, Vec<Effect>), RecordError> {
        let open = archive.begin(&procedure, settings.clone(), now)?;
        let mut worked = Self {
            job: Job::new(procedure, settings),
            open,
            to_close: false,
        };
        let effects = worked.take(Input::Begin, now)?;
        Ok((worked, effects))
    }

    /// Takes a job up again. The effects are those of [`Input::Resumed`].
    ///
    /// # Errors
    /// As [`Archive::resume`].
    pub fn resume(
        archive: &Archive,
        id: &JobId,
        procedure: Arc<Procedure>,
        if_changed: IfChanged,
        now: Moment,
    ) -> Result<WorkedAgain, RecordError> {
        let taken_up = archive.resume(id, procedure, if_changed, now)?;
        let mut worked = Self {
            job: taken_up.job,
            open: taken_up.open,
            to_close: false,
        };
        // A program that ended right after opening the job never began it.
        let first = if taken_up.begun {
            Input::Resumed
        } else {
            Input::Begin
        };
        let effects = worked.take(first, now)?;
        Ok(WorkedAgain {
            worked,
            effects,
            lines: taken_up.lines,
            changed: taken_up.changed,
        })
    }

    /// Puts an input on disk, lets the job take it, and gives what is to be done. A job that is closed takes
    /// nothing and answers nothing.
    ///
    /// # Errors
    /// When it can't be recorded: then the job hasn't taken it, and stands where it stood. Say so, and hold.
    pub fn take(&mut self, input: Input, now: Moment) -> Result<Vec<Effect>, RecordError> {
        if self.job.outcome().is_some() {
            self.close(now);
            return Ok(Vec::new());
        }
        self.open.append(&input, now)?;
        let effects = self.job.take(input, now);
        self.open.seal(&Checkpoint::by(&self.job, &effects))?;
        if self.job.outcome().is_some() {
            self.to_close = true;
            self.close(now);
        }
        Ok(effects)
    }

    /// Puts a photo on the record, that was kept for a note of this job. The job notices nothing of it.
    ///
    /// # Errors
    /// When it can't be recorded, and when it was kept for another job. After the closing see [`Archive::attach`].
    pub fn attach(&mut self, kept: KeptPhoto, now: Moment) -> Result<(), RecordError> {
        let KeptPhoto { job, note, photo } = kept;
        if job != *self.open.id() {
            return Err(RecordError::NoSuchJob { job });
        }
        let attached = Event::Attached {
            photo,
            note: Some(note),
        };
        self.open.add(&attached, now)
    }

    /// Puts on the record what was heard and counted for nothing. The job notices nothing of it.
    ///
    /// # Errors
    /// When it can't be recorded.
    pub fn unheeded(&mut self, heard: Heard, now: Moment) -> Result<(), RecordError> {
        self.open.add(&Event::Unheeded { heard }, now)
    }

    /// Writes the closing entry. The input that closed the job is on disk, so when this fails nothing is
    /// lost: it is tried again with the next input, and when the job is looked for to be taken up.
    fn close(&mut self, now: Moment) {
        if let (true, Some(outcome)) = (self.to_close, self.job.outcome()) {
            self.to_close = self.open.close(outcome, now).is_err();
        }
    }

    /// The job as it stands.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Its name in the records.
    pub fn id(&self) -> &JobId {
        self.open.id()
    }

    /// The newest entry's hash.
    pub fn head(&self) -> &str {
        self.open.head()
    }

    /// Keeps a sound before the input that names it is taken; see [`OpenJob::keep_sound`].
    ///
    /// # Errors
    /// When it can't be written.
    pub fn keep_sound(&self, sound: &[f32], what: &str) -> Result<String, RecordError> {
        self.open.keep_sound(sound, what)
    }
}
