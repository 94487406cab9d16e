//! A record that is whole, for whoever reads more out of it than its lines.

use crate::{Archive, Event, JobId, Line, RecordError};
use steps::{Id, Mode, Moment};

/// All that a job's journal holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WholeRecord {
    /// The job.
    pub job: JobId,
    /// The procedure.
    pub procedure: Id,
    /// Work, a rehearsal, or recordings.
    pub mode: Mode,
    /// Its entries, in order, and when each was made.
    pub events: Vec<(Moment, Event)>,
    /// What was put on the record, each with the number of the entry that led to it.
    pub lines: Vec<Line>,
}

impl Archive {
    /// All that a job's journal holds.
    ///
    /// # Errors
    /// When there is no such job, or its record isn't whole.
    pub fn whole(&self, id: &JobId) -> Result<WholeRecord, RecordError> {
        let past = self.past(id)?;
        if let Some((seq, fault)) = past.fault {
            return Err(RecordError::NotWhole {
                job: id.clone(),
                seq,
                fault,
            });
        }
        Ok(WholeRecord {
            lines: past.lines(),
            job: past.job,
            procedure: past.opening.procedure,
            mode: past.opening.settings.mode,
            events: past
                .entries
                .into_iter()
                .map(|told| (told.at, told.event))
                .collect(),
        })
    }
}
