//! The page for whoever gets the vehicle back: what was done, what was measured, what to watch. It leaves out identifiers,
//! failed attempts and the proof; those are in the report for the file.

use super::{Composer, mark, whose};
use crate::gather::{capital, recommended};
use crate::model::{FindingKind, JobReport, Outcome, Verdict};
use crate::sheet::{Cell, Part, Sheet, clean};
use crate::time::Clock;
use crate::{Paper, Picture, Shop, pictures};
use jiff::tz::TimeZone;

/// More would take a second page.
const MAX_PHOTOS: usize = 2;

/// Sets the page.
pub(crate) fn for_the_customer(
    report: &JobReport,
    shop: &Shop,
    photos: &[Picture],
    paper: Paper,
    zone: &TimeZone,
) -> Sheet {
    let mut page = Composer {
        report,
        parts: Vec::new(),
        clock: Clock::of(report, zone),
    };
    page.whose_it_is(shop);
    page.work();
    page.measured();
    page.watch_for();
    let shown = photos.iter().take(MAX_PHOTOS);
    let shown: Vec<_> = shown.map(|it| (it.clone(), String::new())).collect();
    if !shown.is_empty() {
        page.parts.push(Part::Photos(shown));
    }
    page.parts
        .push(Part::ToSign(vec!["Date and signature".to_owned()]));
    let closed = page.clock.day(&report.last);
    Sheet {
        logo: shop.logo.clone(),
        kind: "Work done on your vehicle",
        title: clean(&report.title),
        subtitle: clean(&capital(&report.vehicle)),
        foot: clean(&format!("{}, {closed}", report.title)),
        on_each_page: String::new(),
        mark: mark(report),
        paper,
        parts: page.parts,
    }
}

impl Composer<'_> {
    fn whose_it_is(&mut self, shop: &Shop) {
        let report = self.report;
        if !report.proof.whole {
            self.strong(
                "The record of this work was changed since it was written. It proves nothing.",
            );
        }
        let mut facts = whose(shop);
        let state = match report.outcome {
            Outcome::Open => "not finished yet",
            Outcome::Finished => "finished",
            Outcome::GivenUp => "not finished: the work was broken off",
        };
        facts.push((
            "Work".to_owned(),
            format!("{state}, {}", self.clock.day(&report.last)),
        ));
        let mut people: Vec<&str> = report.worked_by.iter().map(|it| it.name.as_str()).collect();
        people.dedup();
        if !people.is_empty() {
            facts.push(("Done by".to_owned(), people.join(", ")));
        }
        self.facts(facts, None);
    }

    fn work(&mut self) {
        let report = self.report;
        let mut done: Vec<String> = Vec::new();
        let renewed = report
            .renewed
            .iter()
            .map(|it| format!("Fitted new: {}", it.what));
        let tightened = report
            .torques
            .iter()
            .map(|it| format!("Tightened to {}: {}", it.wanted, it.what));
        for it in renewed.chain(tightened) {
            let it = clean(&it);
            if !done.contains(&it) {
                done.push(it);
            }
        }
        self.heading("What was done");
        match done.is_empty() {
            true => self.words("Nothing was renewed or tightened."),
            false => self.parts.push(Part::List(done)),
        }
    }

    /// The last value of each reading.
    fn measured(&mut self) {
        let report = self.report;
        let is_last = |at: usize, name: &str| {
            !report.readings[at + 1..]
                .iter()
                .any(|later| later.name == name)
        };
        let last = report.readings.iter().enumerate();
        let last = last.filter(|(at, it)| is_last(*at, &it.name));
        let rows: Vec<_> = last
            .map(|(_, reading)| {
                let verdict = match reading.verdict {
                    Verdict::Within => Cell::plain("in order"),
                    Verdict::OutOfLimits => Cell::strong("OUT OF LIMITS"),
                    Verdict::NoLimits => Cell::plain(""),
                };
                vec![
                    Cell::plain(capital(&reading.name)),
                    Cell::strong(format!("{} {}", reading.value, reading.unit)),
                    Cell::plain(reading.limits.clone().unwrap_or_default()),
                    verdict,
                    Cell {
                        drawing: pictures::range(reading),
                        ..Cell::default()
                    },
                ]
            })
            .collect();
        if rows.is_empty() {
            return;
        }
        self.heading("What was measured");
        self.table(
            "What was measured",
            &[
                ("Measured", 0.28),
                ("Value", 0.14),
                ("Limits", 0.18),
                ("", 0.15),
                ("Against the limits", 0.25),
            ],
            rows,
        );
    }

    fn watch_for(&mut self) {
        let report = self.report;
        self.heading("What to watch, and when to come back");
        // That a wait was cut short is for the file.
        let findings = report.findings.iter();
        let of_the_vehicle = findings.filter(|it| it.kind != FindingKind::CutShort);
        let list: Vec<String> = of_the_vehicle
            .filter_map(recommended)
            .map(|it| clean(&capital(&it)))
            .collect();
        match list.is_empty() {
            true => self.words("Nothing was found that needs further work."),
            false => self.parts.push(Part::List(list)),
        }
    }
}
