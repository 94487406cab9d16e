//! How long a job takes, and how long is left of it.
//!
//! A step takes what earlier jobs took for it (their median, where some are on record), else what the procedure says,
//! else its share of the procedure's time: what the steps with a time of their own leave over is spread evenly. A wait
//! that runs beside the work takes nothing where it begins; where it must be over, what the steps between have not
//! covered comes on top.

use super::{Procedure, Step, WaitTime};
use crate::Id;
use std::collections::BTreeMap;
use std::time::Duration;

/// How long is left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeLeft {
    /// Of the whole job.
    pub whole: Duration,
    /// From here to its end.
    pub left: Duration,
}

impl TimeLeft {
    /// Rounded to five minutes from half an hour upward, to a minute below, since nobody knows it better; never
    /// nought while something is left.
    pub fn minutes(time: Duration) -> u64 {
        let minutes = time.as_secs().div_ceil(60);
        if minutes >= 30 {
            (minutes + 2) / 5 * 5
        } else {
            minutes
        }
    }
}

/// How long a job is expected to take with these options chosen. `medians` are those of earlier jobs, by step; give
/// none where none are on record.
pub fn expected(
    procedure: &Procedure,
    chosen: &BTreeMap<Id, Id>,
    medians: &BTreeMap<Id, Duration>,
) -> Duration {
    total(each(procedure, chosen, medians).iter())
}

/// How long is left once the first steps up to and with `done` are done; of the whole where `done` is no step that
/// these options meet.
pub fn left_after(
    procedure: &Procedure,
    chosen: &BTreeMap<Id, Id>,
    medians: &BTreeMap<Id, Duration>,
    done: Option<&Id>,
) -> TimeLeft {
    let each = each(procedure, chosen, medians);
    let whole = total(each.iter());
    let after = done.and_then(|done| each.iter().position(|(step, _)| step.id == *done));
    let left = total(each[after.map_or(0, |at| at + 1)..].iter());
    TimeLeft { whole, left }
}

/// A record may hold any number of seconds.
fn total<'a>(each: impl Iterator<Item = &'a (&'a Step, Duration)>) -> Duration {
    each.fold(Duration::ZERO, |sum, (_, time)| sum.saturating_add(*time))
}

fn each<'a>(
    procedure: &'a Procedure,
    chosen: &BTreeMap<Id, Id>,
    medians: &BTreeMap<Id, Duration>,
) -> Vec<(&'a Step, Duration)> {
    let met: Vec<&Step> = procedure
        .steps
        .iter()
        .filter(|step| {
            let mut when = step.when.iter();
            when.all(|(variant, option)| chosen.get(variant).is_none_or(|it| it == option))
        })
        .collect();
    // What is left over follows from the procedure alone: a slow median mustn't make other steps quick.
    let by_author: Vec<Option<Duration>> = met.iter().map(|step| own_time(step)).collect();
    let told: Duration = by_author.iter().flatten().sum();
    let silent = by_author.iter().filter(|time| time.is_none()).count();
    let over = procedure.usual_time.saturating_sub(told);
    let share = over / u32::try_from(silent.max(1)).unwrap_or(u32::MAX);
    let mut times: Vec<(&Step, Duration)> = met
        .into_iter()
        .zip(by_author)
        .map(|(step, own)| {
            let median = medians.get(&step.id).copied();
            (step, median.or(own).unwrap_or(share))
        })
        .collect();
    for at in 0..times.len() {
        let step = times[at].0;
        let begun = until(step).and_then(|id| times[..at].iter().position(|(it, _)| it.id == *id));
        let Some(begun) = begun.filter(|_| !medians.contains_key(&step.id)) else {
            continue;
        };
        let covered = times[begun + 1..at].iter().map(|(_, time)| *time).sum();
        times[at].1 = runs(times[begun].0).saturating_sub(covered);
    }
    times
}

/// The step whose wait must be over.
fn until(step: &Step) -> Option<&Id> {
    match step.action.wait().map(|wait| &wait.time) {
        Some(WaitTime::Until(id)) => Some(id),
        Some(WaitTime::Fixed(_) | WaitTime::ByTemperature { .. }) | None => None,
    }
}

/// How long a wait runs. Which row of a table will count is known only when the temperature is read; the longest one
/// stands for it, since it is cold in a workshop.
fn runs(step: &Step) -> Duration {
    match step.action.wait().map(|wait| &wait.time) {
        Some(WaitTime::Fixed(time)) => *time,
        Some(WaitTime::ByTemperature { rows, .. }) => rows
            .iter()
            .map(|(_, minutes)| Duration::from_secs(60 * u64::from(*minutes)))
            .max()
            .unwrap_or_default(),
        Some(WaitTime::Until(_)) | None => Duration::ZERO,
    }
}

/// What the author says that a step takes.
fn own_time(step: &Step) -> Option<Duration> {
    match step.action.wait() {
        Some(wait) if wait.runs_on => Some(Duration::ZERO),
        Some(_) => Some(runs(step)),
        None => step.takes,
    }
}
