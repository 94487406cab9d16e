//! What a journal holds of one job, read and checked.

use crate::journal::Journal;
use crate::{Checkpoint, Event, Fault, JobId, Line, RecordError, Row};
use std::sync::Arc;
use steps::procedure::Procedure;
use steps::{Effect, Entry, Input, Job, Moment, Settings};

/// The entries of a job up to the first that is wrong.
#[derive(Debug)]
pub(crate) struct JobHistory {
    pub job: JobId,
    /// The whole ones.
    pub entries: Vec<HistoryEntry>,
    /// The first that is wrong, and why.
    pub fault: Option<(u64, Fault)>,
    /// Hash of the last whole one.
    pub head: String,
    /// Where the last one led to, if that was kept.
    pub newest: Option<Checkpoint>,
    /// From the first entry.
    pub opening: Opening,
}

/// An entry, understood.
#[derive(Debug)]
pub(crate) struct HistoryEntry {
    pub at: Moment,
    pub event: Event,
    /// Where it led to, as the next entry tells.
    pub reached: Option<Checkpoint>,
}

/// What a job was opened with, and what it is worked with now.
#[derive(Debug, Clone)]
pub(crate) struct Opening {
    pub procedure: steps::Id,
    pub title: String,
    pub settings: Settings,
    /// The procedure's text at the opening.
    pub opened_by: String,
    /// The procedure's text now.
    pub sha256: String,
    /// The program's version now.
    pub program: String,
}

impl JobHistory {
    /// Reads a job's entries and checks their chain.
    pub fn read(journal: &dyn Journal, job: &JobId) -> Result<Self, RecordError> {
        let (rows, broken) = journal.rows(job)?;
        let newest = match journal.last_reached(job) {
            Ok(newest) => newest,
            // What the rows say counts more, and it may still be whole.
            Err(_) if !rows.is_empty() => None,
            Err(error) => return Err(error),
        };
        let mut past = None;
        for row in &rows {
            match Self::follow(&mut past, job, row) {
                Ok(()) => {}
                Err(fault) => match &mut past {
                    Some(past) => {
                        past.fault = Some((past.next(), fault));
                        break;
                    }
                    None => {
                        return Err(RecordError::NotWhole {
                            job: job.clone(),
                            seq: 0,
                            fault,
                        });
                    }
                },
            }
        }
        let Some(mut past) = past else {
            return Err(broken.unwrap_or(RecordError::NoSuchJob { job: job.clone() }));
        };
        if past.fault.is_none() {
            past.end(broken, newest);
        }
        Ok(past)
    }

    /// The number of the entry that would follow.
    pub fn next(&self) -> u64 {
        self.entries.len() as u64
    }

    /// Checks one entry against what came before, and takes it in.
    fn follow(past: &mut Option<Self>, job: &JobId, row: &Row) -> Result<(), Fault> {
        let (next, head) = past
            .as_ref()
            .map_or((0, ""), |past| (past.next(), past.head.as_str()));
        if row.seq != next {
            return Err(Fault::Missing);
        }
        if row.hash != row.hashed() {
            return Err(Fault::Changed);
        }
        if row.previous != head {
            return Err(Fault::Unchained);
        }
        let senseless = |what: &str| Fault::Senseless(what.to_owned());
        let event: Event =
            serde_json::from_str(&row.event).map_err(|error| senseless(&error.to_string()))?;
        if row.kind != event.kind() {
            return Err(senseless("it is called something else than it is"));
        }
        let reached = match row.reached.as_str() {
            "" => None,
            text => {
                Some(serde_json::from_str(text).map_err(|error| senseless(&error.to_string()))?)
            }
        };
        let told = HistoryEntry {
            at: row.at,
            event,
            reached: None,
        };
        match (past.as_mut(), &told.event) {
            (
                None,
                Event::Opened {
                    procedure,
                    title,
                    sha256,
                    settings,
                    program,
                },
            ) => {
                *past = Some(Self {
                    job: job.clone(),
                    opening: Opening {
                        procedure: procedure.clone(),
                        title: title.clone(),
                        settings: settings.clone(),
                        opened_by: sha256.clone(),
                        sha256: sha256.clone(),
                        program: program.clone(),
                    },
                    entries: vec![told],
                    fault: None,
                    head: row.hash.clone(),
                    newest: None,
                });
                Ok(())
            }
            (
                None,
                Event::Input { .. }
                | Event::TakenUp { .. }
                | Event::Unheeded { .. }
                | Event::Attached { .. }
                | Event::Discarded { .. }
                | Event::Closed { .. },
            ) => Err(senseless("it comes before the job's opening")),
            (Some(_), Event::Opened { .. }) => Err(senseless("it opens the job once more")),
            (
                Some(past),
                Event::Input { .. }
                | Event::TakenUp { .. }
                | Event::Unheeded { .. }
                | Event::Attached { .. }
                | Event::Discarded { .. }
                | Event::Closed { .. },
            ) => {
                let closed = past.closed();
                let Some(last) = past.entries.last_mut() else {
                    return Err(Fault::Missing);
                };
                let later = told.event.may_follow_the_closing();
                match &last.event {
                    _ if closed && !later => {
                        return Err(senseless("it comes after the closing"));
                    }
                    Event::Input { .. } if reached.is_none() => {
                        return Err(senseless("it doesn't say where the one before led to"));
                    }
                    Event::Input { .. }
                    | Event::Opened { .. }
                    | Event::TakenUp { .. }
                    | Event::Unheeded { .. }
                    | Event::Attached { .. }
                    | Event::Discarded { .. }
                    | Event::Closed { .. } => {}
                }
                last.reached = reached;
                if let Event::TakenUp {
                    sha256, program, ..
                } = &told.event
                {
                    past.opening.sha256.clone_from(sha256);
                    past.opening.program.clone_from(program);
                }
                past.head.clone_from(&row.hash);
                past.entries.push(told);
                Ok(())
            }
        }
    }

    /// What is to be said about the end of the journal.
    fn end(&mut self, broken: Option<RecordError>, newest: Option<(u64, String)>) {
        if let Some(error) = broken {
            self.fault = Some((self.next(), Fault::Unreadable(error.to_string())));
            return;
        }
        let last = self.next().saturating_sub(1);
        match newest {
            Some((seq, _)) if seq > last => self.fault = Some((last, Fault::Cut)),
            // It is only a check, and may be behind or torn after a power cut.
            Some((seq, text)) if seq == last => self.newest = serde_json::from_str(&text).ok(),
            Some(_) | None => {}
        }
    }

    /// The entry that led to the note of this number.
    pub fn note(&self, number: usize) -> Result<u64, RecordError> {
        let lines = self.lines();
        let notes: Vec<&Line> = lines
            .iter()
            .filter(|line| matches!(line.entry, Entry::Noted { .. }))
            .collect();
        let line = number.checked_sub(1).and_then(|place| notes.get(place));
        line.map(|line| line.seq).ok_or(RecordError::NoSuchNote {
            job: self.job.clone(),
            note: number,
            notes: notes.len(),
        })
    }

    /// Whether the job was closed.
    pub fn closed(&self) -> bool {
        self.closed_at().is_some()
    }

    /// When the job was closed.
    pub fn closed_at(&self) -> Option<Moment> {
        let entries = self.entries.iter().rev();
        let mut before = entries.skip_while(|told| told.event.may_follow_the_closing());
        let last = before.next()?;
        matches!(last.event, Event::Closed { .. }).then_some(last.at)
    }

    /// Adds where the last input led to, from replaying, when only that tells.
    pub fn complete(&mut self, open_end: Option<Checkpoint>) {
        if self.newest.is_none() {
            self.newest = open_end;
        }
    }

    /// What was put on the record, with times, as it was kept.
    pub fn lines(&self) -> Vec<Line> {
        let last = self.entries.len().saturating_sub(1);
        let mut lines = Vec::new();
        for (place, told) in self.entries.iter().enumerate() {
            let newest = self.newest.as_ref().filter(|_| place == last);
            let Some(reached) = told.reached.as_ref().or(newest) else {
                continue;
            };
            lines.extend(reached.entries.iter().map(|entry| Line {
                seq: place as u64,
                at: told.at,
                entry: entry.clone(),
            }));
        }
        lines
    }

    /// Replays all inputs. Gives the job, and where the last input led to when nothing came after it.
    ///
    /// # Errors
    /// The first entry that leads elsewhere than it did.
    pub fn replay(&self, procedure: Arc<Procedure>) -> Result<(Job, Option<Checkpoint>), u64> {
        let mut job = Job::new(procedure, self.opening.settings.clone());
        let last = self.entries.len().saturating_sub(1);
        let mut open_end = None;
        for (place, told) in self.entries.iter().enumerate() {
            let Event::Input { input } = &told.event else {
                continue;
            };
            let effects: Vec<Effect> = job.take(Input::clone(input), told.at);
            let mut reached = Checkpoint::by(&job, &effects);
            // The job was opened by the text of then, also where a changed one is replayed.
            for entry in &mut reached.entries {
                if let Entry::Opened { sha256, .. } = entry {
                    sha256.clone_from(&self.opening.opened_by);
                }
            }
            let newest = self.newest.as_ref().filter(|_| place == last);
            let kept = told.reached.as_ref().or(newest);
            if kept.is_some_and(|kept| !kept.is_kept_in(&reached)) {
                return Err(place as u64);
            }
            if place == last {
                open_end = Some(reached);
            }
        }
        Ok((job, open_end))
    }
}
