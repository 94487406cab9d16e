//! Many jobs by one procedure, side by side: which parts take long or very different times, where
//! technicians ask, where a gate refuses, where readings come out of limits. There the procedure, or the
//! vehicle, wants a closer look.

mod chart;

use crate::{Course, Part, PhaseTime};
use record::{Archive, Ended, Event, JobId, RecordError, Wanted, WholeRecord};
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use steps::procedure::Action;
use steps::{Id, Mode, Outcome, PauseReason, Procedure};

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
    /// Its time in a job, in seconds; where it was done twice in a job, both together. Jobs in which it isn't known don't
    /// count; `None` where no job tells it.
    pub seconds: Option<Quartiles>,
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

/// A phase of a procedure over many jobs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PhaseStatistics {
    pub name: String,
    /// In how many jobs its time is known.
    pub jobs: usize,
    /// Its time in a job without pauses, in seconds; `None` where no job tells it.
    pub seconds: Option<Quartiles>,
    /// What the procedure of the newest job estimates, in minutes.
    pub estimate_minutes: Option<u64>,
}

/// The pauses for one reason over many jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct PauseStatistics {
    /// `None` where nobody gave one.
    pub reason: Option<PauseReason>,
    /// How many there were.
    pub times: u32,
    /// How long they were all together, as far as that is known.
    pub seconds: u64,
    /// How many of them were of a length that nobody knows.
    pub unknown: u32,
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
    /// How many finished jobs have a time that nobody knows, and so don't count for the whole job's.
    pub unknown: usize,
    /// Its phases, in order.
    pub phases: Vec<PhaseStatistics>,
    /// What the jobs were put down for.
    pub pauses: Vec<PauseStatistics>,
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
        let (mut whole, mut unknown) = (Vec::new(), 0);
        for course in courses {
            for (part, in_job) in in_one_job(course) {
                count(&mut questions, &in_job.questions);
                gathered.entry(part).or_default().add(in_job);
            }
            if course.outcome == Some(Outcome::Finished) {
                let times = course.stages.iter().map(|it| it.milliseconds);
                match course.stages.iter().any(|it| it.unknown) {
                    true => unknown += 1,
                    false => whole.push(seconds(times.fold(0, u64::saturating_add))),
                }
            }
        }
        let mut parts: Vec<_> = gathered
            .into_iter()
            .map(|(part, it)| (mean(&it.places), it.of(part)))
            .collect();
        parts.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        Self {
            procedure: procedure.clone(),
            jobs: courses.len(),
            seconds: Quartiles::of(&whole),
            unknown,
            phases: phases(courses),
            pauses: pauses(courses),
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
    let mut procedures = Procedures::default();
    for job in archive.search(&wanted)? {
        if !job.mode.proves_work() {
            continue;
        }
        let read = archive.whole(&job.id);
        match read.map(|record| Course::of(&record, procedures.of(archive, &record).as_deref())) {
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
        .filter_map(|job| Course::read(archive, &job.id, Some(procedure)).ok())
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
    let known = finished.flat_map(in_one_job).filter(|(_, it)| !it.unknown);
    for (part, in_job) in known {
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

/// The procedures that jobs were worked by, each read once.
#[derive(Default)]
struct Procedures(BTreeMap<String, Option<Arc<Procedure>>>);

impl Procedures {
    fn of(&mut self, archive: &Archive, record: &WholeRecord) -> Option<Arc<Procedure>> {
        let texts = record
            .events
            .iter()
            .rev()
            .filter_map(|(_, event)| match event {
                Event::Opened { sha256, .. } | Event::TakenUp { sha256, .. } => Some(sha256),
                _other => None,
            });
        let last = texts.take(1).next()?;
        let known = self.0.entry(last.clone());
        let kept = known.or_insert_with(|| archive.procedure_of(&record.job).ok().flatten());
        kept.clone()
    }
}

/// The phases over all jobs, in the order of the newest job that has them.
fn phases(courses: &[Course]) -> Vec<PhaseStatistics> {
    let mut newest: Vec<&Course> = courses.iter().collect();
    newest.sort_by_key(|course| std::cmp::Reverse(course.opened));
    let mut all: Vec<(&PhaseTime, Vec<f64>)> = Vec::new();
    for phase in newest.iter().flat_map(|course| &course.labour.phases) {
        let at = all.iter().position(|(known, _)| known.name == phase.name);
        let at = at.unwrap_or_else(|| {
            all.push((phase, Vec::new()));
            all.len() - 1
        });
        if !phase.unknown {
            all[at].1.push(seconds(phase.milliseconds));
        }
    }
    all.into_iter()
        .map(|(phase, times)| PhaseStatistics {
            name: phase.name.clone(),
            jobs: times.len(),
            seconds: Quartiles::of(&times),
            estimate_minutes: phase.estimate.map(|it| it.as_secs() / 60),
        })
        .collect()
}

fn pauses(courses: &[Course]) -> Vec<PauseStatistics> {
    let reasons = PauseReason::ALL.map(Some).into_iter().chain([None]);
    let of = |reason: Option<PauseReason>| {
        let mut all = PauseStatistics {
            reason,
            times: 0,
            seconds: 0,
            unknown: 0,
        };
        let pauses = courses.iter().flat_map(|course| &course.labour.pauses);
        for pause in pauses.filter(|pause| pause.reason == reason) {
            all.times += pause.times;
            all.seconds = all.seconds.saturating_add(pause.milliseconds / 1000);
            all.unknown += pause.unknown;
        }
        (all.times > 0).then_some(all)
    };
    reasons.filter_map(of).collect()
}

/// One part in one job, all times it was done together.
#[derive(Debug, Default)]
struct InJob {
    /// Where it came first.
    place: usize,
    milliseconds: u64,
    unknown: bool,
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
        part.unknown |= stage.unknown;
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
        if !in_job.unknown {
            self.seconds.push(seconds(in_job.milliseconds));
        }
        count(&mut self.questions, &in_job.questions);
        self.refusals += in_job.refusals;
        self.out_of_limits += in_job.out_of_limits;
    }

    fn of(self, part: Part) -> PartStatistics {
        PartStatistics {
            part,
            jobs: self.places.len(),
            seconds: Quartiles::of(&self.seconds),
            questions: most_often_first(self.questions),
            refusals: self.refusals,
            out_of_limits: self.out_of_limits,
        }
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
