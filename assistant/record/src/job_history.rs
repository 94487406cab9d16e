//! What a journal holds of one job, read and checked.

use crate::chain::FORMAT;
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
    /// From the first entry.
    pub opening: Opening,
    /// Who signed it, and up to where.
    pub signatures: Vec<SignedBy>,
}

/// An entry, understood.
#[derive(Debug)]
pub(crate) struct HistoryEntry {
    pub at: Moment,
    pub event: Event,
    /// Where it led to, as the chain tells.
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
    /// The newest format of its entries.
    pub format: u32,
}

/// Whose signature stands on a record.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct SignedBy {
    /// The bay, as it calls itself.
    pub bay: String,
    /// Its public Ed25519 key, in hexadecimal.
    pub key: String,
    /// When, by the bay's clock.
    pub at: Moment,
    /// How many entries from the first on it signed.
    pub entries: u64,
}

impl JobHistory {
    /// Reads a job's entries and checks their chain.
    pub fn read(journal: &dyn Journal, job: &JobId) -> Result<Self, RecordError> {
        let (rows, broken) = journal.rows(job)?;
        let mut history: Option<Self> = None;
        for row in &rows {
            let taken = match &mut history {
                None => Self::opened(job, row).map(|it| history = Some(it)),
                Some(history) => history.follow(row),
            };
            if let Err(fault) = taken {
                match &mut history {
                    Some(history) => {
                        history.fault = Some((history.next(), fault));
                        break;
                    }
                    None => {
                        return Err(RecordError::NotWhole {
                            job: job.clone(),
                            seq: 0,
                            fault,
                        });
                    }
                }
            }
        }
        let Some(mut history) = history else {
            return Err(broken.unwrap_or(RecordError::NoSuchJob { job: job.clone() }));
        };
        if history.fault.is_none() {
            history.check_end(broken, journal.end(job));
        }
        Ok(history)
    }

    /// The number of the entry that would follow.
    pub fn next(&self) -> u64 {
        self.entries.len() as u64
    }

    /// A job's first entry.
    fn opened(job: &JobId, row: &Row) -> Result<Self, Fault> {
        chained(row, job, 0, "")?;
        let event = understood(row, FORMAT)?;
        let Event::Opened {
            procedure,
            title,
            sha256,
            settings,
            program,
            format,
        } = &event
        else {
            return Err(senseless("it comes before the job's opening"));
        };
        if !row.reached.is_empty() {
            return Err(senseless(
                "it tells where the entry before it led to, and is the first",
            ));
        }
        Ok(Self {
            job: job.clone(),
            opening: Opening {
                procedure: procedure.clone(),
                title: title.clone(),
                settings: settings.clone(),
                opened_by: sha256.clone(),
                sha256: sha256.clone(),
                program: program.clone(),
                format: *format,
            },
            entries: vec![HistoryEntry {
                at: row.at,
                event,
                reached: None,
            }],
            fault: None,
            head: row.hash.clone(),
            signatures: Vec::new(),
        })
    }

    /// Checks one entry against what came before, and takes it in.
    fn follow(&mut self, row: &Row) -> Result<(), Fault> {
        chained(row, &self.job, self.next(), &self.head)?;
        let event = understood(row, self.opening.format)?;
        let closed = self.closed();
        if closed && !event.may_follow_the_closing() {
            return Err(senseless("it comes after the closing"));
        }
        let reached = match row.reached.as_str() {
            "" => None,
            text => {
                Some(serde_json::from_str(text).map_err(|error| senseless(&error.to_string()))?)
            }
        };
        let Some(last) = self.entries.last_mut() else {
            return Err(Fault::Missing);
        };
        let waits = matches!(last.event, Event::Input { .. }) && last.reached.is_none();
        match (&event, reached, waits) {
            (Event::LedTo(reached), None, true) => last.reached = Some(reached.clone()),
            // The first format.
            (_, Some(reached), true) => last.reached = Some(reached),
            (Event::LedTo(_), _, _) | (_, Some(_), false) => {
                return Err(senseless(
                    "it tells where an input led to, and none is before it",
                ));
            }
            // It can't be known whether it tells that.
            (Event::Unknown, None, true) | (_, None, false) => {}
            (_, None, true) => return Err(senseless("it doesn't say where the one before led to")),
        }
        match &event {
            Event::Opened { .. } => return Err(senseless("it opens the job once more")),
            Event::TakenUp {
                sha256,
                program,
                format,
                ..
            } => {
                self.opening.sha256.clone_from(sha256);
                self.opening.program.clone_from(program);
                self.opening.format = self.opening.format.max(*format);
            }
            Event::Signed {
                bay,
                key,
                program,
                signature,
            } => {
                let message = row.signed_message(bay, program);
                // No signature is over this entry itself, so there is only one way to write it.
                let written = serde_json::to_string(&event).is_ok_and(|text| text == row.event)
                    || self.opening.format > FORMAT;
                if !written || !crate::key::fits(key, message.as_bytes(), signature) {
                    return Err(Fault::Signature);
                }
                self.signatures
                    .retain(|it| it.key != *key || it.bay != *bay);
                self.signatures.push(SignedBy {
                    bay: bay.clone(),
                    key: key.clone(),
                    at: row.at,
                    entries: row.seq,
                });
            }
            Event::Input { .. }
            | Event::LedTo(_)
            | Event::Unheeded { .. }
            | Event::Attached { .. }
            | Event::Discarded { .. }
            | Event::Closed { .. }
            | Event::Unknown => {}
        }
        self.head.clone_from(&row.hash);
        self.entries.push(HistoryEntry {
            at: row.at,
            event,
            reached: None,
        });
        Ok(())
    }

    /// What is to be said about the end of the journal.
    fn check_end(
        &mut self,
        broken: Option<RecordError>,
        end: Result<Option<(u64, String)>, RecordError>,
    ) {
        let last = self.next().saturating_sub(1);
        match (broken, end) {
            (Some(error), _) => {
                self.fault = Some((self.next(), Fault::Unreadable(steps::with_causes(&error))));
            }
            (None, Ok(None)) => {}
            (None, Ok(Some((seq, hash)))) if seq == last && hash == self.head => {}
            (None, Ok(Some(_)) | Err(_)) => self.fault = Some((last, Fault::Cut)),
        }
    }

    /// Whether a newer program wrote some of it.
    pub fn is_newer(&self) -> bool {
        self.opening.format > FORMAT
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

    /// Adds where the last input led to, from replaying, where the power failed before that was kept.
    pub fn complete(&mut self, open_end: Option<Checkpoint>) {
        if let Some(last) = self.entries.last_mut()
            && last.reached.is_none()
        {
            last.reached = open_end;
        }
    }

    /// What was put on the record, with times, as it was kept.
    pub fn lines(&self) -> Vec<Line> {
        let mut lines = Vec::new();
        for (place, told) in self.entries.iter().enumerate() {
            let Some(reached) = &told.reached else {
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

    /// Replays all inputs. Gives the job, and where the last input led to when the chain doesn't tell.
    ///
    /// # Errors
    /// The first entry that leads elsewhere than it did, or says something else of the job than the procedure or its inputs.
    pub fn replay(&self, procedure: Arc<Procedure>) -> Result<(Job, Option<Checkpoint>), u64> {
        if self.opening.procedure != procedure.id {
            return Err(0);
        }
        let unchanged = self.opening.opened_by == procedure.sha256;
        if unchanged && self.opening.title != procedure.title {
            return Err(0);
        }
        let mut job = Job::new(procedure, self.opening.settings.clone());
        let mut open_end = None;
        for (place, told) in self.entries.iter().enumerate() {
            let place = place as u64;
            let input = match &told.event {
                Event::Input { input } => input,
                Event::Closed { outcome } if job.outcome() == Some(*outcome) => continue,
                Event::Closed { .. } => return Err(place),
                Event::Opened { .. }
                | Event::LedTo(_)
                | Event::TakenUp { .. }
                | Event::Unheeded { .. }
                | Event::Attached { .. }
                | Event::Discarded { .. }
                | Event::Signed { .. }
                | Event::Unknown => continue,
            };
            if job.outcome().is_some() {
                return Err(place);
            }
            let effects: Vec<Effect> = job.take(Input::clone(input), told.at);
            let mut reached = Checkpoint::by(&job, &effects);
            // The job was opened by the text of then, also where a changed one is replayed.
            for entry in &mut reached.entries {
                if let Entry::Opened { sha256, .. } = entry {
                    sha256.clone_from(&self.opening.opened_by);
                }
            }
            match &told.reached {
                Some(kept) if !kept.is_kept_in(&reached) => return Err(place),
                Some(_) => {}
                None => open_end = Some(reached),
            }
        }
        Ok((job, open_end))
    }
}

fn senseless(what: &str) -> Fault {
    Fault::Senseless(what.to_owned())
}

/// Whether an entry is as it was hashed, and follows what is before it.
fn chained(row: &Row, job: &JobId, next: u64, head: &str) -> Result<(), Fault> {
    if row.seq != next {
        return Err(Fault::Missing);
    }
    if row.job != *job || row.hash != row.hashed() {
        return Err(Fault::Changed);
    }
    if row.previous != head {
        return Err(Fault::Unchained);
    }
    Ok(())
}

/// What an entry tells. Where it is of a newer format than this program knows, so may be what it tells.
fn understood(row: &Row, format: u32) -> Result<Event, Fault> {
    let event = match serde_json::from_str::<Event>(&row.event) {
        Ok(event) => event,
        Err(_) if format > FORMAT => return Ok(Event::Unknown),
        Err(error) => return Err(senseless(&error.to_string())),
    };
    if row.kind != event.kind() {
        return Err(senseless("it is called something else than it is"));
    }
    Ok(event)
}
