//! What stands where in a report.

mod customer;
mod work;

pub(crate) use customer::for_the_customer;

use crate::gather::capital;
use crate::model::{EventKind, Finding, FindingKind, JobReport, Outcome, SignatureShown};
use crate::sheet::{Cell, Column, Part, Sheet, Table, clean};
use crate::time::{self, Clock};
use crate::{Paper, Picture, Shop, pictures};
use jiff::tz::TimeZone;

/// The column of times, until the clock names it.
const TIME: &str = "Time";

/// Stands on each page of a rehearsal.
pub(crate) const REHEARSAL: &str = "REHEARSAL: NO PROOF OF WORK";

/// The same of a job that was worked from recordings.
pub(crate) const RECORDINGS: &str = "WORKED FROM RECORDINGS: NO PROOF OF WORK";

/// Points; the drawing is made narrower where the paper is.
const TIMELINE_WIDTH: f32 = 480.0;

/// Points.
const QR_SIDE: f32 = 108.0;

/// Sets a report: what matters to whoever gets the vehicle back first, the proof last.
pub(crate) fn compose(
    report: &JobReport,
    shop: &Shop,
    photos: &[Picture],
    paper: Paper,
    zone: &TimeZone,
) -> Sheet {
    let mut sheet = Composer {
        report,
        parts: Vec::new(),
        clock: Clock::of(report, zone),
    };
    sheet.top(shop);
    sheet.cautions();
    sheet.findings();
    sheet.readings();
    sheet.torques();
    sheet.renewed();
    sheet.gates();
    sheet.sheet_values();
    sheet.notes(photos);
    sheet.course();
    sheet.labour();
    sheet.proof();
    Sheet {
        logo: shop.logo.clone(),
        kind: "Job report",
        title: clean(&report.title),
        subtitle: clean(&report.vehicle),
        foot: clean(&format!("Job {}", report.job)),
        on_each_page: String::new(),
        mark: mark(report),
        paper,
        parts: sheet.parts,
    }
}

/// What stands on each page of a job that proves no work.
fn mark(report: &JobReport) -> Option<&'static str> {
    match (report.rehearsal, report.recordings) {
        (true, _) => Some(REHEARSAL),
        (false, true) => Some(RECORDINGS),
        (false, false) => None,
    }
}

/// The shop's name and address, where they are known.
fn whose(shop: &Shop) -> Vec<(String, String)> {
    let mut facts = Vec::new();
    if !shop.name.is_empty() {
        facts.push(("Shop".to_owned(), shop.name.clone()));
    }
    if !shop.address.is_empty() {
        facts.push(("Address".to_owned(), shop.address.join(", ")));
    }
    facts
}

struct Composer<'a> {
    report: &'a JobReport,
    parts: Vec<Part>,
    clock: Clock<'a>,
}

impl Composer<'_> {
    fn heading(&mut self, text: &str) {
        self.parts.push(Part::Heading(text.to_owned()));
    }

    fn words(&mut self, text: &str) {
        self.parts.push(Part::Words {
            text: clean(text),
            strong: false,
        });
    }

    fn strong(&mut self, text: &str) {
        self.parts.push(Part::Words {
            text: clean(text),
            strong: true,
        });
    }

    fn table(&mut self, tells: &str, columns: &[(&'static str, f32)], rows: Vec<Vec<Cell>>) {
        let columns = columns.iter().map(|(name, share)| Column {
            name: match *name {
                TIME => self.clock.column(),
                name => name.to_owned(),
            },
            share: *share,
        });
        self.parts.push(Part::Table(Table {
            tells: tells.to_owned(),
            columns: columns.collect(),
            rows,
        }));
    }

    fn time(&self, at: &str) -> Cell {
        Cell::plain(self.clock.brief(at))
    }

    fn top(&mut self, shop: &Shop) {
        let report = self.report;
        if report.rehearsal {
            self.strong("This was a rehearsal. Nothing on these pages proves that work was done.");
        }
        if report.recordings {
            self.strong(
                "This job was worked from recordings. Nothing on these pages proves that work was done.",
            );
        }
        if !report.proof.whole {
            self.strong("THIS RECORD WAS CHANGED SINCE IT WAS WRITTEN. It proves nothing.");
        }
        let mut facts = whose(shop);
        facts.push(("Job".to_owned(), report.job.clone()));
        for choice in &report.choices {
            facts.push((capital(&choice.asked), choice.answer.clone()));
        }
        facts.push(("Opened".to_owned(), self.clock.moment(&report.opened)));
        let last = format!(
            "{}, after {}",
            self.clock.moment(&report.last),
            record::time::length(report.seconds)
        );
        let (name, outcome) = match report.outcome {
            Outcome::Open => ("Last entry", "none yet: the job is open"),
            Outcome::Finished => ("Closed", "finished"),
            Outcome::GivenUp => ("Closed", "given up before its end"),
        };
        facts.push((name.to_owned(), last));
        facts.push(("Outcome".to_owned(), outcome.to_owned()));
        let outstanding = match (report.outcome, report.outstanding.is_empty()) {
            (Outcome::Open, _) => "the job is not closed".to_owned(),
            (Outcome::Finished | Outcome::GivenUp, true) => "nothing".to_owned(),
            (Outcome::Finished | Outcome::GivenUp, false) => report.outstanding.join("; "),
        };
        facts.push(("Not in place".to_owned(), outstanding));
        for it in &report.released {
            facts.push((
                "Released".to_owned(),
                format!("{}, by {} on {}", it.of, it.by, it.on),
            ));
        }
        for worker in &report.worked_by {
            let from = self.clock.moment(&worker.from);
            facts.push((
                "Worked by".to_owned(),
                format!("{}, from {from}", worker.name),
            ));
        }
        for signature in &report.signed_by {
            let at = self.clock.moment(&signature.at);
            facts.push((
                "Signed off aloud".to_owned(),
                format!("{}, {at}: “{}”", signature.name, signature.words),
            ));
        }
        self.facts(facts, None);
        let to_sign = if report.worked_by.is_empty() {
            vec!["Worked by".to_owned(), "Date and signature".to_owned()]
        } else {
            vec!["Date and signature".to_owned()]
        };
        self.parts.push(Part::ToSign(to_sign));
        if let Some(drawing) = pictures::timeline(report, TIMELINE_WIDTH) {
            self.parts.push(Part::Figure {
                drawing,
                caption: pictures::legend(report),
            });
        }
    }

    fn facts(&mut self, facts: Vec<(String, String)>, beside: Option<crate::drawing::Drawing>) {
        let facts = facts
            .into_iter()
            .map(|(name, fact)| (clean(&name), clean(&fact)));
        self.parts.push(Part::Facts {
            facts: facts.collect(),
            beside,
        });
    }

    fn cautions(&mut self) {
        let report = self.report;
        if report.cautions.is_empty() && report.values.is_empty() {
            return;
        }
        self.heading("Cautions, as they were said before the job");
        let values = Some(&report.values).filter(|it| !it.is_empty());
        let all = report.cautions.iter().chain(values);
        self.parts
            .push(Part::List(all.map(|it| clean(it)).collect()));
    }

    fn findings(&mut self) {
        let report = self.report;
        self.heading("Findings and recommended work");
        if report.findings.is_empty() {
            self.words("Nothing was found out of order, and nothing was left for later.");
            return;
        }
        let rows = report.findings.iter().map(|finding| {
            let kind = match finding.kind {
                FindingKind::OutOfLimits => "Out of limits",
                FindingKind::Worn => "Found",
                FindingKind::Deferred => "Left for later",
                FindingKind::CutShort => "Wait cut short",
                FindingKind::Outstanding => "NOT IN PLACE",
                FindingKind::TightenAgain => "To tighten again",
            };
            vec![
                self.time(&finding.at),
                Cell::strong(kind),
                Cell::plain(capital(&found(finding))),
                Cell::plain(settled(finding)),
            ]
        });
        let rows = rows.collect();
        self.table(
            "Findings",
            &[
                (TIME, 0.16),
                ("What kind", 0.16),
                ("What", 0.44),
                ("Since then", 0.24),
            ],
            rows,
        );
        if report.recommended.is_empty() {
            self.words("No further work follows from the findings.");
        } else {
            self.strong("Recommended work");
            let list = report.recommended.iter().map(|it| clean(&capital(it)));
            self.parts.push(Part::List(list.collect()));
        }
    }

    fn notes(&mut self, photos: &[Picture]) {
        let report = self.report;
        if !report.notes.is_empty() {
            self.heading("Notes (heard, unchecked)");
            let rows = report.notes.iter().map(|note| {
                let mut words = match &note.words {
                    Some(words) => format!("“{}”", tidy(words)),
                    None => "No words were understood; the sound is kept.".to_owned(),
                };
                for photo in &note.photos {
                    words.push_str(&format!(" (photo {photo})"));
                }
                vec![
                    Cell::plain(note.number.to_string()),
                    self.time(&note.at),
                    Cell::plain(words),
                ]
            });
            let rows = rows.collect();
            self.table(
                "Notes",
                &[("No.", 0.07), (TIME, 0.16), ("Words", 0.77)],
                rows,
            );
        }
        if report.photos.is_empty() {
            return;
        }
        self.heading("Photos");
        let mut shown = Vec::new();
        for photo in &report.photos {
            let note = photo
                .note
                .map(|note| format!(", to note {note}"))
                .unwrap_or_default();
            let caption = clean(&format!(
                "Photo {}{note}: {}, attached {}",
                photo.number,
                photo.given,
                self.clock.moment(&photo.at)
            ));
            match photos.iter().find(|it| it.number == photo.number) {
                Some(picture) => shown.push((picture.clone(), caption)),
                None => self.words(&format!(
                    "{caption}. It is not kept any more, or was changed."
                )),
            }
        }
        if !shown.is_empty() {
            self.parts.push(Part::Photos(shown));
        }
    }

    fn course(&mut self) {
        self.heading("What was done");
        let told_above = |kind: EventKind| match kind {
            EventKind::Opened
            | EventKind::Chosen
            | EventKind::Gate
            | EventKind::Torque
            | EventKind::Note => true,
            EventKind::Step
            | EventKind::Reading
            | EventKind::Answer
            | EventKind::TakenBack
            | EventKind::Deferred
            | EventKind::CutShort
            | EventKind::Person
            | EventKind::Signed
            | EventKind::Extra
            | EventKind::TakenUp
            | EventKind::Waiting
            | EventKind::Paused
            | EventKind::GivingUp
            | EventKind::Closed => false,
        };
        let events = self
            .report
            .course
            .iter()
            .filter(|event| !told_above(event.kind));
        let rows: Vec<_> = events
            .map(|event| vec![self.time(&event.at), Cell::plain(event.what.clone())])
            .collect();
        if rows.is_empty() {
            self.words("No step was done.");
        } else {
            self.table("What was done", &[(TIME, 0.16), ("What", 0.84)], rows);
        }
    }

    fn proof(&mut self) {
        let proof = &self.report.proof;
        self.heading("Proof");
        let whole = match (proof.whole, proof.replayed) {
            (true, true) => {
                "whole: each entry fits the hash of the one before, and replaying what was said led to the same"
            }
            (true, false) => {
                "whole: each entry fits the hash of the one before; it was not replayed"
            }
            (false, _) => "NOT WHOLE: it was changed since it was written",
        };
        let mut facts = vec![
            (
                "Record".to_owned(),
                format!("{whole}; {} entries", proof.entries),
            ),
            (
                "Opened, last entry".to_owned(),
                format!(
                    "{} UTC, {} UTC",
                    time::second(&self.report.opened),
                    time::second(&self.report.last)
                ),
            ),
            ("SHA-256 of the last entry".to_owned(), proof.head.clone()),
            ("Procedure".to_owned(), proof.procedure.clone()),
            (
                "SHA-256 of its text".to_owned(),
                proof.procedure_sha256.clone(),
            ),
        ];
        for at in &proof.procedure_changed {
            let at = time::second(at);
            facts.push((
                "Procedure changed".to_owned(),
                format!("{at} UTC, while the job was open"),
            ));
        }
        for signature in &proof.signatures {
            let SignatureShown {
                bay,
                key,
                at,
                entries,
            } = signature;
            let at = time::second(at);
            facts.push((
                "Signed by".to_owned(),
                format!("bay “{bay}”, the first {entries} entries, on {at} UTC by its clock"),
            ));
            facts.push(("Its public key".to_owned(), key.clone()));
        }
        if proof.signatures.is_empty() {
            facts.push(("Signed by".to_owned(), "nobody".to_owned()));
        }
        facts.push(("Checked".to_owned(), proof.verified.clone()));
        facts.push((
            "Written by".to_owned(),
            format!("sayback {}", proof.program),
        ));
        let key = proof.signatures.last().map_or("", |it| it.key.as_str());
        let text = format!("{} {key}", proof.head);
        let qr = pictures::qr(
            text.trim_end(),
            QR_SIDE,
            "QR code of the last entry's SHA-256 and the bay's public key".to_owned(),
        );
        self.facts(facts, qr);
        self.words(match proof.signatures.is_empty() {
            true => {
                "Nobody signed this record. Whoever kept the last entry's hash can tell with “sayback record NAME --verify \
                 --head HASH” whether the record is still the one that this report was made from; without it a forger who \
                 makes all hashes fit is found by replaying only."
            }
            false => {
                "The signature proves that whoever signed had that key, and that nothing up to there was changed since. \
                 Compare the key with the one that the bay prints with “sayback key”. When it was signed is what the bay's \
                 clock said."
            }
        });
    }
}

/// Words that were heard, as they are read: a capital first, “I”, no comma at an end and none twice. What was said
/// stays.
fn tidy(words: &str) -> String {
    let mut out = String::new();
    for word in words.split_whitespace() {
        let stray = |it: char| matches!(it, ',' | ';' | ':');
        if word.chars().all(stray) {
            continue;
        }
        // “,,” is one comma.
        let bare = word.trim_end_matches(stray);
        let mark = word
            .get(bare.len()..)
            .and_then(|marks| marks.chars().next());
        if !out.is_empty() {
            out.push(' ');
        }
        match bare.strip_prefix('i') {
            Some(rest) if rest.is_empty() || rest.starts_with(['\'', '’']) => {
                out.push('I');
                out.push_str(rest);
            }
            Some(_) | None => out.push_str(bare),
        }
        out.extend(mark);
    }
    let stray = |it: char| it == ' ' || matches!(it, ',' | ';' | ':');
    capital(out.trim_matches(stray))
}

fn found(finding: &Finding) -> String {
    let reason = finding
        .reason
        .as_ref()
        .map(|reason| match reason.is_empty() {
            true => ". Reason: in the sound of a note".to_owned(),
            false => format!(". Reason (heard, unchecked): “{}”", tidy(reason)),
        });
    format!("{}{}", finding.what, reason.unwrap_or_default())
}

fn settled(finding: &Finding) -> &'static str {
    match (finding.kind, finding.put_right) {
        (FindingKind::OutOfLimits, true) => "measured again",
        (FindingKind::OutOfLimits, false) => "STILL OUT OF LIMITS",
        (FindingKind::Worn, _) => "extra steps followed",
        (FindingKind::Deferred, true) => "done later in the job",
        (FindingKind::Deferred, false) => "still to be done",
        (FindingKind::CutShort, _) => "the job went on",
        (FindingKind::Outstanding, _) => "left so",
        (FindingKind::TightenAgain, _) => "still to be done",
    }
}

#[cfg(test)]
mod tests {
    use super::tidy;

    #[test]
    fn what_was_heard_is_shown_tidily_and_no_word_of_it_is_lost() {
        for (heard, shown) in [
            ("the boot is split,", "The boot is split"),
            ("i think i'm late", "I think I'm late"),
            ("rust ,, on the arm,, i saw", "Rust on the arm, I saw"),
            ("Is it in? Yes.", "Is it in? Yes."),
            (" , ", ""),
            ("", ""),
        ] {
            assert_eq!(tidy(heard), shown);
            assert_eq!(tidy(shown), shown);
        }
    }
}
