//! Many jobs by one procedure, side by side: which parts take long or very different times, where
//! technicians ask, where a gate refuses, where readings come out of limits. There the procedure, or the
//! vehicle, wants a closer look.

mod chart;

use crate::{Course, Part};
use record::{Archive, Ended, JobId, RecordError, Wanted};
use serde::Serialize;
use std::collections::BTreeMap;
use steps::procedure::Action;
use steps::{Id, Mode, Outcome, Procedure};

/// How many of the newest finished jobs tell how long a step usually takes. Older ones would slow the start
/// of a job and tell of former wordings.
const USUAL_OF: usize = 50;

/// The middle of a row of times, and how far they lie apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Quartiles {
    /// A quarter is below.
    pub first: f64,
    /// Half is below.
    pub median: f64,
    /// Three quarters are below.
    pub third: f64,
}

impl Quartiles {
    /// By method 7 of Hyndman and Fan, "Sample Quantiles in Statistical Packages", The American Statistician
    /// 50 (1996): between the order statistics around 1 + (n − 1)p, linearly. `None` of no values at all.
    pub fn of(values: &[f64]) -> Option<Self> {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        Some(Self {
            first: quantile(&sorted, 0.25)?,
            median: quantile(&sorted, 0.5)?,
            third: quantile(&sorted, 0.75)?,
        })
    }
}

fn quantile(sorted: &[f64], part: f64) -> Option<f64> {
    let place = part * sorted.len().checked_sub(1)? as f64;
    let below = place.floor();
    let low = *sorted.get(below as usize)?;
    let high = *sorted.get(place.ceil() as usize)?;
    Some(low + (place - below) * (high - low))
}

/// One part of a procedure over many jobs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartStatistics {
    /// Which.
    #[serde(flatten)]
    pub part: Part,
    /// In how many jobs it was done.
    pub jobs: usize,
    /// Its time in a job, in seconds; where it was done twice in a job, both together.
    pub seconds: Quartiles,
    /// What was asked meanwhile and how often, most often first.
    pub questions: Vec<(&'static str, u32)>,
    /// How often a gate stayed closed meanwhile.
    pub refusals: u32,
    /// How often its value was out of limits.
    pub out_of_limits: u32,
}

impl PartStatistics {
    /// How many questions were asked, all together.
    pub fn asked(&self) -> u32 {
        self.questions.iter().map(|(_, count)| count).sum()
    }
}

/// A procedure over many jobs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Statistics {
    /// The procedure.
    pub procedure: Id,
    /// How many jobs were counted.
    pub jobs: usize,
    /// The whole job's time in seconds, of finished jobs.
    pub seconds: Option<Quartiles>,
    /// Its parts, in the order in which the jobs mostly come to them.
    pub parts: Vec<PartStatistics>,
    /// What was asked over the whole job, most often first.
    pub questions: Vec<(&'static str, u32)>,
    /// Jobs that were left out because their record isn't whole: the first entry that is wrong, and why.
    pub left_out: Vec<(JobId, String)>,
}

impl Statistics {
    /// What these jobs by one procedure come to together.
    pub fn of(procedure: &Id, courses: &[Course]) -> Self {
        let mut gathered: BTreeMap<Part, Gathered> = BTreeMap::new();
        let mut questions = BTreeMap::new();
        let mut whole = Vec::new();
        for course in courses {
            for (part, in_job) in in_one_job(course) {
                count(&mut questions, &in_job.questions);
                gathered.entry(part).or_default().add(in_job);
            }
            if course.outcome == Some(Outcome::Finished) {
                let milliseconds: u64 = course.stages.iter().map(|it| it.milliseconds).sum();
                whole.push(seconds(milliseconds));
            }
        }
        let mut parts: Vec<_> = gathered
            .into_iter()
            .filter_map(|(part, it)| Some((mean(&it.places), it.of(part)?)))
            .collect();
        parts.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        Self {
            procedure: procedure.clone(),
            jobs: courses.len(),
            seconds: Quartiles::of(&whole),
            parts: parts.into_iter().map(|(_, part)| part).collect(),
            questions: most_often_first(questions),
            left_out: Vec::new(),
        }
    }

    /// A picture of it, as SVG: a bar from the first to the third quartile of each part's time with a mark
    /// at the median, and beside it what was asked, refused and out of limits.
    pub fn picture(&self) -> String {
        chart::of(self)
    }
}

/// What the jobs by one procedure come to together, rehearsals left out. `wanted` narrows them further;
/// its procedure is set to this one.
///
/// # Errors
/// When the jobs can't be listed. One job that can't be read is left out, and named.
pub fn statistics(
    archive: &Archive,
    procedure: &Id,
    wanted: &Wanted,
) -> Result<Statistics, RecordError> {
    let wanted = Wanted {
        procedure: Some(procedure.clone()),
        ..wanted.clone()
    };
    let (mut courses, mut left_out) = (Vec::new(), Vec::new());
    for job in archive.search(&wanted)? {
        if !job.mode.proves_work() {
            continue;
        }
        match Course::read(archive, &job.id) {
            Ok(course) => courses.push(course),
            Err(RecordError::NotWhole { seq, fault, .. }) => {
                left_out.push((job.id, format!("entry {seq} {fault}")));
            }
            Err(error) => left_out.push((job.id, steps::with_causes(&error))),
        }
    }
    Ok(Statistics {
        left_out,
        ..Statistics::of(procedure, &courses)
    })
}

/// The usual minutes of each step: the median over the newest finished jobs by this procedure,
/// rehearsals left out. A step that was never done before isn't there. Jobs that can't be read are
/// passed over.
///
/// # Errors
/// When the jobs can't be listed.
pub fn usual_minutes(
    archive: &Archive,
    procedure: &Procedure,
) -> Result<BTreeMap<Id, f64>, RecordError> {
    let wanted = Wanted {
        procedure: Some(procedure.id.clone()),
        ended: Some(Ended::Finished),
        ..Wanted::default()
    };
    let courses: Vec<_> = archive
        .search(&wanted)?
        .into_iter()
        .filter(|job| job.mode == Mode::Work)
        .filter_map(|job| Course::read(archive, &job.id).ok())
        .take(USUAL_OF)
        .collect();
    let minutes = usual_minutes_of_parts(&courses);
    let part_of = |action: &Action, step: &Id| match action {
        Action::Hold(gate) => Part::Gate(gate.clone()),
        Action::Measure(reading) => Part::Reading(reading.clone()),
        _told_done => Part::Step(step.clone()),
    };
    let parts: Vec<_> = procedure
        .steps
        .iter()
        .map(|step| (&step.id, part_of(&step.action, &step.id)))
        .collect();
    let of_step = |(id, part): &(&Id, Part)| {
        // The record doesn't tell two holds at one gate apart; they share its time.
        let sharing = parts.iter().filter(|(_, other)| other == part).count();
        Some(((*id).clone(), minutes.get(part)? / sharing as f64))
    };
    Ok(parts.iter().filter_map(of_step).collect())
}

/// The usual minutes of each part, its median over finished jobs that weren't rehearsals.
pub fn usual_minutes_of_parts(courses: &[Course]) -> BTreeMap<Part, f64> {
    let mut times: BTreeMap<Part, Vec<f64>> = BTreeMap::new();
    let finished = courses
        .iter()
        .filter(|it| it.mode == Mode::Work && it.outcome == Some(Outcome::Finished));
    for (part, in_job) in finished.flat_map(in_one_job) {
        times
            .entry(part)
            .or_default()
            .push(seconds(in_job.milliseconds) / 60.0);
    }
    times
        .into_iter()
        .filter_map(|(part, minutes)| Some((part, Quartiles::of(&minutes)?.median)))
        .collect()
}

/// One part in one job, all times it was done together.
#[derive(Debug, Default)]
struct InJob {
    /// Where it came first.
    place: usize,
    milliseconds: u64,
    questions: Vec<&'static str>,
    refusals: u32,
    out_of_limits: u32,
}

fn in_one_job(course: &Course) -> BTreeMap<Part, InJob> {
    let mut parts: BTreeMap<Part, InJob> = BTreeMap::new();
    for (place, stage) in course.stages.iter().enumerate() {
        let part = parts.entry(stage.part.clone()).or_insert_with(|| InJob {
            place,
            ..InJob::default()
        });
        part.milliseconds = part.milliseconds.saturating_add(stage.milliseconds);
        part.questions.extend(&stage.questions);
        part.refusals += stage.refusals;
        part.out_of_limits += u32::from(stage.out_of_limits);
    }
    parts
}

/// One part, gathered over jobs.
#[derive(Debug, Default)]
struct Gathered {
    places: Vec<f64>,
    seconds: Vec<f64>,
    questions: BTreeMap<&'static str, u32>,
    refusals: u32,
    out_of_limits: u32,
}

impl Gathered {
    fn add(&mut self, in_job: InJob) {
        self.places.push(in_job.place as f64);
        self.seconds.push(seconds(in_job.milliseconds));
        count(&mut self.questions, &in_job.questions);
        self.refusals += in_job.refusals;
        self.out_of_limits += in_job.out_of_limits;
    }

    fn of(self, part: Part) -> Option<PartStatistics> {
        Some(PartStatistics {
            part,
            jobs: self.seconds.len(),
            seconds: Quartiles::of(&self.seconds)?,
            questions: most_often_first(self.questions),
            refusals: self.refusals,
            out_of_limits: self.out_of_limits,
        })
    }
}

fn count(counts: &mut BTreeMap<&'static str, u32>, questions: &[&'static str]) {
    for question in questions {
        *counts.entry(question).or_default() += 1;
    }
}

fn most_often_first(counts: BTreeMap<&'static str, u32>) -> Vec<(&'static str, u32)> {
    let mut counts: Vec<_> = counts.into_iter().collect();
    counts.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    counts
}

fn seconds(milliseconds: u64) -> f64 {
    milliseconds as f64 / 1000.0
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}
