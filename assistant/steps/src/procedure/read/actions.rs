//! What a step does: each kind of action has keys that it needs and keys that it can't have.

use super::Reader;
use crate::procedure::code::Code;
use crate::procedure::file::{ActionFile, StepFile, Text};
use crate::procedure::{Action, Thing, Wait, WaitTime};
use crate::quantity::{Amount, Measured, TemperatureUnit, WaitingTable};
use std::time::Duration;
use uom::si::f64::Time;
use uom::si::time::minute;

/// The longest wait: a week, in minutes.
const LONGEST_WAIT: u32 = 7 * 24 * 60;

impl Reader<'_> {
    pub(super) fn action(
        &mut self,
        loaded: usize,
        id: &Text,
        kind: ActionFile,
        step: &StepFile,
    ) -> Option<Action> {
        self.stray_keys(loaded, id, kind, step);
        match kind {
            ActionFile::Do => Some(Action::Do),
            ActionFile::Inspect => Some(Action::Inspect),
            ActionFile::Loosen => {
                let group = self.given(loaded, id, "fastener", &step.fastener)?;
                Some(Action::Loosen(self.fastener_known(loaded, group)?))
            }
            ActionFile::Tighten => {
                let group = self.given(loaded, id, "fastener", &step.fastener)?;
                let known = self.fastener_known(loaded, group)?;
                self.has_torque(loaded, group);
                Some(Action::Tighten(known))
            }
            ActionFile::Remove => Some(Action::Remove(self.thing(loaded, id, step)?)),
            ActionFile::Refit => Some(Action::Refit(self.thing(loaded, id, step)?)),
            ActionFile::Measure => {
                let reading = self.given(loaded, id, "reading", &step.reading)?;
                let reading = self.known("reading", loaded, reading, |known| &known.readings)?;
                Some(Action::Measure(reading))
            }
            ActionFile::Wait => self.wait(loaded, id, step),
            ActionFile::Ask => {
                let mut leads =
                    |to: &Option<Text>| to.as_ref().and_then(|id| self.branch_known(loaded, id));
                Some(Action::Ask {
                    yes: leads(&step.yes),
                    no: leads(&step.no),
                })
            }
            ActionFile::Hold => {
                let gate = self.given(loaded, id, "gate", &step.gate)?;
                let gate = self.known("gate", loaded, gate, |known| &known.gates)?;
                Some(Action::Hold(gate))
            }
        }
    }

    fn given<'s>(
        &mut self,
        loaded: usize,
        id: &Text,
        key: &str,
        value: &'s Option<Text>,
    ) -> Option<&'s Text> {
        if value.is_none() {
            self.missing(loaded, id, key);
        }
        value.as_ref()
    }

    fn missing(&mut self, loaded: usize, id: &Text, key: &str) {
        let place = self.at(loaded, id.span());
        self.desk.problem(
            Code::MissingKey,
            &place,
            format!(
                "the step “{}” doesn't say which {key}",
                self.own(loaded, id)
            ),
            "this step",
            format!("add `{key} = …`"),
        );
    }

    fn thing(&mut self, loaded: usize, id: &Text, step: &StepFile) -> Option<Thing> {
        match (&step.item, &step.fastener) {
            (Some(item), None) => self
                .known("item", loaded, item, |known| &known.items)
                .map(Thing::Item),
            (None, Some(group)) => self.fastener_known(loaded, group).map(Thing::Fastener),
            (None, None) => {
                self.missing(loaded, id, "item");
                None
            }
            (Some(_), Some(group)) => {
                let place = self.at(loaded, group.span());
                self.desk.problem(
                    Code::StrayKey,
                    &place,
                    format!(
                        "the step “{}” is about an item and a fastener group at once",
                        self.own(loaded, id)
                    ),
                    "a second thing",
                    "make two steps of it",
                );
                None
            }
        }
    }

    fn wait(&mut self, loaded: usize, id: &Text, step: &StepFile) -> Option<Action> {
        let runs_on = step.runs_on;
        let for_a = |time| Some(Action::Wait(Wait { time, runs_on }));
        let minutes = match (&step.minutes, &step.until, &step.table[..]) {
            (Some(minutes), None, []) => minutes,
            (None, Some(until), []) => {
                // That it is a wait that runs on is checked when all steps are known.
                return for_a(WaitTime::Until(crate::Id::new(&self.own(loaded, until))));
            }
            (None, None, [_, ..]) => return for_a(self.table(loaded, id, step)?),
            (None, None, []) => {
                self.missing(loaded, id, "minutes");
                return None;
            }
            (Some(_) | None, Some(_) | None, _) => {
                let place = self.at(loaded, id.span());
                self.desk.problem(
                    Code::StrayKey,
                    &place,
                    "a wait is given once",
                    "this step",
                    "leave one of `minutes`, `until`, `table`",
                );
                return None;
            }
        };
        if (1..=LONGEST_WAIT).contains(minutes.as_ref()) {
            let seconds = u64::from(*minutes.as_ref()) * 60;
            return for_a(WaitTime::Fixed(Duration::from_secs(seconds)));
        }
        let place = self.at(loaded, minutes.span());
        self.desk.problem(
            Code::Value,
            &place,
            "a wait is between a minute and a week",
            "here",
            "give whole minutes",
        );
        None
    }

    fn table(&mut self, loaded: usize, id: &Text, step: &StepFile) -> Option<WaitTime> {
        let temperature = self.given(loaded, id, "temperature", &step.temperature)?;
        let reading = self.known("reading", loaded, temperature, |known| &known.readings)?;
        self.unit_fits::<TemperatureUnit>(loaded, temperature, &reading, "“°C” or “°F”");
        let mut rows: Vec<(Measured, u32)> = Vec::new();
        let mut checked = Vec::new();
        for row in &step.table {
            let at: Measured = self.parsed(loaded, &row.at, "write it like “20 °C”")?;
            let Amount::Temperature(temperature) = at.amount() else {
                let place = self.at(loaded, row.at.span());
                self.desk.problem(
                    Code::Value,
                    &place,
                    format!("“{at}” is no temperature"),
                    "here",
                    "write it like “20 °C”",
                );
                return None;
            };
            rows.push((at, row.minutes));
            checked.push((temperature, Time::new::<minute>(f64::from(row.minutes))));
        }
        if let Err(error) = WaitingTable::new(checked) {
            let place = self.at(loaded, id.span());
            self.desk.problem(
                Code::Value,
                &place,
                error.to_string(),
                "the table of this step",
                "copy the source's rows, the coldest first",
            );
            return None;
        }
        Some(WaitTime::ByTemperature { reading, rows })
    }

    fn stray_keys(&mut self, loaded: usize, id: &Text, kind: ActionFile, step: &StepFile) {
        let span = |text: &Option<Text>| text.as_ref().map(Text::span);
        let given = [
            ("fastener", span(&step.fastener)),
            ("item", span(&step.item)),
            ("reading", span(&step.reading)),
            ("gate", span(&step.gate)),
            ("minutes", step.minutes.as_ref().map(toml::Spanned::span)),
            ("table", step.table.first().map(|row| row.at.span())),
            ("temperature", span(&step.temperature)),
            ("until", span(&step.until)),
            ("runs_on", step.runs_on.then(|| id.span())),
            ("again", step.again.then(|| id.span())),
            ("yes", span(&step.yes)),
            ("no", span(&step.no)),
            ("with", step.with.values().next().map(Text::span)),
        ];
        let allowed: &[&str] = match kind {
            ActionFile::Do | ActionFile::Inspect => &["fastener"],
            ActionFile::Loosen => &["fastener"],
            ActionFile::Tighten => &["fastener", "again"],
            ActionFile::Remove | ActionFile::Refit => &["fastener", "item"],
            ActionFile::Measure => &["reading"],
            ActionFile::Wait => &["minutes", "table", "temperature", "until", "runs_on"],
            ActionFile::Ask => &["yes", "no"],
            ActionFile::Hold => &["gate"],
        };
        for (key, span) in given {
            let Some(span) = span.filter(|_| !allowed.contains(&key)) else {
                continue;
            };
            let place = self.at(loaded, span);
            self.desk.problem(
                Code::StrayKey,
                &place,
                format!(
                    "the step “{}” can't have a `{key}` with this action",
                    self.own(loaded, id)
                ),
                "doesn't belong here",
                format!("take `{key}` out, or change the action"),
            );
        }
    }
}
