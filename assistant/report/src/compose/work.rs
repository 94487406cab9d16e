//! What was measured, tightened, fitted and confirmed.

use super::{Composer, TIME};
use crate::gather::capital;
use crate::model::{GateState, Verdict};
use crate::pictures;
use crate::sheet::Cell;

impl Composer<'_> {
    pub(super) fn readings(&mut self) {
        let report = self.report;
        if report.readings.is_empty() {
            return;
        }
        self.heading("Readings");
        let rows = report.readings.iter().map(|reading| {
            let verdict = match reading.verdict {
                Verdict::Within => Cell::plain("within limits"),
                Verdict::OutOfLimits => Cell::strong("OUT OF LIMITS"),
                Verdict::NoLimits => Cell::plain("no limits given"),
            };
            let drawing = pictures::range(reading);
            vec![
                self.time(&reading.at),
                Cell::plain(capital(&reading.name)),
                Cell::strong(format!("{} {}", reading.value, reading.unit)),
                Cell::plain(reading.limits.clone().unwrap_or_default()),
                verdict,
                Cell {
                    drawing,
                    ..Cell::default()
                },
            ]
        });
        let rows = rows.collect();
        self.table(
            "Readings",
            &[
                (TIME, 0.14),
                ("Measured", 0.2),
                ("Value", 0.11),
                ("Limits", 0.16),
                ("Verdict", 0.14),
                ("Against the limits", 0.25),
            ],
            rows,
        );
    }

    pub(super) fn torques(&mut self) {
        let report = self.report;
        if report.torques.is_empty() {
            return;
        }
        self.heading("Torques");
        let rows = report.torques.iter().map(|torque| {
            vec![
                self.time(&torque.at),
                Cell::plain(capital(&torque.what)),
                Cell::strong(torque.wanted.clone()),
                Cell::strong(torque.told.clone()),
                Cell::plain(torque.manner.join("; ")),
            ]
        });
        let rows = rows.collect();
        self.table(
            "Torques",
            &[
                (TIME, 0.16),
                ("Fasteners", 0.2),
                ("Wanted", 0.14),
                ("Told, on the wrench", 0.2),
                ("How", 0.3),
            ],
            rows,
        );
        self.words(
            "The times are those at which the technician said that it was done. The wrench's click was not measured.",
        );
    }

    pub(super) fn renewed(&mut self) {
        let report = self.report;
        if report.renewed.is_empty() {
            return;
        }
        self.heading("To be fitted new, as the procedure says");
        let has_numbers = report.renewed.iter().any(|it| it.part_number.is_some());
        let rows = report.renewed.iter().map(|it| {
            let number = it.part_number.clone().unwrap_or_default();
            let number = has_numbers.then(|| Cell::plain(number));
            let what = [self.time(&it.at), Cell::plain(capital(&it.what))];
            what.into_iter().chain(number).collect()
        });
        let rows = rows.collect();
        let what = "Part or fastener, never used twice";
        let columns: &[_] = match has_numbers {
            true => &[(TIME, 0.16), (what, 0.56), ("Part number", 0.28)],
            false => &[(TIME, 0.16), (what, 0.84)],
        };
        self.table(
            "Parts and fasteners that are never used twice",
            columns,
            rows,
        );
    }

    pub(super) fn gates(&mut self) {
        let report = self.report;
        if report.gates.is_empty() {
            return;
        }
        self.heading("Hold points and checks");
        let rows = report.gates.iter().map(|gate| {
            let state = match gate.state {
                GateState::Confirmed => Cell::strong("CONFIRMED"),
                GateState::StayedClosed => Cell::plain("stayed closed"),
                GateState::AskedAgain => Cell::plain("no longer so"),
            };
            let what = match gate.state {
                GateState::StayedClosed => format!("not confirmed: {}", gate.what),
                GateState::Confirmed | GateState::AskedAgain => gate.what.clone(),
            };
            let what = match &gate.why {
                Some(why) => format!("{}; {why}", capital(&what)),
                None => capital(&what),
            };
            let words = gate.words.as_ref().map(|it| format!("“{it}”"));
            vec![
                self.time(&gate.at),
                state,
                Cell::plain(what),
                Cell::plain(words.unwrap_or_default()),
            ]
        });
        let rows = rows.collect();
        self.table(
            "Hold points and checks",
            &[
                (TIME, 0.16),
                ("State", 0.16),
                ("What", 0.34),
                ("Words heard", 0.34),
            ],
            rows,
        );
    }

    /// How long the phases took, and what the job was put down for.
    pub(super) fn labour(&mut self) {
        let report = self.report;
        if report.phases.is_empty() && report.pauses.is_empty() {
            return;
        }
        self.heading("Labour time");
        let length = |seconds, unknown| match (seconds, unknown) {
            (seconds, false) => record::time::length(seconds),
            (0, true) => "unknown".to_owned(),
            (seconds, true) => format!("{}, and an unknown time", record::time::length(seconds)),
        };
        let rows = report.phases.iter().map(|phase| {
            let estimate = phase.estimate_minutes.map(|it| format!("{it} min"));
            vec![
                Cell::plain(phase.name.clone()),
                Cell::plain(length(phase.seconds, phase.unknown)),
                Cell::plain(estimate.unwrap_or_default()),
            ]
        });
        let rows: Vec<_> = rows.collect();
        if !rows.is_empty() {
            let columns = [
                ("Phase", 0.46),
                ("Worked, without pauses", 0.32),
                ("Estimate", 0.22),
            ];
            self.table("Labour time by phase", &columns, rows);
        }
        let rows = report.pauses.iter().map(|pause| {
            let reason = pause.reason.clone();
            vec![
                Cell::plain(capital(
                    &reason.unwrap_or_else(|| "no reason given".to_owned()),
                )),
                Cell::plain(pause.times.to_string()),
                Cell::plain(length(pause.seconds, pause.unknown > 0)),
            ]
        });
        let rows: Vec<_> = rows.collect();
        if !rows.is_empty() {
            let columns = [("Paused for", 0.46), ("Times", 0.22), ("Together", 0.32)];
            self.table("Pauses", &columns, rows);
        }
        self.words(
            "Reckoned from the times of the record. A time is unknown where the computer's clock was set back, or where nothing \
             was said for more than two hours.",
        );
    }

    /// What was taken from the sheet of the vehicle.
    pub(super) fn sheet_values(&mut self) {
        let report = self.report;
        if report.sheet_values.is_empty() {
            return;
        }
        self.heading("Values from the vehicle's sheet");
        let rows = report.sheet_values.iter().map(|value| {
            let source = match &value.source {
                Some(source) => Cell::plain(source.clone()),
                None => Cell::strong("NO SOURCE"),
            };
            let entered = value.entered.as_ref().map(|it| format!("entered by {it}"));
            let approved = match &value.approved {
                Some(approved) => format!("checked by {approved}"),
                None => "not yet checked by a second person".to_owned(),
            };
            let told: Vec<String> = entered.into_iter().chain([approved]).collect();
            vec![
                Cell::plain(capital(&value.what)),
                Cell::plain(value.value.clone()),
                source,
                Cell::plain(capital(&told.join("; "))),
            ]
        });
        let rows = rows.collect();
        self.table(
            "Values from the vehicle's sheet",
            &[
                ("What", 0.3),
                ("Value", 0.16),
                ("Source", 0.27),
                ("By whom", 0.27),
            ],
            rows,
        );
    }
}
