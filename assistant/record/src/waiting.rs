//! Open jobs that wait for a part.

use crate::{Archive, JobSummary};
use serde::Serialize;
use steps::{Entry, Moment};

/// What an open job waits for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WaitingFor {
    /// What it is called; `None` where nobody named it.
    pub part: Option<String>,
    /// Since when.
    pub since: Moment,
}

impl WaitingFor {
    /// By what is on a job's record, in order.
    pub fn of<'a>(entries: impl IntoIterator<Item = (Moment, &'a Entry)>) -> Option<Self> {
        let mut waiting = None;
        for (since, entry) in entries {
            if let Entry::PartMissing { part } = entry {
                let part = part.clone();
                waiting = Some(Self { part, since });
            } else if let Entry::PartArrived | Entry::Abandoning | Entry::Closed { .. } = entry {
                waiting = None;
            }
        }
        waiting
    }
}

impl Archive {
    /// What a job waits for; `None` also where its record can't be read.
    pub fn waiting_for(&self, job: &JobSummary) -> Option<WaitingFor> {
        if job.outcome.is_some() {
            return None;
        }
        let lines = self.past(&job.id).ok()?.lines();
        WaitingFor::of(lines.iter().map(|line| (line.at, &line.entry)))
    }
}
