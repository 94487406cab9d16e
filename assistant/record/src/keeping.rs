//! How long sounds and photos are kept, and how they go.
//!
//! The journal's entries stay: they are the proof. What lies beside it, the sound of what people said and the
//! photos, may be discarded when a job is long closed. The record then says what was discarded, when and by
//! what rule, so that nobody takes it for tampering.

use crate::job_history::JobHistory;
use crate::sound::{self, SoundState};
use crate::verify::file_of;
use crate::{Archive, Event, JobId, RecordError};
use std::collections::BTreeSet;
use std::time::Duration;
use steps::Moment;

/// What was discarded of a job, or would be.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Discarded {
    /// The job.
    pub job: JobId,
    /// The files, by their path from the records' folder.
    pub files: Vec<String>,
    /// Their size together.
    pub bytes: u64,
}

/// Which sounds and photos go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rule {
    /// Those of jobs that were closed this long ago.
    pub closed_for: Duration,
    /// Those of this job only.
    pub only: Option<JobId>,
    /// The rule as the record tells it: "kept for 365 days".
    pub why: String,
}

impl Archive {
    /// Discards sounds and photos by a rule. The record says so before the first of them goes. Jobs that are
    /// open, that nothing is left of, or whose record isn't whole are left alone.
    ///
    /// With `try_only` nothing is discarded, and what would be is told.
    ///
    /// # Errors
    /// When the records can't be read, or one that is to be tidied can't be written: what was tidied before
    /// stays so.
    pub fn discard(
        &self,
        rule: &Rule,
        try_only: bool,
        now: Moment,
    ) -> Result<Vec<Discarded>, RecordError> {
        let mut all = Vec::new();
        for job in self.jobs()? {
            let wanted = rule.only.as_ref().is_none_or(|only| *only == job.id);
            if !wanted || job.outcome.is_none() {
                continue;
            }
            let past = self.past(&job.id)?;
            let long_closed = past
                .closed_at()
                .is_some_and(|closed| now.since(closed) >= rule.closed_for);
            if !long_closed || past.fault.is_some() {
                continue;
            }
            let discarded = self.files_of(&past);
            if discarded.files.is_empty() {
                continue;
            }
            if !try_only {
                self.note_and_remove(&past, &discarded, rule, now)?;
            }
            all.push(discarded);
        }
        Ok(all)
    }

    /// The files that the record names and that are there as they were kept.
    fn files_of(&self, past: &JobHistory) -> Discarded {
        let named: BTreeSet<&str> = past
            .entries
            .iter()
            .filter_map(|told| file_of(&told.event))
            // One that was changed stays: it is evidence of that.
            .filter(|name| sound::look_at(self.folder(), name) == SoundState::Whole)
            .collect();
        let size =
            |name: &&str| std::fs::metadata(self.folder().join(name)).map_or(0, |it| it.len());
        Discarded {
            job: past.job.clone(),
            bytes: named.iter().map(size).sum(),
            files: named.into_iter().map(str::to_owned).collect(),
        }
    }

    fn note_and_remove(
        &self,
        past: &JobHistory,
        discarded: &Discarded,
        rule: &Rule,
        now: Moment,
    ) -> Result<(), RecordError> {
        // A program that ended in between left files that the record has as discarded already.
        let mut before: BTreeSet<&str> = BTreeSet::new();
        for told in &past.entries {
            if let Event::Discarded { files, .. } = &told.event {
                before.extend(files.iter().map(String::as_str));
            } else if let Some(name) = file_of(&told.event) {
                before.remove(name);
            }
        }
        let new: Vec<String> = discarded
            .files
            .iter()
            .filter(|file| !before.contains(file.as_str()))
            .cloned()
            .collect();
        if !new.is_empty() {
            self.add_after_closing(
                past,
                &Event::Discarded {
                    files: new,
                    why: rule.why.clone(),
                },
                now,
            )?;
        }
        for file in &discarded.files {
            let path = self.folder().join(file);
            std::fs::remove_file(&path).map_err(|error| RecordError::Sound {
                path,
                what: error.to_string(),
            })?;
        }
        Ok(())
    }
}
