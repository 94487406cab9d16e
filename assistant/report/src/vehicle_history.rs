//! What the jobs on one vehicle come to: what was measured last, and what is due.
//!
//! # Until when is something due?
//!
//! What is to be tightened again, until a later job tightened the same; what was out of limits, until a later job measured
//! it; what was left off or for later, until a later job by the same procedure was finished. What was put right without a
//! job on record stays due. Only work counts: rehearsals and jobs from recordings leave and settle nothing.

use crate::gather::capital;
use record::{JobId, WholeRecord};
use std::collections::{BTreeMap, BTreeSet};
use steps::codes::{InWords, Kept, limits};
use steps::{Entry, Id, Language, Moment, Outcome, TakenBack};

/// What the jobs on one vehicle come to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct VehicleHistory {
    /// The last value of each reading, the newest first.
    pub measured: Vec<Measured>,
    /// What is still to be done, the newest first.
    pub due: Vec<Due>,
}

/// The last value of a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measured {
    /// The job in which it was measured.
    pub job: JobId,
    pub at: Moment,
    /// What was measured.
    pub name: String,
    /// With its unit.
    pub value: String,
    /// In words, where there are any.
    pub limits: Option<String>,
    pub within: bool,
}

/// Something that is still to be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    /// The job that left it.
    pub job: JobId,
    pub since: Moment,
    /// What, in words.
    pub what: String,
}

impl VehicleHistory {
    /// Of the vehicle's jobs, the newest first.
    pub fn of<'a>(records: impl IntoIterator<Item = &'a WholeRecord>) -> Self {
        let mut history = Self::default();
        let mut later = Later::default();
        for record in records.into_iter().filter(|it| it.mode.proves_work()) {
            history.take(record, &mut later);
        }
        history
    }

    fn take(&mut self, record: &WholeRecord, later: &mut Later) {
        let language = language(record);
        let mut readings: BTreeMap<&Id, Measured> = BTreeMap::new();
        let mut tightened = BTreeSet::new();
        let mut left: Vec<(Moment, String)> = Vec::new();
        let mut finished = false;
        for line in &record.lines {
            if let Entry::Read {
                reading,
                name,
                value,
                unit,
                limits: formerly,
                within,
                range,
                ..
            } = &line.entry
            {
                let measured = Measured {
                    job: record.job.clone(),
                    at: line.at,
                    name: name.clone(),
                    value: format!("{value} {unit}"),
                    limits: limits(*range, unit, formerly.as_deref()),
                    within: *within,
                };
                readings.insert(reading, measured);
            } else if let Entry::TakenBack {
                what: TakenBack::Reading { reading },
                ..
            } = &line.entry
            {
                readings.remove(reading);
            } else if let Entry::Tightened { what, .. } = &line.entry {
                tightened.insert(match what {
                    Kept::Data(group) => group.name.clone(),
                    Kept::Told(told) => told.clone(),
                });
            } else if let Entry::Closed {
                outcome,
                outstanding,
                again,
            } = &line.entry
            {
                finished = *outcome == Outcome::Finished;
                let done_since = |it: &Kept<steps::codes::TightenAgain>| match it {
                    Kept::Data(it) => later.tightened.contains(&it.name),
                    Kept::Told(_) => false,
                };
                let again = again.iter().filter(|it| !done_since(it));
                let again = again.map(|it| it.words(language));
                let outstanding = outstanding.iter().map(|it| match it.is_deferred() {
                    true => format!("left for later: {}", it.words(language)),
                    false => format!("not in place: {}", it.words(language)),
                });
                let outstanding =
                    outstanding.filter(|_| !later.finished.contains(&record.procedure));
                left.extend(again.chain(outstanding).map(|what| (line.at, what)));
            }
        }
        let measured = readings
            .into_values()
            .filter(|it| later.measured.insert(it.name.clone()));
        let mut measured: Vec<Measured> = measured.collect();
        measured.sort_by_key(|it| std::cmp::Reverse(it.at));
        let out = measured.iter().filter(|it| !it.within);
        let out = out.map(|it| (it.at, out_of_limits(it)));
        let due: Vec<_> = left.into_iter().chain(out).collect();
        self.due.extend(due.into_iter().map(|(since, what)| Due {
            job: record.job.clone(),
            since,
            what: capital(&what),
        }));
        self.measured.extend(measured);
        later.tightened.extend(tightened);
        if finished {
            later.finished.insert(record.procedure.clone());
        }
    }
}

/// What jobs that come later have settled.
#[derive(Debug, Default)]
struct Later {
    tightened: BTreeSet<String>,
    measured: BTreeSet<String>,
    /// Procedures of finished jobs.
    finished: BTreeSet<Id>,
}

fn language(record: &WholeRecord) -> Language {
    let mut opened = record.lines.iter().filter_map(|line| match &line.entry {
        Entry::Opened { language, .. } => Some(*language),
        _other => None,
    });
    opened.next().unwrap_or_default()
}

fn out_of_limits(it: &Measured) -> String {
    let limits = it.limits.as_ref();
    let limits = limits.map(|it| format!(" ({it})")).unwrap_or_default();
    format!("out of limits: {} {}{limits}", it.name, it.value)
}
