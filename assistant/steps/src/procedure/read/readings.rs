//! Readings: what is measured, and what numbers it may be.

use super::Reader;
use super::texts::Names;
use crate::procedure::ReadingOf;
use crate::procedure::code::Code;
use crate::procedure::file::{ReadingFile, Text};
use crate::{Decimal, Id};
use std::collections::BTreeMap;

/// How a number is written.
const HOW: &str = "write a decimal number such as “21.4”";

/// The most values that a reading may have.
const MAX_VALUES: f64 = 1_200.0;

impl Reader<'_> {
    pub(super) fn readings(&mut self) -> BTreeMap<Id, ReadingOf> {
        let mut readings = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for reading in &it.file.reading {
                if let Some(read) = self.reading(loaded, reading) {
                    readings.insert(Id::new(&self.own(loaded, &reading.id)), read);
                }
            }
        }
        readings
    }

    /// A limit: a number, which may have the reading's unit behind it, as a vehicle's sheet writes it.
    fn limit(&mut self, loaded: usize, text: &Text, unit: &str) -> Option<Decimal> {
        let plain = text.as_ref().strip_suffix(unit).map(str::trim_end);
        match plain.unwrap_or(text.as_ref()).parse() {
            Ok(limit) => Some(limit),
            Err(_) => {
                let place = self.at(loaded, text.span());
                self.desk.problem(
                    Code::Value,
                    &place,
                    format!("“{}” isn't a limit in {unit}", text.as_ref()),
                    "here",
                    format!("write a decimal number, alone or with its unit: “21.4 {unit}”"),
                );
                None
            }
        }
    }

    fn reading(&mut self, loaded: usize, reading: &ReadingFile) -> Option<ReadingOf> {
        let least: Decimal = self.parsed(loaded, &reading.least, HOW)?;
        let most: Decimal = self.parsed(loaded, &reading.most, HOW)?;
        let mut limit = |text: &Option<Text>| {
            text.as_ref()
                .and_then(|text| self.limit(loaded, text, &reading.unit))
        };
        let (min, max) = (limit(&reading.min), limit(&reading.max));
        let limits = [&reading.min, &reading.max].into_iter().flatten();
        let mut limits = limits.map(|text| self.at(loaded, text.span()));
        let unsourced = limits.any(|place| self.desk.is_unsourced(&place));
        let out = reading.out.as_ref();
        let out = out.and_then(|branch| self.branch_known(loaded, branch));
        let in_order = [Some(least), min, max, Some(most)].into_iter().flatten();
        if !in_order.collect::<Vec<_>>().is_sorted() || least == most {
            let place = self.at(loaded, reading.most.span());
            self.desk.problem(
                Code::Value,
                &place,
                format!("the values of “{}” are not in order", reading.id.as_ref()),
                "least, min, max, most must rise",
                "put the limits between what the instrument could show",
            );
            return None;
        }
        let places = i32::from(least.places().max(most.places()));
        let values = (most.to_f64() - least.to_f64()) * 10f64.powi(places);
        if values > MAX_VALUES {
            let place = self.at(loaded, reading.most.span());
            self.desk.problem(
                Code::Value,
                &place,
                format!(
                    "the reading “{}” could be any of {values:.0} numbers",
                    reading.id.as_ref()
                ),
                "too many to be told apart by ear",
                "narrow `least` and `most`, or read off fewer decimal places: at most 1 200 values",
            );
        }
        Some(ReadingOf {
            name: self.text(loaded, &reading.name, Names::With),
            unit: reading.unit.clone(),
            least,
            most,
            min,
            max,
            unsourced,
            out,
            may_wait: reading.may_wait,
        })
    }
}
