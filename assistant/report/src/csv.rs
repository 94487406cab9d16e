//! The report, and what is bought for a job, as one table each, for spreadsheets and other programs (RFC 4180).

use crate::model::{GateState, JobReport, Verdict};
use crate::{ReportError, gather::capital, sheet::clean};
use std::collections::BTreeMap;
use steps::Procedure;
use steps::procedure::{fill, in_a_line, supplies_at_most};

/// The columns. Values stand without their unit, with a full stop as the decimal sign.
const COLUMNS: [&str; 14] = [
    "job",
    "rehearsal",
    "time_utc",
    "kind",
    "what",
    "words_heard_unchecked",
    "value",
    "unit",
    "least_allowed",
    "most_allowed",
    "verdict",
    "wanted",
    "told",
    "sound",
];

/// One line: what isn't filled in stays empty.
#[derive(Default)]
struct Line {
    at: String,
    kind: &'static str,
    what: String,
    words: String,
    value: String,
    unit: String,
    least: String,
    most: String,
    verdict: &'static str,
    wanted: String,
    told: String,
    sound: String,
}

impl JobReport {
    /// The report as CSV: a line for each step, hold point, torque, reading, part, finding, note and photo.
    ///
    /// # Errors
    /// When it can't be written, which is a bug in Sayback.
    pub fn csv(&self) -> Result<String, ReportError> {
        let mut lines = self.lines();
        // A stable sort: what happened in one moment stays in its order.
        lines.sort_by(|a, b| a.at.cmp(&b.at));
        let rows = lines.into_iter().map(|line| {
            [
                self.job.clone(),
                yes(self.rehearsal),
                line.at,
                line.kind.to_owned(),
                text(&line.what),
                text(&line.words),
                line.value,
                line.unit,
                line.least,
                line.most,
                line.verdict.to_owned(),
                line.wanted,
                text(&line.told),
                line.sound,
            ]
        });
        table(COLUMNS, rows)
    }

    fn lines(&self) -> Vec<Line> {
        let mut lines = Vec::new();
        lines.extend(self.course.iter().filter_map(|event| {
            use crate::model::EventKind as Kind;
            let kind = match event.kind {
                Kind::Opened => "opened",
                Kind::Chosen => "chosen",
                Kind::Person => "worked-by",
                Kind::Signed => "signed-off",
                Kind::Step => "step",
                Kind::Answer => "answer",
                Kind::Extra => "extra-steps",
                Kind::TakenUp => "taken-up",
                Kind::Waiting => "waiting-for-part",
                Kind::Paused => "paused-for",
                Kind::TakenBack => "taken-back",
                Kind::GivingUp => "giving-up",
                Kind::Closed => "closed",
                // These have lines of their own.
                Kind::Gate
                | Kind::Torque
                | Kind::Reading
                | Kind::Deferred
                | Kind::CutShort
                | Kind::Note => {
                    return None;
                }
            };
            Some(Line {
                at: event.at.clone(),
                kind,
                what: event.what.clone(),
                ..Line::default()
            })
        }));
        lines.extend(self.gates.iter().map(|gate| Line {
            at: gate.at.clone(),
            kind: "hold-point",
            what: gate.what.clone(),
            words: gate.words.clone().unwrap_or_default(),
            verdict: match gate.state {
                GateState::Confirmed => "confirmed",
                GateState::StayedClosed => "stayed-closed",
                GateState::AskedAgain => "asked-again",
            },
            sound: gate.sound.clone().unwrap_or_default(),
            ..Line::default()
        }));
        lines.extend(self.torques.iter().map(|torque| Line {
            at: torque.at.clone(),
            kind: "torque",
            what: torque.what.clone(),
            wanted: torque.wanted.clone(),
            told: torque.told.clone(),
            ..Line::default()
        }));
        let limit = |limit: Option<f64>| limit.map(|it| it.to_string()).unwrap_or_default();
        lines.extend(self.readings.iter().map(|reading| Line {
            at: reading.at.clone(),
            kind: "reading",
            what: reading.name.clone(),
            value: reading.value.clone(),
            unit: reading.unit.clone(),
            least: limit(reading.range.and_then(|it| it.min)),
            most: limit(reading.range.and_then(|it| it.max)),
            verdict: match reading.verdict {
                Verdict::Within => "within",
                Verdict::OutOfLimits => "out-of-limits",
                Verdict::NoLimits => "no-limits",
            },
            sound: reading.sound.clone().unwrap_or_default(),
            ..Line::default()
        }));
        lines.extend(self.renewed.iter().map(|it| Line {
            at: it.at.clone(),
            kind: "fitted-new",
            what: match &it.part_number {
                Some(number) => format!("{} ({number})", it.what),
                None => it.what.clone(),
            },
            ..Line::default()
        }));
        lines.extend(self.findings.iter().map(|finding| {
            use crate::model::FindingKind as Kind;
            Line {
                at: finding.at.clone(),
                kind: "finding",
                what: capital(&finding.what),
                words: finding.reason.clone().unwrap_or_default(),
                verdict: match (finding.kind, finding.put_right) {
                    (_, true) => "put-right",
                    (Kind::OutOfLimits, false) => "out-of-limits",
                    (Kind::Worn, false) => "found",
                    (Kind::Deferred, false) => "deferred",
                    (Kind::CutShort, false) => "cut-short",
                    (Kind::TightenAgain, false) => "tighten-again",
                    (Kind::Outstanding, false) => "not-in-place",
                },
                ..Line::default()
            }
        }));
        lines.extend(self.notes.iter().map(|note| Line {
            at: note.at.clone(),
            kind: "note",
            what: format!("note {}", note.number),
            words: note.words.clone().unwrap_or_default(),
            sound: note.sound.clone().unwrap_or_default(),
            ..Line::default()
        }));
        lines.extend(self.phases.iter().map(|phase| {
            Line {
                at: self.last.clone(),
                kind: "labour",
                what: phase.name.clone(),
                value: phase.seconds.to_string(),
                unit: "s".to_owned(),
                verdict: if phase.unknown { "and-unknown" } else { "" },
                wanted: phase
                    .estimate_minutes
                    .map(|it| format!("{it} min"))
                    .unwrap_or_default(),
                ..Line::default()
            }
        }));
        lines.extend(self.pauses.iter().map(|pause| Line {
            at: self.last.clone(),
            kind: "pause",
            what: pause.reason.clone().unwrap_or_default(),
            value: pause.seconds.to_string(),
            unit: "s".to_owned(),
            verdict: if pause.unknown > 0 { "and-unknown" } else { "" },
            ..Line::default()
        }));
        lines.extend(self.photos.iter().map(|photo| Line {
            at: photo.at.clone(),
            kind: "photo",
            what: photo.note.map_or_else(
                || photo.path.clone(),
                |note| format!("{} to note {note}", photo.path),
            ),
            words: photo.given.clone(),
            ..Line::default()
        }));
        lines
    }
}

/// The columns of the purchase list.
const PURCHASES: [&str; 8] = [
    "kind",
    "what",
    "part_number",
    "quantity",
    "always_new",
    "core_return",
    "procedure",
    "vehicle",
];

/// What is bought for a job, or may have to be, as CSV: first the parts, then what is used up. A quantity that the procedure
/// doesn't give stays empty.
///
/// # Errors
/// When it can't be written, which is a bug in Sayback.
pub fn purchase_list(procedure: &Procedure) -> Result<String, ReportError> {
    let options = procedure.variants.iter().map(|variant| {
        let all: Vec<&str> = variant
            .options
            .iter()
            .map(|(_, say)| say.as_str())
            .collect();
        (variant.id.to_string(), all.join("/"))
    });
    let options: BTreeMap<String, String> = options.collect();
    let row = |kind: &str, what: &str, rest: [String; 4]| {
        let [number, quantity, always_new, core_return] = rest;
        [
            kind.to_owned(),
            text(&fill(what, &options)),
            text(&number),
            quantity,
            always_new,
            core_return,
            procedure.id.to_string(),
            text(&procedure.vehicle),
        ]
    };
    let parts = procedure.parts.iter().map(|part| {
        let quantity = part.quantity.map(|it| it.to_string());
        let rest = [
            part.number.clone().unwrap_or_default(),
            quantity.unwrap_or_default(),
            yes(part.always_new),
            yes(part.core_return),
        ];
        row("part", &part.what, rest)
    });
    let used_up = supplies_at_most(procedure);
    let consumables = procedure.lay_out.consumables.iter().map(|line| {
        let mut used_up = used_up.iter();
        let measured = used_up.find(|(uses, varies)| in_a_line(uses, *varies) == *line);
        let (what, amount) = match measured {
            Some((uses, _)) => (&uses.what, uses.amount.to_string()),
            None => (line, String::new()),
        };
        row(
            "consumable",
            what,
            [String::new(), amount, yes(false), yes(false)],
        )
    });
    table(PURCHASES, parts.chain(consumables))
}

fn yes(it: bool) -> String {
    match it {
        true => "yes".to_owned(),
        false => "no".to_owned(),
    }
}

fn table<const N: usize>(
    columns: [&str; N],
    rows: impl Iterator<Item = [String; N]>,
) -> Result<String, ReportError> {
    let failed = |what: String| ReportError::Csv { what };
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let written = writer.write_record(columns);
    written.map_err(|error| failed(error.to_string()))?;
    for row in rows {
        let written = writer.write_record(row);
        written.map_err(|error| failed(error.to_string()))?;
    }
    let bytes = writer.into_inner();
    let bytes = bytes.map_err(|error| failed(error.to_string()))?;
    String::from_utf8(bytes).map_err(|error| failed(error.to_string()))
}

/// A text in one line that no spreadsheet takes for a formula (OWASP, “CSV Injection”).
fn text(text: &str) -> String {
    let text = clean(text);
    if text.starts_with(['=', '+', '-', '@']) {
        format!("'{text}")
    } else {
        text
    }
}
