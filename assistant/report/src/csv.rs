//! The report as one table, for spreadsheets and other programs (RFC 4180).

use crate::model::{GateState, JobReport, Verdict};
use crate::{ReportError, gather::capital, sheet::clean};

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
        let failed = |error: csv::Error| ReportError::Csv {
            what: error.to_string(),
        };
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(Vec::new());
        writer.write_record(COLUMNS).map_err(failed)?;
        let mut lines = self.lines();
        // A stable sort: what happened in one moment stays in its order.
        lines.sort_by(|a, b| a.at.cmp(&b.at));
        for line in lines {
            writer
                .write_record([
                    self.job.as_str(),
                    if self.rehearsal { "yes" } else { "no" },
                    &line.at,
                    line.kind,
                    &text(&line.what),
                    &text(&line.words),
                    &line.value,
                    &line.unit,
                    &line.least,
                    &line.most,
                    line.verdict,
                    &line.wanted,
                    &text(&line.told),
                    &line.sound,
                ])
                .map_err(failed)?;
        }
        let bytes = writer.into_inner().map_err(|error| ReportError::Csv {
            what: error.to_string(),
        })?;
        String::from_utf8(bytes).map_err(|error| ReportError::Csv {
            what: error.to_string(),
        })
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
            what: it.what.clone(),
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

/// A text in one line that no spreadsheet takes for a formula (OWASP, “CSV Injection”).
fn text(text: &str) -> String {
    let text = clean(text);
    if text.starts_with(['=', '+', '-', '@']) {
        format!("'{text}")
    } else {
        text
    }
}
