//! How long a job takes, and how long is left of it.
//!
//! A step takes what earlier jobs took for it (their median, where some are on record), else what the procedure says,
//! else its share of the procedure's time: what the steps with a time of their own leave over is spread evenly.

use super::{Action, Procedure, Step, WaitTime};
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
    each(procedure, chosen, medians)
        .into_iter()
        .map(|(_, time)| time)
        .sum()
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
    let whole = each.iter().map(|(_, time)| *time).sum();
    let after = done.and_then(|done| each.iter().position(|(step, _)| step.id == *done));
    let left = each[after.map_or(0, |at| at + 1)..]
        .iter()
        .map(|(_, time)| *time)
        .sum();
    TimeLeft { whole, left }
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
    met.into_iter()
        .zip(by_author)
        .map(|(step, own)| {
            let median = medians.get(&step.id).copied();
            (step, median.or(own).unwrap_or(share))
        })
        .collect()
}

/// What the author says that a step takes.
fn own_time(step: &Step) -> Option<Duration> {
    match &step.action {
        Action::Wait(wait) if !wait.runs_on => match &wait.time {
            WaitTime::Fixed(time) => Some(*time),
            // The longest of the table: it is cold in a workshop.
            WaitTime::ByTemperature { rows, .. } => rows
                .iter()
                .map(|(_, minutes)| Duration::from_secs(60 * u64::from(*minutes)))
                .max(),
            WaitTime::Until(_) => step.takes,
        },
        Action::Do
        | Action::Loosen(_)
        | Action::Remove(_)
        | Action::Refit(_)
        | Action::Tighten(_)
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Ask { .. }
        | Action::Hold(_) => step.takes,
    }
}
