//! What the list of jobs tells of a job that stands only inside its record.

use record::{Archive, JobId, JobSummary, WaitingFor};
use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use steps::{Entry, Moment};

/// A job's vehicle, and who had it last, where the record says so.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Particulars {
    pub vehicle: Option<String>,
    pub by: Option<String>,
    pub waiting: Option<WaitingFor>,
}

impl Particulars {
    pub fn of<'a>(lines: impl DoubleEndedIterator<Item = (Moment, &'a Entry)> + Clone) -> Self {
        let entries = || lines.clone().map(|(_, entry)| entry);
        Self {
            waiting: WaitingFor::of(lines.clone()),
            vehicle: entries().find_map(|entry| match entry {
                Entry::Opened { vehicle, .. } if !vehicle.is_empty() => Some(vehicle.clone()),
                _other => None,
            }),
            by: entries().rev().find_map(|entry| match entry {
                Entry::WorkedBy { person } | Entry::TakenOver { person, .. } => {
                    Some(person.clone())
                }
                _other => None,
            }),
        }
    }
}

/// The particulars of the jobs that were listed so far. Reading a record takes a while, so it is done again only for a
/// job that has grown since.
#[derive(Debug, Default)]
pub(crate) struct KnownParticulars(Mutex<HashMap<JobId, (Moment, Particulars)>>);

impl KnownParticulars {
    /// Those of one job; none of a record that isn't whole. Nothing is replayed for a list.
    pub fn of(&self, records: &Archive, job: &JobSummary) -> Particulars {
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((last, particulars)) = known().get(&job.id)
            && *last == job.last
        {
            return particulars.clone();
        }
        let particulars = records
            .whole(&job.id)
            .map(|record| Particulars::of(record.lines.iter().map(|line| (line.at, &line.entry))))
            .unwrap_or_default();
        known().insert(job.id.clone(), (job.last, particulars.clone()));
        particulars
    }
}
