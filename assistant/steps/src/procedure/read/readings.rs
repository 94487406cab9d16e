//! Readings: what is measured, and what numbers it may be.

use super::Reader;
use super::texts::Names;
use crate::procedure::ReadingOf;
use crate::procedure::code::Code;
use crate::procedure::file::ReadingFile;
use crate::{Decimal, Id};
use std::collections::BTreeMap;

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

    fn reading(&mut self, loaded: usize, reading: &ReadingFile) -> Option<ReadingOf> {
        const HOW: &str = "write a decimal number such as “21.4”";
        let least: Decimal = self.parsed(loaded, &reading.least, HOW)?;
        let most: Decimal = self.parsed(loaded, &reading.most, HOW)?;
        let mut limit = |text: &Option<crate::procedure::file::Text>| {
            text.as_ref()
                .and_then(|text| self.parsed::<Decimal>(loaded, text, HOW))
        };
        let (min, max) = (limit(&reading.min), limit(&reading.max));
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
            out,
            may_wait: reading.may_wait,
        })
    }
}
