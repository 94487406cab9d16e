//! Waits: several may run while the work goes on; each is announced when due and on request.

use super::state::{Pending, Timed, Timer};
use super::{Job, Out};
use crate::lines::Lines;
use crate::procedure::{Step, Wait, WaitTime};
use crate::quantity::{Amount, MeasureUnit, Measured, WaitingError, WaitingTable};
use crate::{Effect, Id, Moment, Tone};
use std::time::Duration;
use uom::si::f64::Time;
use uom::si::time::minute;

impl Job {
    /// The wait of the step at hand.
    fn wait_here(&self) -> Option<(&Step, &Wait)> {
        let step = self.step()?;
        Some((step, step.action.wait()?))
    }

    /// The step whose timer the step at hand waits for: its own, or that of an earlier wait.
    pub(super) fn waited_for(&self) -> Option<Id> {
        let (step, wait) = self.wait_here()?;
        Some(match &wait.time {
            WaitTime::Fixed(_) | WaitTime::ByTemperature { .. } => step.id.clone(),
            WaitTime::Until(id) => id.clone(),
        })
    }

    pub(super) fn timer_of(&self, step: &Id) -> Option<&Timer> {
        let timed = Timed::Wait(step.clone());
        self.transient.timers.iter().find(|timer| timer.of == timed)
    }

    /// Drops the timer that a step is done with; a wait that runs on keeps its own.
    pub(super) fn done_waiting(&mut self, step: &Step) {
        let Some(wait) = step.action.wait() else {
            return;
        };
        let over = match &wait.time {
            WaitTime::Until(id) => id,
            WaitTime::Fixed(_) | WaitTime::ByTemperature { .. } if wait.runs_on => return,
            WaitTime::Fixed(_) | WaitTime::ByTemperature { .. } => &step.id,
        };
        let over = Timed::Wait(over.clone());
        self.transient.timers.retain(|timer| timer.of != over);
    }

    /// Whether a wait can be left by "next"; asks when it isn't over.
    pub(super) fn may_leave_wait(&mut self, wait: &Wait, now: Moment, out: &mut Out) -> bool {
        let Some(id) = self.waited_for() else {
            return true;
        };
        let left = self.timer_of(&id).map(|timer| timer.due.since(now));
        match (left, &wait.time) {
            (Some(left), _) if wait.runs_on && !left.is_zero() => {
                let left = in_minutes(left.as_secs(), self.lines());
                let left = super::questions::capital(&left);
                out.say(Tone::Answer, self.lines().wait_runs_on(left));
                true
            }
            (Some(left), _) if !left.is_zero() => {
                let left = in_minutes(left.as_secs(), self.lines());
                self.core.pending = Some(Pending::CutShort);
                out.say(Tone::Question, self.lines().cut_it_short(left));
                false
            }
            (Some(_), _) => true,
            (None, WaitTime::ByTemperature { .. }) => {
                let why = match self.time_by_temperature(wait) {
                    Some(Err(why)) => why,
                    Some(Ok(_)) | None => self.lines().temperature_not_read(),
                };
                self.core.pending = Some(Pending::CutShort);
                out.say(Tone::Question, self.lines().go_on_without_wait(why));
                false
            }
            (None, WaitTime::Fixed(_) | WaitTime::Until(_)) => true,
        }
    }

    /// How long a wait takes at the temperature that was read, or why nobody knows; `None` where the wait isn't one
    /// by temperature, or nothing was read.
    fn time_by_temperature(&self, wait: &Wait) -> Option<Result<(Duration, Measured), String>> {
        let WaitTime::ByTemperature { reading, rows } = &wait.time else {
            return None;
        };
        let value = *self.known.readings.get(reading)?;
        let unit: MeasureUnit = self.procedure.readings.get(reading)?.unit.parse().ok()?;
        let read = Measured { value, unit };
        let temperature = |measured: Measured| match measured.amount() {
            Amount::Temperature(temperature) => Some(temperature),
            Amount::Length(_)
            | Amount::Voltage(_)
            | Amount::Pressure(_)
            | Amount::Charge(_)
            | Amount::Mass(_)
            | Amount::Volume(_) => None,
        };
        let rows = rows.iter().filter_map(|(at, minutes)| {
            let time = Time::new::<minute>(f64::from(*minutes));
            temperature(*at).map(|at| (at, time))
        });
        let time = WaitingTable::new(rows.collect())
            .and_then(|table| table.time_at(temperature(read).unwrap_or_default()));
        Some(match time {
            // A table's times are whole minutes of 30 days at most.
            Ok(time) => Ok((
                Duration::from_secs(time.get::<minute>().round() as u64 * 60),
                read,
            )),
            Err(WaitingError::Outside {
                asked,
                coldest,
                hottest,
            }) => Err(self.lines().no_time_for(
                format!("{asked:.0}"),
                format!("{coldest:.0}"),
                format!("{hottest:.0}"),
            )),
            // The reader has checked the table's rows.
            Err(
                WaitingError::Rows
                | WaitingError::Order(_)
                | WaitingError::Time(_)
                | WaitingError::Temperature(_),
            ) => Err(self.lines().temperature_not_read()),
        })
    }

    /// A wait begins when its step is reached for the first time and no gate holds.
    pub(super) fn start_wait(&mut self, now: Moment, out: &mut Out) {
        let Some((step, wait)) = self.wait_here() else {
            return;
        };
        let step = step.id.clone();
        if self.timer_of(&step).is_some() {
            return;
        }
        let time = match (&wait.time, self.time_by_temperature(wait)) {
            (WaitTime::Fixed(time), _) => *time,
            (WaitTime::ByTemperature { .. }, Some(Ok((time, read)))) => {
                out.say(
                    Tone::Answer,
                    self.lines()
                        .takes_at(read.to_string(), in_minutes(time.as_secs(), self.lines())),
                );
                time
            }
            (WaitTime::ByTemperature { .. }, Some(Err(_)) | None) | (WaitTime::Until(_), _) => {
                return;
            }
        };
        self.transient.timers.push(Timer {
            of: Timed::Wait(step),
            due: now.after(time),
            announced: false,
        });
    }

    /// What a timer is about: the step's short wording, or the tightening.
    pub(super) fn timed(&self, of: &Timed) -> String {
        let text = match of {
            Timed::Wait(id) => {
                let steps = self.procedure.steps.iter();
                let branches = self.procedure.branches.values();
                let all = steps
                    .chain(branches.flat_map(|branch| &branch.steps))
                    .chain(&self.procedure.make_safe);
                let step = all.into_iter().find(|step| step.id == *id);
                step.map(|step| self.filled(step.short.as_ref().unwrap_or(&step.text), None))
            }
            Timed::Again(id) => Some(self.lines().tighten_again(self.name_of(id))),
        };
        text.unwrap_or_default().trim_end_matches('.').to_owned()
    }

    pub(super) fn ring(&mut self, now: Moment, out: &mut Out) {
        let here = self.waited_for().map(Timed::Wait);
        let mut rung = Vec::new();
        for timer in &mut self.transient.timers {
            if timer.due <= now && !timer.announced {
                timer.announced = true;
                rung.push(timer.of.clone());
            }
        }
        for of in rung {
            let timed = self.timed(&of);
            match of {
                _ if Some(&of) == here.as_ref() => {
                    out.say(Tone::Answer, self.lines().time_is_up());
                }
                Timed::Wait(_) => out.say(Tone::Answer, self.lines().wait_is_over(timed)),
                Timed::Again(_) => {
                    out.say(Tone::Answer, self.lines().has_settled(timed));
                }
            }
        }
        let timers = self.transient.timers.iter();
        let due = timers.filter(|it| !it.announced).map(|it| it.due);
        if let Some(next) = due.chain(self.correction_window_ends()).min() {
            out.effects.push(Effect::Wake(next));
        }
    }

    /// "How much longer": every timer with what is left of it.
    pub(super) fn waits_left(&self, now: Moment, out: &mut Out) {
        let mut timers: Vec<&Timer> = self.transient.timers.iter().collect();
        timers.sort_by_key(|timer| timer.due);
        let told: Vec<String> = timers
            .into_iter()
            .map(|timer| {
                let left = timer.due.since(now);
                let left = if left.is_zero() {
                    self.lines().over()
                } else {
                    self.lines()
                        .time_left(in_minutes(left.as_secs(), self.lines()))
                };
                format!("{}: {left}.", self.timed(&timer.of))
            })
            .collect();
        match told.is_empty() {
            true => out.say(Tone::Answer, self.lines().no_wait()),
            false => out.say(Tone::Answer, told.join(" ")),
        }
    }

    /// Whether a question about waits makes sense.
    pub(super) fn any_wait(&self) -> bool {
        !self.transient.timers.is_empty() || self.wait_here().is_some()
    }
}

/// A time left as it is told; never less than is left.
fn in_minutes(seconds: u64, lines: Lines) -> String {
    let minutes = seconds.div_ceil(60);
    match (seconds, minutes / 60, minutes % 60) {
        (0..=90, ..) => lines.seconds(seconds),
        (_, 0 | 1, _) => lines.minutes(minutes),
        (_, hours, 0) => lines.hours(hours),
        (_, hours, rest) => lines.hours_and_minutes(hours, rest),
    }
}
