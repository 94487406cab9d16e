//! A job's record, gathered for whoever reads it.

use crate::job_history::JobHistory;
use crate::verify::{Replay, Verified};
use crate::{Event, JobId, Line, Photo, SignedBy, time};
use serde::{Serialize, Serializer};
use std::sync::Arc;
use steps::codes::{Kept, Outstanding, TightenAgain};
use steps::{Entry, Id, Language, Mode, Moment, Outcome, Procedure, Release};

/// All that stands on a job's record; [`json`](Self::json) gives it to programs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// The job.
    pub job: JobId,
    /// The procedure.
    pub procedure: Id,
    /// Its title.
    pub title: String,
    /// The language that the job was told in.
    #[serde(skip_serializing_if = "Language::is_default")]
    pub language: Language,
    /// SHA-256 of its text, as the job was last worked by it.
    pub procedure_sha256: String,
    /// The version of the program that wrote the record last.
    pub program: String,
    /// Work or rehearsal. A rehearsal proves no work.
    pub mode: Mode,
    /// When the job was opened, UTC.
    #[serde(serialize_with = "iso")]
    pub opened: Moment,
    /// When the newest entry was made, UTC; photos don't count.
    #[serde(serialize_with = "iso")]
    pub last: Moment,
    /// How it ended; `None` while it is open.
    pub outcome: Option<Outcome>,
    /// What was still loose or off when it was closed.
    pub outstanding: Vec<Kept<Outstanding>>,
    /// What is to be tightened again once it has settled.
    pub again: Vec<Kept<TightenAgain>>,
    /// Who answers for the versions of procedure and vehicle sheet that it was begun with, where the shop releases them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub released: Vec<Release>,
    /// When it was gone on with by a changed procedure, UTC.
    #[serde(serialize_with = "isos")]
    pub procedure_changed: Vec<Moment>,
    /// All that was put on the record, in order.
    pub lines: Vec<ReportLine>,
    /// Photos that were attached, in order.
    pub photos: Vec<ReportPhoto>,
    /// Whether nothing was changed since it was written.
    pub whole: bool,
    /// What checking came to, in words.
    pub verified: String,
    /// How many entries are whole.
    pub entries: u64,
    /// SHA-256 of the last whole entry.
    pub head: String,
    /// Which keys signed it, each up to where; the newest last.
    pub signatures: Vec<SignedBy>,
    /// Whether the inputs were replayed and led to the same.
    pub replayed: bool,
    /// The procedure that it was last worked by, which has words for the identifiers; where it is at hand with that text.
    #[serde(skip)]
    pub full_procedure: Option<Arc<Procedure>>,
    /// The journal's entries, and when each was made, for whoever reads more out of it than its lines.
    #[serde(skip)]
    pub events: Vec<(Moment, Event)>,
}

/// One line for programs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReportLine {
    /// The number of the journal's entry that led to it.
    pub seq: u64,
    /// When, UTC.
    #[serde(serialize_with = "iso")]
    pub at: Moment,
    /// What.
    #[serde(flatten)]
    pub entry: Entry,
}

impl ReportLine {
    /// The line in words, in the language of its [`Report`].
    pub fn words(&self, language: Language) -> String {
        crate::line::told(&self.entry, language)
    }
}

/// A photo that was attached.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReportPhoto {
    /// When, UTC.
    #[serde(serialize_with = "iso")]
    pub at: Moment,
    /// The photo.
    #[serde(flatten)]
    pub photo: Photo,
    /// The number of the entry that led to the note it belongs to.
    pub note: Option<u64>,
}

fn iso<S: Serializer>(at: &Moment, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&time::iso(*at))
}

fn isos<S: Serializer>(times: &[Moment], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(times.iter().map(|at| time::iso(*at)))
}

impl Report {
    pub(crate) fn of(
        past: &JobHistory,
        verified: &Verified,
        procedure: Option<Arc<Procedure>>,
    ) -> Self {
        let lines = past.lines();
        let closed = lines.iter().find_map(|line| match &line.entry {
            Entry::Closed {
                outcome,
                outstanding,
                again,
            } => Some((*outcome, (outstanding.clone(), again.clone()))),
            _other => None,
        });
        let (outcome, left) = closed.unzip();
        let (outstanding, again) = left.unwrap_or_default();
        let moment = |place: Option<&crate::job_history::HistoryEntry>| {
            place.map_or(Moment(0), |told| told.at)
        };
        let changed = past.entries.iter().filter_map(|told| match told.event {
            Event::TakenUp { changed: true, .. } => Some(told.at),
            Event::Opened { .. }
            | Event::Input { .. }
            | Event::LedTo(_)
            | Event::TakenUp { .. }
            | Event::Unheeded { .. }
            | Event::Attached { .. }
            | Event::Discarded { .. }
            | Event::Closed { .. }
            | Event::Signed { .. }
            | Event::Unknown => None,
        });
        let photos = past.entries.iter().filter_map(|told| match &told.event {
            Event::Attached { photo, note } => Some(ReportPhoto {
                at: told.at,
                photo: photo.clone(),
                note: *note,
            }),
            Event::Opened { .. }
            | Event::Input { .. }
            | Event::LedTo(_)
            | Event::TakenUp { .. }
            | Event::Unheeded { .. }
            | Event::Discarded { .. }
            | Event::Closed { .. }
            | Event::Signed { .. }
            | Event::Unknown => None,
        });
        let of_the_job =
            |told: &&crate::job_history::HistoryEntry| !told.event.may_follow_the_closing();
        Self {
            job: past.job.clone(),
            procedure: past.opening.procedure.clone(),
            title: past.opening.title.clone(),
            language: crate::line::language(lines.iter().map(|line| &line.entry)),
            procedure_sha256: past.opening.sha256.clone(),
            program: past.opening.program.clone(),
            mode: past.opening.settings.mode,
            opened: moment(past.entries.first()),
            last: moment(past.entries.iter().rev().find(of_the_job)),
            outcome,
            outstanding,
            again,
            released: past.opening.settings.released.clone(),
            procedure_changed: changed.collect(),
            lines: lines
                .into_iter()
                .map(|Line { seq, at, entry }| ReportLine { seq, at, entry })
                .collect(),
            photos: photos.collect(),
            whole: verified.is_whole(),
            verified: verified.to_string(),
            entries: verified.entries,
            head: verified.head.clone(),
            signatures: verified.signatures.clone(),
            replayed: verified.replay == Replay::Same,
            full_procedure: procedure.filter(|it| it.sha256 == past.opening.sha256),
            events: past
                .entries
                .iter()
                .map(|told| (told.at, told.event.clone()))
                .collect(),
        }
    }

    /// The record as JSON, indented.
    ///
    /// # Errors
    /// When it can't be turned into JSON, which is a bug in Sayback.
    pub fn json(&self) -> Result<String, crate::RecordError> {
        serde_json::to_string_pretty(self).map_err(|error| crate::RecordError::Json {
            what: error.to_string(),
        })
    }

    /// The journal's lines: time, number of the entry, words.
    pub fn journal_lines(&self) -> impl Iterator<Item = String> {
        self.lines.iter().map(|line| {
            let words = line.words(self.language);
            format!("{} {:>4} {words}", time::iso(line.at), line.seq)
        })
    }
}
