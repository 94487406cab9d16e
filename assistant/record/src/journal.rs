//! What keeps entries.

use crate::{JobId, RecordError, Row};

/// Where entries are kept, and only ever added. The one behind it now is a file in a folder,
/// [`sqlite::Records`](crate::sqlite::Records); a server's database can stand in its place.
pub trait Journal: Send + Sync + std::fmt::Debug {
    /// Adds entries of one job that follow one another, all or none, and takes the last one for the job's end. They are on
    /// disk when this returns, and not there at all when this fails.
    ///
    /// # Errors
    /// When they can't be written, or the job has an entry of such a number already.
    fn add(&self, rows: &[Row]) -> Result<(), RecordError>;

    /// The same for one entry that follows from the one before it: it need not outlive a power cut, but then nothing may
    /// that was added later.
    ///
    /// # Errors
    /// As [`add`](Self::add).
    fn add_soon(&self, row: &Row) -> Result<(), RecordError>;

    /// Whether there is a job of this name.
    ///
    /// # Errors
    /// When the journal can't be read.
    fn has(&self, job: &JobId) -> Result<bool, RecordError>;

    /// The number and hash of a job's last entry, as they were kept beside the entries. `None` where none were kept, as in a
    /// journal of the first format.
    ///
    /// # Errors
    /// When they can't be read, or the journal has them for other jobs and not for this one.
    fn end(&self, job: &JobId) -> Result<Option<(u64, String)>, RecordError>;

    /// All entries of a job, in order, as far as they can be read, and why not further.
    ///
    /// # Errors
    /// When the journal can't be read at all.
    fn rows(&self, job: &JobId) -> Result<(Vec<Row>, Option<RecordError>), RecordError>;

    /// The first entry of each job on this page of the list, the newest entry's time, and the closing entry where there is
    /// one; the newest job first.
    ///
    /// # Errors
    /// When they can't be read.
    fn jobs(&self, page: &ListPage) -> Result<Vec<Ends>, RecordError>;

    /// Keeps everybody else from writing this job until the hold is dropped or its process is gone.
    ///
    /// # Errors
    /// [`RecordError::InUse`] when someone else writes it.
    fn hold(&self, job: &JobId) -> Result<Box<dyn Hold>, RecordError>;
}

/// The sole right to write a job.
pub trait Hold: Send + std::fmt::Debug {
    /// The job is closed and nobody will write it again: what the hold stood on may go.
    fn done(&mut self);
}

/// A part of the list of jobs; all of it by default.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ListPage {
    /// Only jobs that come after this one in the list: to go on where another page ended.
    pub after: Option<JobId>,
    /// Only jobs opened before this.
    pub before: Option<steps::Moment>,
    /// How many at most.
    pub most: Option<usize>,
}

impl ListPage {
    /// This page of a list that lies in memory, the newest job first.
    pub fn of<T>(&self, all: Vec<T>, job: impl Fn(&T) -> (&JobId, steps::Moment)) -> Vec<T> {
        // By its place in the list and not by its time: several jobs may have been opened in one millisecond.
        let skipped = self.after.as_ref().map_or(0, |after| {
            let place = all.iter().position(|it| job(it).0 == after);
            place.map_or(all.len(), |place| place + 1)
        });
        let is_before = |it: &T| self.before.is_none_or(|before| job(it).1 < before);
        let rest = all.into_iter().skip(skipped).filter(is_before);
        rest.take(self.most.unwrap_or(usize::MAX)).collect()
    }
}

/// A job's two ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ends {
    /// The first entry.
    pub first: Row,
    /// When the newest entry was made.
    pub last: steps::Moment,
    /// The [`Event::Closed`](crate::Event::Closed) entry's event, as JSON.
    pub closed: Option<String>,
}
