//! Which jobs are looked for among all.

use crate::line::{language, told};
use crate::{Archive, JobSummary, Line, RecordError};
use steps::{Entry, Id, Moment, Outcome};

/// How a job stands that is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Not closed yet.
    Open,
    /// Closed, finished.
    Finished,
    /// Closed, given up.
    GivenUp,
}

impl Ended {
    /// How a job with this outcome stands.
    pub fn of(outcome: Option<Outcome>) -> Self {
        match outcome {
            None => Self::Open,
            Some(Outcome::Finished) => Self::Finished,
            Some(Outcome::Abandoned) => Self::GivenUp,
        }
    }
}

/// What a job must be to be found. What is left out asks for nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wanted {
    /// The procedure that it is worked by.
    pub procedure: Option<Id>,
    /// Somebody who worked on it or signed it, by name or a part of it.
    pub person: Option<String>,
    /// The vehicle, by words of its name, in capitals or not.
    pub vehicle: Option<String>,
    /// Opened then or later.
    pub from: Option<Moment>,
    /// Opened before that.
    pub before: Option<Moment>,
    /// How it stands.
    pub ended: Option<Ended>,
    /// Whether it must wait for a part.
    pub waiting: bool,
    /// Words on its record, its name, its title or its vehicle, in capitals or not.
    pub text: Option<String>,
}

impl Wanted {
    /// Whether the list of jobs alone lets this one pass.
    fn lists(&self, job: &JobSummary) -> bool {
        self.procedure
            .as_ref()
            .is_none_or(|it| *it == job.procedure)
            && self.from.is_none_or(|from| job.started >= from)
            && self.before.is_none_or(|before| job.started < before)
            && self.ended.is_none_or(|it| it == Ended::of(job.outcome))
    }

    /// Whether what stands on its record lets it pass.
    fn reads(&self, job: &JobSummary, lines: &[Line]) -> bool {
        let text = self.text.as_deref().map(str::to_lowercase);
        let language = language(lines.iter().map(|line| &line.entry));
        let has = |text: &str| {
            contains(job.id.as_str(), text)
                || contains(&job.title, text)
                || lines.iter().any(|line| {
                    contains(vehicle(&line.entry), text)
                        || contains(&told(&line.entry, language), text)
                })
        };
        let person = self.person.as_deref().map(str::to_lowercase);
        let about = self.vehicle.as_deref().map(str::to_lowercase);
        let on = |words: &str| {
            let mut vehicles = lines.iter().map(|line| vehicle(&line.entry));
            vehicles.any(|vehicle| contains(vehicle, words))
        };
        let by = |person: &str| {
            lines
                .iter()
                .filter_map(|line| named(&line.entry))
                .any(|name| contains(name, person))
        };
        text.is_none_or(|it| has(&it))
            && person.is_none_or(|it| by(&it))
            && about.is_none_or(|it| on(&it))
    }
}

fn contains(text: &str, lowercase: &str) -> bool {
    text.to_lowercase().contains(lowercase)
}

/// The vehicle that an entry says the job is for.
fn vehicle(entry: &Entry) -> &str {
    match entry {
        Entry::Opened { vehicle, .. } => vehicle,
        _other => "",
    }
}

/// Who an entry says worked or signed.
fn named(entry: &Entry) -> Option<&str> {
    if let Entry::WorkedBy { person }
    | Entry::TakenOver { person, .. }
    | Entry::Signed { person, .. } = entry
    {
        Some(person)
    } else {
        None
    }
}

impl Archive {
    /// The jobs that are as wanted, the newest first. A record is opened only for what the list of jobs
    /// doesn't tell; of one that can't be read only its name and title are searched.
    ///
    /// # Errors
    /// When the list of jobs can't be read.
    pub fn search(&self, wanted: &Wanted) -> Result<Vec<JobSummary>, RecordError> {
        let mut jobs = self.jobs()?;
        jobs.retain(|job| wanted.lists(job));
        if wanted.waiting {
            jobs.retain(|job| self.waiting_for(job).is_some());
        }
        if wanted.text.is_some() || wanted.person.is_some() || wanted.vehicle.is_some() {
            jobs.retain(|job| {
                let lines = self.past(&job.id).map(|past| past.lines());
                wanted.reads(job, &lines.unwrap_or_default())
            });
        }
        Ok(jobs)
    }
}
