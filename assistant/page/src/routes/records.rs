//! The jobs on record.

use super::particulars::Particulars;
use super::{Answer, Desk, Named, plain};
use crate::problem::Problem;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use record::{Archive, JobId, JobSummary, ListPage, RecordError, WaitingFor};
use report::{JobReport, Paper, Picture, TimeZone};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use steps::{Entry, Id, Mode, Moment, Outcome};
use utoipa::{IntoParams, ToSchema};

use crate::glance::OutcomeShown;

/// Jobs in one answer where no number is asked for, and at most.
const USUAL: usize = 50;
const MOST: usize = 500;

/// The most characters that can be searched for.
const MOST_TEXT: usize = 200;

/// The end of the year 9999 in milliseconds since 1970-01-01T00:00:00Z.
const LAST_MS: u64 = 253_402_300_799_999;

/// Pixels on the longer side of a photo in a report.
const PHOTO_SIDE: u32 = 900;

/// A report's own style and pictures, and nothing else: no script, no address.
const REPORT_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; base-uri 'none'; \
form-action 'none'; frame-ancestors 'self'; sandbox";

/// Which jobs.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct Wanted {
    /// How many at most.
    #[param(minimum = 1, maximum = 500)]
    limit: Option<usize>,
    /// Only jobs opened before this, in milliseconds since 1970-01-01T00:00:00Z.
    #[param(minimum = 0, maximum = 253_402_300_799_999_u64)]
    before: Option<u64>,
    /// Only jobs that come after the one of this name in the list: to go on where an answer ended.
    after: Option<String>,
    /// Only jobs with these words on their record, in their name, their title or their vehicle, in capitals or not.
    #[param(max_length = 200)]
    text: Option<String>,
    /// Only jobs on a vehicle with these words in its name, in capitals or not.
    #[param(max_length = 200)]
    vehicle: Option<String>,
    /// Only jobs that somebody of this name, or with it in their name, worked on or signed.
    #[param(max_length = 200)]
    person: Option<String>,
    /// Only jobs by the procedure of this name.
    #[param(max_length = 200)]
    procedure: Option<String>,
    /// Only jobs opened then or later, in milliseconds since 1970-01-01T00:00:00Z.
    #[param(minimum = 0, maximum = 253_402_300_799_999_u64)]
    from: Option<u64>,
}

/// One job in the list.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct JobListed {
    /// Its name.
    name: String,
    /// What it is called.
    title: String,
    /// The procedure's name.
    procedure: String,
    /// Whether it is a rehearsal.
    rehearsal: bool,
    /// Whether it was worked from recordings.
    recordings: bool,
    /// When it was opened, in milliseconds since 1970-01-01T00:00:00Z.
    started_ms: u64,
    /// When it was closed; none while it is open.
    ended_ms: Option<u64>,
    /// How it ended; none while it is open.
    outcome: Option<OutcomeShown>,
    /// The vehicle or machine, where the record says so.
    vehicle: Option<String>,
    /// Who had it last, where that was said.
    by: Option<String>,
    /// The part that it waits for; none where it waits for none.
    waiting: Option<Waiting>,
}

/// What a job waits for.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Waiting {
    /// What the part is called; none where nobody named it.
    part: Option<String>,
    /// Since when, in milliseconds since 1970-01-01T00:00:00Z.
    since_ms: u64,
}

impl From<WaitingFor> for Waiting {
    fn from(waiting: WaitingFor) -> Self {
        Self {
            part: waiting.part,
            since_ms: waiting.since.0,
        }
    }
}

/// A job and what stands on its record.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct JobRecord {
    /// The job.
    job: JobListed,
    /// The vehicle or machine, where the record says so.
    vehicle: Option<String>,
    /// Who had it last, where that was said.
    by: Option<String>,
    /// Whether nothing was changed since it was written.
    whole: bool,
    /// What checking came to, in words.
    verified: String,
    /// All entries, in order.
    entries: Vec<EntryShown>,
}

/// One entry of a record.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct EntryShown {
    /// When, in milliseconds since 1970-01-01T00:00:00Z.
    at_ms: u64,
    /// Its kind: "opened", "gate-opened", "noted" and so on.
    kind: String,
    /// In words.
    text: String,
    /// The same as the record has it, with identifiers and hashes.
    proof: String,
    /// Of a note its number, from 1: photos are attached to it.
    note: Option<usize>,
}

impl Desk {
    /// The records, where there are any to read.
    pub(super) fn records(&self) -> Result<&Archive, Problem> {
        self.room.records.as_ref().ok_or_else(|| {
            Problem::new(
                StatusCode::NOT_FOUND,
                "No records are shown here. Start the page with a records folder.",
            )
        })
    }
}

/// The name of a job, where the text could be one.
pub(super) fn id_of(name: &str) -> Result<JobId, Problem> {
    let fits = (1..=200).contains(&name.len())
        && name
            .bytes()
            .all(|byte| byte.is_ascii_alphanumeric() || byte == b'-');
    fits.then(|| JobId::new(name))
        .ok_or_else(|| Problem::not_found("job"))
}

/// What a record's error is to a viewer.
pub(super) fn of_record(error: &RecordError) -> Problem {
    let status = match error {
        RecordError::NoSuchJob { .. } | RecordError::NoSuchNote { .. } => StatusCode::NOT_FOUND,
        RecordError::InUse { .. } | RecordError::Closed { .. } => StatusCode::CONFLICT,
        RecordError::Photo { .. } => StatusCode::UNPROCESSABLE_ENTITY,
        RecordError::Folder { .. }
        | RecordError::ReadOnly { .. }
        | RecordError::Full { .. }
        | RecordError::Disk { .. }
        | RecordError::Damaged { .. }
        | RecordError::Newer { .. }
        | RecordError::NotOurs { .. }
        | RecordError::Busy { .. }
        | RecordError::Database { .. }
        | RecordError::OtherProcedure { .. }
        | RecordError::ProcedureChanged { .. }
        | RecordError::ReplayDiffers { .. }
        | RecordError::NotWhole { .. }
        | RecordError::Unsealed { .. }
        | RecordError::Key { .. }
        | RecordError::NewerJob { .. }
        | RecordError::Export { .. }
        | RecordError::Sound { .. }
        | RecordError::Json { .. } => StatusCode::INTERNAL_SERVER_ERROR,
    };
    Problem::new(status, format!("{}.", steps::with_causes(error)))
}

impl JobListed {
    pub(super) fn of(job: JobSummary, who: Particulars) -> Self {
        Self {
            vehicle: who.vehicle,
            by: who.by,
            waiting: who.waiting.map(Waiting::from),
            name: job.id.to_string(),
            title: job.title,
            procedure: job.procedure.to_string(),
            rehearsal: job.mode == Mode::Rehearsal,
            recordings: job.mode == Mode::Recordings,
            started_ms: job.started.0,
            ended_ms: job.outcome.map(|_| job.last.0),
            outcome: job.outcome.map(OutcomeShown::from),
        }
    }
}

impl From<Outcome> for OutcomeShown {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Finished => Self::Finished,
            Outcome::Abandoned => Self::Abandoned,
        }
    }
}

/// The jobs on record, the newest first.
#[utoipa::path(get, path = "/api/jobs", params(Wanted), responses(
    (status = 200, description = "The jobs.", body = Vec<JobListed>),
    (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
    (status = "5XX", description = "The records can't be read.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn jobs(
    State(desk): State<Desk>,
    wanted: Result<Query<Wanted>, QueryRejection>,
) -> Result<Answer<Vec<JobListed>>, Problem> {
    let wrong = |_| {
        Problem::new(
            StatusCode::BAD_REQUEST,
            "`limit`, `before` and `from` are whole numbers, and each is given once. Leave them out for the newest jobs.",
        )
    };
    let Query(wanted) = wanted.map_err(wrong)?;
    let limit = wanted.limit.unwrap_or(USUAL);
    if !(1..=MOST).contains(&limit) {
        return Err(Problem::new(
            StatusCode::BAD_REQUEST,
            format!("`limit` is a number from 1 to {MOST}."),
        ));
    }
    for (name, at) in [("before", wanted.before), ("from", wanted.from)] {
        if at.is_some_and(|at| at > LAST_MS) {
            return Err(Problem::new(
                StatusCode::BAD_REQUEST,
                format!("`{name}` is at most {LAST_MS}, the end of the year 9999."),
            ));
        }
    }
    let search = record::Wanted {
        text: words("text", wanted.text)?,
        vehicle: words("vehicle", wanted.vehicle)?,
        person: words("person", wanted.person)?,
        procedure: words("procedure", wanted.procedure)?.map(|it| Id::new(&it)),
        from: wanted.from.map(Moment),
        ..record::Wanted::default()
    };
    let everything = search == record::Wanted::default();
    // A search may read every record: one at a time.
    let permit = match everything {
        true => None,
        false => desk.search_permit.clone().acquire_owned().await.ok(),
    };
    desk.aside(move |desk| {
        let _held = permit;
        let records = desk.records()?;
        let page = ListPage {
            after: wanted.after.map(|after| JobId::new(&after)),
            before: wanted.before.map(Moment),
            most: Some(limit),
        };
        let jobs = match everything {
            true => records.page(&page),
            false => records
                .search(&search)
                .map(|found| page.of(found, |job| (&job.id, job.started))),
        };
        let jobs = jobs
            .map_err(|error| of_record(&error))?
            .into_iter()
            .map(|job| {
                let who = desk.particulars.of(records, &job);
                JobListed::of(job, who)
            });
        Ok(Answer(jobs.collect()))
    })
    .await
}

/// Words that are searched for; none where they are empty.
fn words(name: &str, words: Option<String>) -> Result<Option<String>, Problem> {
    let words = words.map(|it| it.trim().to_owned());
    let words = words.filter(|it| !it.is_empty());
    match &words {
        Some(long) if long.chars().count() > MOST_TEXT => Err(Problem::new(
            StatusCode::BAD_REQUEST,
            format!("`{name}` has at most {MOST_TEXT} characters."),
        )),
        Some(_) | None => Ok(words),
    }
}

/// What can't be read of the records, where they are damaged.
#[utoipa::path(get, path = "/api/lost", responses(
    (status = 200, description = "What is lost; empty where the records aren't damaged.", body = Vec<String>),
    (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn lost(State(desk): State<Desk>) -> Result<Answer<Vec<String>>, Problem> {
    let lost = desk.records()?.lost().iter();
    Ok(Answer(lost.map(ToString::to_string).collect()))
}

/// A job and what stands on its record.
#[utoipa::path(get, path = "/api/jobs/{name}",
    params(("name" = String, Path, description = "The job's name.")),
    responses(
        (status = 200, description = "The record.", body = JobRecord),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
        (status = "5XX", description = "The record can't be read.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn job(
    State(desk): State<Desk>,
    Named(name): Named<String>,
) -> Result<Answer<JobRecord>, Problem> {
    desk.aside(move |desk| {
        let record = desk
            .records()?
            .report(&id_of(&name)?)
            .map_err(|error| of_record(&error))?;
        Ok(Answer(JobRecord::of(record)))
    })
    .await
}

impl JobRecord {
    fn of(record: record::Report) -> Self {
        let lines = record.lines.iter().map(|line| (line.at, &line.entry));
        let Particulars {
            vehicle,
            by,
            waiting,
        } = Particulars::of(lines);
        let mut notes = 0;
        let entries = record.lines.iter().map(|line| {
            let note = matches!(line.entry, Entry::Noted { .. }).then(|| {
                notes += 1;
                notes
            });
            EntryShown {
                at_ms: line.at.0,
                kind: kind(&line.entry),
                text: plain::words(line, &record.lines, record.language),
                proof: line.words(record.language),
                note,
            }
        });
        Self {
            entries: entries.collect(),
            vehicle: vehicle.clone(),
            by: by.clone(),
            whole: record.whole,
            verified: record.verified.clone(),
            job: JobListed {
                name: record.job.to_string(),
                title: record.title.clone(),
                procedure: record.procedure.to_string(),
                rehearsal: record.mode == Mode::Rehearsal,
                recordings: record.mode == Mode::Recordings,
                started_ms: record.opened.0,
                ended_ms: record.outcome.map(|_| record.last.0),
                outcome: record.outcome.map(OutcomeShown::from),
                vehicle,
                by,
                waiting: waiting.map(Waiting::from),
            },
        }
    }
}

/// The entry's kind, as the journal has it.
fn kind(entry: &Entry) -> String {
    let json = serde_json::to_value(entry).unwrap_or_default();
    json["entry"].as_str().unwrap_or_default().to_owned()
}

/// A report, and what is shown in it.
fn reported(desk: &Desk, name: &str) -> Result<(JobReport, Vec<Picture>), Problem> {
    let (records, id) = (desk.records()?, id_of(name)?);
    let mut record = records.report(&id).map_err(|error| of_record(&error))?;
    // Where the procedure is still the one that the job was worked by, the record is replayed to prove it.
    let same = desk
        .procedures()
        .iter()
        .find(|it| it.id == record.procedure && it.sha256 == record.procedure_sha256);
    if let Some(procedure) = same {
        record = records
            .report_replayed(&id, Arc::clone(procedure))
            .map_err(|error| of_record(&error))?;
    }
    let photos = record
        .photos
        .iter()
        .zip(1..)
        .filter_map(|(attached, number)| {
            let (jpeg, width, height) = records.shown(&attached.photo, PHOTO_SIDE)?;
            Some(Picture {
                number,
                jpeg,
                width,
                height,
            })
        });
    let photos = photos.collect();
    Ok((JobReport::of(&record), photos))
}

/// A report to look at or to keep.
fn document(kind: &'static str, name: Option<&str>, bytes: impl Into<Vec<u8>>) -> Response {
    let mut response = bytes.into().into_response();
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(REPORT_POLICY),
    );
    if let Some(name) = name
        && let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\""))
    {
        headers.insert(header::CONTENT_DISPOSITION, value);
    }
    response
}

fn not_made(error: impl std::fmt::Display) -> Problem {
    Problem::new(StatusCode::INTERNAL_SERVER_ERROR, format!("{error}."))
}

/// A job's report as one HTML document.
#[utoipa::path(get, path = "/api/jobs/{name}/report",
    params(("name" = String, Path, description = "The job's name.")),
    responses(
        (status = 200, description = "The report.", body = String, content_type = "text/html"),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
        (status = "5XX", description = "The record can't be read.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn report_html(
    State(desk): State<Desk>,
    Named(name): Named<String>,
) -> Result<Response, Problem> {
    desk.aside(move |desk| {
        let (report, photos) = reported(desk, &name)?;
        let html = report.html(&desk.room.shop, &photos, Paper::A4, &TimeZone::system());
        Ok(document("text/html; charset=utf-8", None, html))
    })
    .await
}

/// A job's report as PDF.
#[utoipa::path(get, path = "/api/jobs/{name}/report.pdf",
    params(("name" = String, Path, description = "The job's name.")),
    responses(
        (status = 200, description = "The report.", body = Vec<u8>, content_type = "application/pdf"),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
        (status = "5XX", description = "The record can't be read.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn report_pdf(
    State(desk): State<Desk>,
    Named(name): Named<String>,
) -> Result<Response, Problem> {
    desk.aside(move |desk| {
        let (report, photos) = reported(desk, &name)?;
        let pdf = report
            .pdf(&desk.room.shop, &photos, Paper::A4, &TimeZone::system())
            .map_err(not_made)?;
        Ok(document(
            "application/pdf",
            Some(&format!("{name}.pdf")),
            pdf,
        ))
    })
    .await
}

/// A job's report as a table (RFC 4180).
#[utoipa::path(get, path = "/api/jobs/{name}/report.csv",
    params(("name" = String, Path, description = "The job's name.")),
    responses(
        (status = 200, description = "The report.", body = String, content_type = "text/csv"),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
        (status = "5XX", description = "The record can't be read.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn report_csv(
    State(desk): State<Desk>,
    Named(name): Named<String>,
) -> Result<Response, Problem> {
    desk.aside(move |desk| {
        let csv = reported(desk, &name)?.0.csv().map_err(not_made)?;
        Ok(document(
            "text/csv; charset=utf-8",
            Some(&format!("{name}.csv")),
            csv,
        ))
    })
    .await
}

/// A job's report for other programs.
#[utoipa::path(get, path = "/api/jobs/{name}/report.json",
    params(("name" = String, Path, description = "The job's name.")),
    responses(
        (status = 200, description = "The report.", body = serde_json::Value),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
        (status = "5XX", description = "The record can't be read.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn report_json(
    State(desk): State<Desk>,
    Named(name): Named<String>,
) -> Result<Response, Problem> {
    desk.aside(move |desk| {
        let json = reported(desk, &name)?.0.json().map_err(not_made)?;
        Ok(document(
            "application/json",
            Some(&format!("{name}.json")),
            json,
        ))
    })
    .await
}
