//! A shop's records: all jobs in one folder.

use crate::job_history::JobHistory;
use crate::journal::{Ends, Journal, ListPage};
use crate::open::End;
use crate::sqlite::Records;
use crate::verify::{Verified, verified};
use crate::{
    BayKey, Event, FORMAT, JobId, KeptPhoto, Line, Lost, OpenJob, PROGRAM, Photo, RecordError,
    Report,
};
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use steps::{Id, Job, Mode, Moment, Outcome, Procedure, Settings};

/// A shop's records.
#[derive(Debug, Clone)]
pub struct Archive {
    folder: PathBuf,
    journal: Arc<dyn Journal>,
    key: Option<Arc<BayKey>>,
    /// What can't be read of them, where they are damaged.
    pub(crate) lost: Arc<[Lost]>,
}

/// One job in the list of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct JobSummary {
    /// The job's name.
    pub id: JobId,
    /// The procedure that it is worked by.
    pub procedure: Id,
    /// That procedure's title.
    pub title: String,
    /// When it was opened.
    pub started: Moment,
    /// When the newest entry was made.
    pub last: Moment,
    /// Work or rehearsal.
    pub mode: Mode,
    /// How it ended; `None` while it is open.
    pub outcome: Option<Outcome>,
}

/// What to do when the procedure's text is another one than the job was worked by so far.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum IfChanged {
    /// Don't take the job up.
    #[default]
    Refuse,
    /// Go on by the new text, on the record; only if all that was done comes out the same with it.
    GoOn,
}

/// A job taken up again, before it has been told so: give it [`Input::Resumed`](steps::Input::Resumed) next.
#[derive(Debug)]
pub struct TakenUp {
    /// Its record.
    pub open: OpenJob,
    /// Where it stands.
    pub job: Job,
    /// What is on its record.
    pub lines: Vec<Line>,
    /// Whether it goes on by a changed procedure: that has to be said aloud.
    pub changed: bool,
    /// Whether it has taken any input: when not, give it [`Input::Begin`](steps::Input::Begin) instead.
    pub begun: bool,
}

impl Archive {
    /// Opens the records in a folder, and makes both when they aren't there.
    ///
    /// # Errors
    /// When the folder or its file can't be used, and why.
    pub fn open(folder: &Path) -> Result<Self, RecordError> {
        crate::owner_only::make_folder(folder)
            .map_err(|source| RecordError::of_folder(folder, source))?;
        let journal = Arc::new(Records::open(folder)?);
        Ok(Self::with(folder, journal))
    }

    /// Records with another journal; `folder` is where sounds are kept.
    pub fn with(folder: &Path, journal: Arc<dyn Journal>) -> Self {
        Self {
            folder: folder.to_owned(),
            journal,
            key: None,
            lost: Arc::new([]),
        }
    }

    /// Opens the records in a folder to read them, and writes nothing there: also on a medium that can't be written, and
    /// those of an older or newer program.
    ///
    /// # Errors
    /// When there is no such folder, or its file can't be read.
    pub fn open_to_read(folder: &Path) -> Result<Self, RecordError> {
        std::fs::read_dir(folder).map_err(|source| RecordError::of_folder(folder, source))?;
        let journal = Arc::new(Records::open_to_read(folder)?);
        Ok(Self::with(folder, journal))
    }

    /// The same records, signed with a bay's key from now on.
    #[must_use]
    pub fn signed_by(mut self, key: BayKey) -> Self {
        self.key = Some(Arc::new(key));
        self
    }

    /// The journal.
    pub(crate) fn journal(&self) -> &dyn Journal {
        &*self.journal
    }

    /// The folder that sounds' paths start from.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Opens a new job's record.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn begin(
        &self,
        procedure: &Procedure,
        settings: Settings,
        now: Moment,
    ) -> Result<OpenJob, RecordError> {
        crate::procedures::keep(&self.folder, procedure)?;
        let mut number = 1;
        loop {
            let job = JobId::of(&procedure.id, now, number);
            number += 1;
            if self.journal.has(&job)? {
                continue;
            }
            let hold = match self.journal.hold(&job) {
                Ok(hold) => hold,
                // Somebody else opens a job of this name right now.
                Err(RecordError::InUse { .. }) => continue,
                Err(error) => return Err(error),
            };
            // That somebody may have been done between the question and the hold.
            if self.journal.has(&job)? {
                continue;
            }
            let mut open = self.writer(job, hold, (0, String::new()), now);
            let opened = Event::Opened {
                procedure: procedure.id.clone(),
                title: procedure.title.clone(),
                sha256: procedure.sha256.clone(),
                settings,
                program: PROGRAM.to_owned(),
                format: FORMAT,
            };
            open.add(&opened, now)?;
            return Ok(open);
        }
    }

    /// All jobs, the newest first. One whose opening makes no sense is left out; [`unlisted`](Self::unlisted)
    /// has it.
    ///
    /// # Errors
    /// When they can't be read.
    pub fn jobs(&self) -> Result<Vec<JobSummary>, RecordError> {
        self.page(&ListPage::default())
    }

    /// A page of the same list. What is left out doesn't make it shorter.
    ///
    /// # Errors
    /// When they can't be read.
    pub fn page(&self, page: &ListPage) -> Result<Vec<JobSummary>, RecordError> {
        let mut rest = page.clone();
        let mut jobs = Vec::new();
        loop {
            let ends = self.journal.jobs(&rest)?;
            let last = ends.last().map(|ends| ends.first.job.clone());
            let is_last = rest.most.is_none_or(|most| ends.len() < most);
            let found = jobs.len();
            jobs.extend(ends.into_iter().filter_map(|ends| summary(ends).ok()));
            rest.most = rest.most.map(|most| most - (jobs.len() - found));
            if is_last || rest.most == Some(0) {
                return Ok(jobs);
            }
            rest.after = last;
        }
    }

    /// What is wrong with the jobs that can't be listed.
    ///
    /// # Errors
    /// When they can't be read.
    pub fn unlisted(&self) -> Result<Vec<RecordError>, RecordError> {
        let jobs = self.journal.jobs(&ListPage::default())?;
        let jobs = jobs.into_iter().map(summary);
        Ok(jobs.filter_map(Result::err).collect())
    }

    /// Takes a job up again: replays what happened, and checks on the way that each input leads where it
    /// led before.
    ///
    /// # Errors
    /// When someone else has the job; when it is closed; when its record isn't whole; when the procedure is
    /// another one, or changed and that isn't accepted; when replaying leads elsewhere.
    pub fn resume(
        &self,
        id: &JobId,
        procedure: Arc<Procedure>,
        if_changed: IfChanged,
        now: Moment,
    ) -> Result<TakenUp, RecordError> {
        // Asked first: a hold on a mistyped name would leave a file behind.
        if !self.journal.has(id)? {
            return Err(RecordError::NoSuchJob { job: id.clone() });
        }
        let mut hold = self.journal.hold(id)?;
        let mut past = self.past(id)?;
        if let Some((seq, fault)) = past.fault {
            return Err(RecordError::NotWhole {
                job: id.clone(),
                seq,
                fault,
            });
        }
        if past.closed() {
            hold.done();
            return Err(RecordError::Closed { job: id.clone() });
        }
        if past.is_newer() {
            return Err(RecordError::NewerJob {
                job: id.clone(),
                program: past.opening.program,
            });
        }
        let changed = accepted(&past, &procedure, if_changed)?;
        let sha256 = procedure.sha256.clone();
        if changed {
            crate::procedures::keep(&self.folder, &procedure)?;
        }
        let (job, reached) = past
            .replay(procedure)
            .map_err(|seq| RecordError::ReplayDiffers {
                job: id.clone(),
                seq,
                program: PROGRAM.to_owned(),
                was: past.opening.program.clone(),
            })?;
        let mut open = self.writer_of(&past, hold);
        if let Some(reached) = &reached {
            open.seal(reached)?;
        }
        if let Some(outcome) = job.outcome() {
            // The program ended between the job's last input and the closing entry.
            open.close(outcome, now)?;
            return Err(RecordError::Closed { job: id.clone() });
        }
        let taken_up = Event::TakenUp {
            sha256,
            changed,
            program: PROGRAM.to_owned(),
            format: FORMAT,
        };
        open.add(&taken_up, now)?;
        let begun = past
            .entries
            .iter()
            .any(|told| matches!(told.event, Event::Input { .. }));
        past.complete(reached);
        let lines = past.lines();
        Ok(TakenUp {
            open,
            job,
            lines,
            changed,
            begun,
        })
    }

    /// Attaches a photo to a job that nobody is writing, or to one of its notes (numbered from 1); also to a
    /// job that is closed. `given` is the name of its file. See [`Photo`] for what is kept of it.
    ///
    /// # Errors
    /// When it is no JPEG or PNG or too large; when there is no such note; when somebody else has the job, or
    /// its record isn't whole; when it can't be written.
    pub fn attach(
        &self,
        id: &JobId,
        note: Option<usize>,
        given: &str,
        bytes: &[u8],
        now: Moment,
    ) -> Result<Photo, RecordError> {
        if !self.journal.has(id)? {
            return Err(RecordError::NoSuchJob { job: id.clone() });
        }
        let (mut open, past) = self.to_add_to(id)?;
        let note = note.map(|number| past.note(number)).transpose()?;
        let photo = crate::photo::keep(&self.folder, id, given, bytes)?;
        let attached = Event::Attached {
            photo: photo.clone(),
            note,
        };
        open.add_and_sign(&attached, now)?;
        Ok(photo)
    }

    /// Keeps a photo for a note (numbered from 1) of a job that somebody is working. Whoever works it then puts it on
    /// the record with [`JournaledJob::attach`](crate::JournaledJob::attach): decoding takes longer than they may be held up.
    ///
    /// # Errors
    /// As [`attach`](Self::attach), but for the job that somebody has.
    pub fn keep_photo(
        &self,
        id: &JobId,
        note: usize,
        given: &str,
        bytes: &[u8],
    ) -> Result<KeptPhoto, RecordError> {
        let note = self.past(id)?.note(note)?;
        let photo = crate::photo::keep(&self.folder, id, given, bytes)?;
        Ok(KeptPhoto {
            job: id.clone(),
            note,
            photo,
        })
    }

    /// What a job's journal holds.
    pub(crate) fn past(&self, id: &JobId) -> Result<JobHistory, RecordError> {
        JobHistory::read(self.journal(), id)
    }

    /// A job that nobody is writing, closed or not, to add to what isn't about the work itself.
    fn to_add_to(&self, id: &JobId) -> Result<(OpenJob, JobHistory), RecordError> {
        let mut hold = self.journal.hold(id)?;
        let past = self.past(id)?;
        if past.closed() {
            hold.done();
        }
        if let Some((seq, fault)) = past.fault {
            return Err(RecordError::NotWhole {
                job: id.clone(),
                seq,
                fault,
            });
        }
        Ok((self.writer_of(&past, hold), past))
    }

    /// Adds an entry that may follow the closing.
    pub(crate) fn add_after_closing(
        &self,
        past: &JobHistory,
        event: &Event,
        now: Moment,
    ) -> Result<(), RecordError> {
        let (mut open, _) = self.to_add_to(&past.job)?;
        open.add_and_sign(event, now)
    }

    /// An attached photo for showing: JPEG no larger than `side` pixels, its width and height. `None` when it
    /// is not kept any more, or was changed.
    pub fn shown(&self, photo: &Photo, side: u32) -> Option<(Vec<u8>, u32, u32)> {
        crate::photo::shown(&self.folder, photo, side)
    }

    /// A job's record as it was kept, for reading and printing, and whether it is whole: with all inputs replayed by the
    /// procedure that was kept with it.
    ///
    /// # Errors
    /// When there is no such job or nothing of it can be read.
    pub fn report(&self, id: &JobId) -> Result<Report, RecordError> {
        self.reported(id, None)
    }

    /// The same for a record that no procedure was kept with, as in a journal of the first format; when this one has still
    /// the text that the job was last worked by.
    ///
    /// # Errors
    /// As [`report`](Self::report).
    pub fn report_replayed(
        &self,
        id: &JobId,
        procedure: Arc<Procedure>,
    ) -> Result<Report, RecordError> {
        self.reported(id, Some(procedure))
    }

    fn reported(&self, id: &JobId, given: Option<Arc<Procedure>>) -> Result<Report, RecordError> {
        let mut history = self.past(id)?;
        let procedure = self.kept_procedure(&history).or(given);
        let (verified, open_end) = verified(self.folder(), &history, procedure.clone());
        history.complete(open_end);
        Ok(Report::of(&history, &verified, procedure))
    }

    /// The procedure that a job was worked by last, as it was kept with its record; `None` where it wasn't.
    ///
    /// # Errors
    /// When there is no such job or nothing of it can be read.
    pub fn procedure_of(&self, id: &JobId) -> Result<Option<Arc<Procedure>>, RecordError> {
        Ok(self.kept_procedure(&self.past(id)?))
    }

    /// Whether a job's record is as it was written, and what its inputs lead to: by the procedure that was kept with it, or
    /// else by the one that is given.
    ///
    /// A chain shows every change but one that recomputes all later hashes, and one that cuts off the end with what was kept
    /// of it elsewhere in the journal. The first shows by replaying, unless only what was heard was changed to something else
    /// that leads to the same; both show by the bay's signature, and against a [`head`](OpenJob::head) kept elsewhere.
    ///
    /// # Errors
    /// When there is no such job or nothing of it can be read.
    pub fn verify(
        &self,
        id: &JobId,
        procedure: Option<Arc<Procedure>>,
    ) -> Result<Verified, RecordError> {
        let history = self.past(id)?;
        let procedure = self.kept_procedure(&history).or(procedure);
        Ok(verified(self.folder(), &history, procedure).0)
    }

    /// The same, against the hash of an entry that was kept elsewhere: a [`head`](OpenJob::head) of then. It
    /// shows also an end that was cut off since, and a forger who made all hashes fit.
    ///
    /// # Errors
    /// As [`verify`](Self::verify).
    pub fn verify_against(&self, id: &JobId, head: &str) -> Result<Verified, RecordError> {
        let mut verified = self.verify(id, None)?;
        let (rows, _) = self.journal.rows(id)?;
        let whole = usize::try_from(verified.entries).unwrap_or(usize::MAX);
        let head = head.trim();
        let is_there = rows
            .iter()
            .take(whole)
            .any(|row| row.hash.eq_ignore_ascii_case(head));
        if !is_there && verified.fault.is_none() {
            let last = verified.entries.saturating_sub(1);
            verified.fault = Some((last, crate::Fault::OtherHead));
        }
        Ok(verified)
    }

    /// The one who goes on writing a job.
    fn writer_of(&self, past: &JobHistory, hold: Box<dyn crate::journal::Hold>) -> OpenJob {
        let last = past.entries.last();
        let opened = past.entries.first().map_or(Moment(0), |told| told.at);
        let signed = past.signatures.iter().map(|it| it.at).max();
        let mut open = self.writer(
            past.job.clone(),
            hold,
            (past.next(), past.head.clone()),
            signed.unwrap_or(opened),
        );
        if let Some(told) = last
            && told.reached.is_none()
            && matches!(told.event, Event::Input { .. })
        {
            open.end = End::Unsealed(told.at);
        }
        open
    }

    fn writer(
        &self,
        job: JobId,
        hold: Box<dyn crate::journal::Hold>,
        (next, head): (u64, String),
        signed: Moment,
    ) -> OpenJob {
        OpenJob {
            journal: Arc::clone(&self.journal),
            hold,
            folder: self.folder.clone(),
            job,
            next,
            head,
            end: End::Plain,
            key: self.key.clone(),
            signed,
        }
    }
}

/// Whether the procedure is another text than so far, when that is accepted.
fn accepted(
    past: &JobHistory,
    procedure: &Procedure,
    if_changed: IfChanged,
) -> Result<bool, RecordError> {
    if past.opening.procedure != procedure.id {
        return Err(RecordError::OtherProcedure {
            job: past.job.clone(),
            wanted: past.opening.procedure.to_string(),
            given: procedure.id.to_string(),
        });
    }
    let changed = past.opening.sha256 != procedure.sha256;
    match (changed, if_changed) {
        (true, IfChanged::Refuse) => Err(RecordError::ProcedureChanged {
            job: past.job.clone(),
            procedure: procedure.id.to_string(),
            was: past.opening.sha256.clone(),
            is: procedure.sha256.clone(),
        }),
        (changed, IfChanged::Refuse | IfChanged::GoOn) => Ok(changed),
    }
}

fn summary(ends: Ends) -> Result<JobSummary, RecordError> {
    let not_whole = |fault| RecordError::NotWhole {
        job: ends.first.job.clone(),
        seq: 0,
        fault,
    };
    let event = |text: &str| {
        serde_json::from_str::<Event>(text)
            .map_err(|error| not_whole(crate::Fault::Senseless(error.to_string())))
    };
    let Event::Opened {
        procedure,
        title,
        settings,
        ..
    } = event(&ends.first.event)?
    else {
        return Err(not_whole(crate::Fault::Senseless(
            "it should open the job".to_owned(),
        )));
    };
    let outcome = match ends.closed.as_deref().map(event).transpose()? {
        Some(Event::Closed { outcome }) => Some(outcome),
        Some(
            Event::Opened { .. }
            | Event::Input { .. }
            | Event::LedTo(_)
            | Event::TakenUp { .. }
            | Event::Unheeded { .. }
            | Event::Attached { .. }
            | Event::Discarded { .. }
            | Event::Signed { .. }
            | Event::Unknown,
        )
        | None => None,
    };
    Ok(JobSummary {
        id: ends.first.job.clone(),
        procedure,
        title,
        started: ends.first.at,
        last: ends.last,
        mode: settings.mode,
        outcome,
    })
}
