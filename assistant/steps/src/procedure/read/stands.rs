//! What rests on stands at a gate: figures that must hold before anybody relies on them.

use super::Reader;
use crate::Decimal;
use crate::procedure::code::Code;
use crate::procedure::file::{FigureFrom, LoadFile, Text};
use crate::procedure::{RatedFor, StandsUnder};
use crate::quantity::{GivenBy, Measured, SupportVerdict};

const MASS: &str = "write a mass such as “2100 kg” or “3 t”";
const SHARE: &str = "write per cent above 0 and up to 100, such as “55 %”";

impl Reader<'_> {
    /// The figures of a load, with stands that hold by them.
    pub(super) fn stands(&mut self, loaded: usize, load: &LoadFile) -> Option<StandsUnder> {
        let by = |from: FigureFrom| match from {
            FigureFrom::Procedure => GivenBy::Procedure,
            FigureFrom::Plate => GivenBy::Plate,
        };
        let mass: Measured = self.figure(loaded, &load.mass, MASS, |text| text.parse().ok())?;
        let rating = |text: &str| {
            let (figure, rated) = match text.strip_suffix("each") {
                Some(figure) => (figure, RatedFor::Each),
                None => (text.strip_suffix("a pair")?, RatedFor::Pair),
            };
            Some((rated, figure.trim().parse::<Measured>().ok()?))
        };
        let (rated, rating) = self.figure(
            loaded,
            &load.rating,
            "write it like “3 t each” or “6 t a pair”",
            rating,
        )?;
        let axle_share = self.figure(loaded, &load.axle_share, SHARE, percent)?;
        let usable = match &load.usable {
            Some(usable) => self.figure(loaded, usable, SHARE, percent)?,
            None => Decimal::new(100, 0)?,
        };
        let stands = StandsUnder {
            mass: (mass, by(load.mass_from)),
            axle_share,
            stands: load.stands.unwrap_or(2),
            rating: (rated, rating, by(load.rating_from)),
            usable,
        };
        let (what, remedy) = match stands.support().and_then(|support| support.verdict()) {
            Ok(SupportVerdict::Holds(_)) => return Some(stands),
            Ok(verdict @ SupportVerdict::TooWeak(_)) => (
                verdict.sentences().join(" "),
                "name stands that hold, and put them into `lay_out`",
            ),
            Err(error) => (error.to_string(), "correct the figure"),
        };
        let place = self.at(loaded, load.rating.span());
        self.desk
            .problem(Code::Stands, &place, what, "these stands", remedy);
        None
    }

    /// A figure that the include's `with` may give.
    fn figure<T>(
        &mut self,
        loaded: usize,
        text: &Text,
        remedy: &str,
        read: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        let filled = self.own(loaded, text);
        let value = read(filled.trim());
        if value.is_none() {
            let place = self.at(loaded, text.span());
            self.desk.problem(
                Code::Value,
                &place,
                format!("“{filled}” is no such figure"),
                "here",
                remedy,
            );
        }
        value
    }
}

fn percent(text: &str) -> Option<Decimal> {
    text.strip_suffix('%')?.trim().parse().ok()
}
