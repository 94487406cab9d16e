//! From the record to what the report tells.

mod settled;

use crate::Course;
use crate::model::{
    Choice, Event, EventKind, FORMAT, Finding, FindingKind, Gate, GateState, JobReport, Note,
    Outcome, PauseTime, PhaseTime, Photo, Proof, Range, Reading, Released, Renewed, SheetValue,
    Signature, SignatureShown, Torque, Verdict, Worker,
};
use crate::names::{Names, plain};
use record::time::iso;
use record::{Report, ReportLine};
use std::collections::BTreeMap;
use steps::codes::{InWords, limits};
use steps::{Entry, Id, Language, Mode};

impl JobReport {
    /// Gathers what the record tells. The same record always gives the same report.
    pub fn of(record: &Report) -> Self {
        let names = Names::of(record);
        let language = record.language;
        let mut gathered = Gathered {
            language,
            ..Gathered::default()
        };
        for line in &record.lines {
            gathered.take(line, &names);
        }
        gathered.photos(record);
        gathered.end(record);
        let labour = Course::of_report(record).labour;
        let mut report = Self {
            format: FORMAT,
            job: record.job.to_string(),
            title: record.title.clone(),
            vehicle: gathered.vehicle,
            rehearsal: record.mode == Mode::Rehearsal,
            recordings: record.mode == Mode::Recordings,
            choices: gathered.choices,
            worked_by: gathered.worked_by,
            signed_by: gathered.signed_by,
            opened: iso(record.opened),
            last: iso(record.last),
            seconds: record.last.since(record.opened).as_secs(),
            outcome: match record.outcome {
                None => Outcome::Open,
                Some(steps::Outcome::Finished) => Outcome::Finished,
                Some(steps::Outcome::Abandoned) => Outcome::GivenUp,
            },
            outstanding: in_words(&record.outstanding, language),
            cautions: gathered.cautions,
            values: gathered.values,
            findings: gathered.findings,
            recommended: Vec::new(),
            readings: gathered.readings,
            torques: gathered.torques,
            renewed: gathered.renewed,
            gates: gathered.gates,
            released: record
                .released
                .iter()
                .map(|it| Released {
                    of: it.of.clone(),
                    by: it.by.clone(),
                    on: it.on.clone(),
                })
                .collect(),
            sheet_values: sheet_values(record),
            notes: gathered.notes,
            photos: gathered.photos,
            course: gathered.course,
            phases: labour.phases.iter().map(phase_time).collect(),
            pauses: labour.pauses.iter().map(pause_time).collect(),
            proof: Proof {
                whole: record.whole,
                replayed: record.replayed,
                signatures: record
                    .signatures
                    .iter()
                    .map(|it| SignatureShown {
                        bay: it.bay.clone(),
                        key: it.key.clone(),
                        at: iso(it.at),
                        entries: it.entries,
                    })
                    .collect(),
                verified: record.verified.clone(),
                entries: record.entries,
                head: record.head.clone(),
                procedure: record.procedure.to_string(),
                procedure_sha256: record.procedure_sha256.clone(),
                procedure_changed: record.procedure_changed.iter().map(|at| iso(*at)).collect(),
                program: record.program.clone(),
            },
        };
        report.recommended = report.findings.iter().filter_map(recommended).collect();
        report
    }
}

fn phase_time(phase: &crate::PhaseTime) -> PhaseTime {
    PhaseTime {
        name: phase.name.clone(),
        seconds: phase.milliseconds / 1000,
        unknown: phase.unknown,
        estimate_minutes: phase.estimate.map(|it| it.as_secs() / 60),
    }
}

fn pause_time(pause: &crate::PauseTime) -> PauseTime {
    PauseTime {
        reason: pause.reason.map(|it| it.words(Language::English)),
        times: pause.times,
        seconds: pause.milliseconds / 1000,
        unknown: pause.unknown,
    }
}

/// What was taken from the sheet of the vehicle, in the order of its names.
fn sheet_values(record: &Report) -> Vec<SheetValue> {
    let procedure = record.full_procedure.as_ref();
    let sheet = procedure.and_then(|it| it.sheet.as_ref());
    let values = sheet.into_iter().flat_map(|sheet| sheet.values.values());
    values
        .map(|it| SheetValue {
            what: it.means.clone(),
            value: it.is.clone(),
            source: it.source.clone(),
            entered: it.entered.clone(),
            approved: it.approved.clone(),
        })
        .collect()
}

/// What a finding asks for, as long as it wasn't put right.
pub(crate) fn recommended(finding: &Finding) -> Option<String> {
    if finding.put_right {
        return None;
    }
    let what = &finding.what;
    Some(match finding.kind {
        FindingKind::OutOfLimits => {
            format!(
                "Put right, and measure again: {what}. Until then the vehicle stays out of use."
            )
        }
        // The extra steps that followed are in the course; whether they were enough is for a person to say.
        FindingKind::Worn => return None,
        FindingKind::Deferred => format!("Do what was left for later: {what}."),
        FindingKind::CutShort => format!("Check what the wait was for: {what}."),
        FindingKind::TightenAgain => format!("Still to do: {what}."),
        FindingKind::Outstanding => {
            format!("Not in place: {what}. The vehicle stays out of use until it is put right.")
        }
    })
}

#[derive(Default, Clone)]
struct Gathered {
    /// Of the job, and so of what is told about it.
    language: Language,
    vehicle: String,
    values: String,
    cautions: Vec<String>,
    choices: Vec<Choice>,
    worked_by: Vec<Worker>,
    signed_by: Vec<Signature>,
    findings: Vec<Finding>,
    /// Which reading or item a finding is about, by its place.
    about: BTreeMap<usize, Id>,
    readings: Vec<Reading>,
    torques: Vec<Torque>,
    renewed: Vec<Renewed>,
    gates: Vec<Gate>,
    notes: Vec<Note>,
    /// The journal's entry of each note.
    note_seqs: Vec<u64>,
    photos: Vec<Photo>,
    course: Vec<Event>,
    /// As it was before the last entry that can be taken back.
    before_kept: Option<Box<Gathered>>,
}

impl Gathered {
    fn take(&mut self, line: &ReportLine, names: &Names) {
        let may_be_taken_back = matches!(
            line.entry,
            Entry::Done { .. } | Entry::Read { .. } | Entry::Noted { .. } | Entry::TakenOver { .. }
        );
        if may_be_taken_back {
            self.before_kept = None;
            self.before_kept = Some(Box::new(self.clone()));
        }
        let at = iso(line.at);
        let (kind, what) = self.told(line, &at, names);
        self.course.push(Event {
            seq: line.seq,
            at,
            kind,
            what,
        });
    }

    /// Puts an entry where it belongs, and tells it in words.
    fn told(&mut self, line: &ReportLine, at: &str, names: &Names) -> (EventKind, String) {
        let (at, language) = (at.to_owned(), self.language);
        match line.entry.clone() {
            Entry::Opened {
                rehearsal,
                recordings,
                vehicle,
                values,
                cautions,
                ..
            } => {
                (self.vehicle, self.values) = (vehicle, values);
                self.cautions = cautions.words(language);
                let what = match (rehearsal, recordings) {
                    (true, _) => "Rehearsal opened",
                    (false, true) => "Job from recordings opened",
                    (false, false) => "Job opened",
                };
                (EventKind::Opened, what.to_owned())
            }
            Entry::Chosen { variant, option } => {
                let (asked, answer) = (plain(&variant), names.option(&variant, &option));
                let what = format!("{}: {answer}", capital(&asked));
                self.choices.push(Choice { asked, answer });
                (EventKind::Chosen, what)
            }
            Entry::Done {
                text,
                renewed,
                part_number,
                ..
            } => {
                if let Some(what) = renewed
                    && !self.renewed.iter().any(|it| it.what == what)
                {
                    self.renewed.push(Renewed {
                        at,
                        what,
                        part_number,
                    });
                }
                (EventKind::Step, text.words(language))
            }
            Entry::Tightened {
                fastener,
                what,
                wanted,
                told,
                manner,
            } => {
                self.put_right(&fastener, FindingKind::Deferred);
                let (what, wanted) = (what.words(language), wanted.words(language));
                let (told, manner) = (told.words(language), in_words(&manner, language));
                let said = format!("{}: wanted {wanted}, told {told}", capital(&what));
                self.torques.push(Torque {
                    at,
                    what,
                    wanted,
                    told,
                    manner,
                });
                (EventKind::Torque, said)
            }
            Entry::GateOpened {
                means,
                words,
                sound,
                ..
            } => {
                let said = format!("Confirmed: {means}. Said: “{words}”");
                self.gates.push(Gate {
                    at,
                    state: GateState::Confirmed,
                    what: means,
                    words: Some(words),
                    why: None,
                    sound,
                });
                (EventKind::Gate, said)
            }
            Entry::GateRefused { gate, tried, why } => {
                let gate = names.gate(&gate);
                let (tried, why) = (why.tried(&tried).to_owned(), why.words(language));
                let said = format!("Not confirmed: {gate}; {why}. Said: “{tried}”");
                self.gates.push(Gate {
                    at,
                    state: GateState::StayedClosed,
                    what: gate,
                    words: Some(tried),
                    why: Some(why),
                    sound: None,
                });
                (EventKind::Gate, said)
            }
            Entry::Voided { fact, why } => {
                let (fact, why) = (names.fact(&fact), why.words(language));
                let said = format!("No longer taken for true: {fact}; {why}");
                self.gates.push(Gate {
                    at,
                    state: GateState::AskedAgain,
                    what: fact,
                    words: None,
                    why: Some(why),
                    sound: None,
                });
                (EventKind::Gate, said)
            }
            entry @ Entry::Read { .. } => self.read(entry, at),
            Entry::Answered {
                question,
                yes,
                leads_to,
                ..
            } => {
                let said = format!("{question} {}", if yes { "Yes" } else { "No" });
                if leads_to.is_some() {
                    self.findings.push(Finding {
                        at,
                        kind: FindingKind::Worn,
                        what: said.clone(),
                        reason: None,
                        put_right: false,
                    });
                }
                (EventKind::Answer, said)
            }
            Entry::TakenBack { what, words } => {
                // What was taken back counts no more; that it was said stays in the course.
                if let Some(before) = self.before_kept.take() {
                    let course = std::mem::take(&mut self.course);
                    let gates = std::mem::take(&mut self.gates);
                    *self = Self {
                        course,
                        gates,
                        ..*before
                    };
                }
                (
                    EventKind::TakenBack,
                    format!("Taken back: {what}. Said: “{words}”"),
                )
            }
            Entry::Deferred { item, what } => {
                let what = what.words(language);
                self.about.insert(self.findings.len(), item);
                self.findings.push(Finding {
                    at,
                    kind: FindingKind::Deferred,
                    what: what.clone(),
                    reason: None,
                    put_right: false,
                });
                (EventKind::Deferred, format!("Left for later: {what}"))
            }
            Entry::CutShort { step, seconds_left } => {
                let left = record::time::left(seconds_left);
                let what = format!("{}, {left}", names.step(&step));
                self.findings.push(Finding {
                    at,
                    kind: FindingKind::CutShort,
                    what: what.clone(),
                    reason: None,
                    put_right: false,
                });
                (EventKind::CutShort, format!("Wait cut short: {what}"))
            }
            Entry::Noted {
                words,
                sound,
                reason_for,
            } => {
                let words = words.trim();
                let words = (!words.is_empty()).then(|| words.to_owned());
                if let Some(item) = reason_for {
                    self.reason(&item, words.clone().unwrap_or_default());
                }
                let number = self.notes.len() + 1;
                let said = match &words {
                    Some(words) => format!("Note {number}, heard, unchecked: “{words}”"),
                    None => format!("Note {number}: no words understood, the sound is kept"),
                };
                self.note_seqs.push(line.seq);
                self.notes.push(Note {
                    number,
                    at,
                    words,
                    sound,
                    photos: Vec::new(),
                });
                (EventKind::Note, said)
            }
            Entry::Helped { branch } => (EventKind::Extra, names.extra_steps(&branch)),
            Entry::Resumed { away_seconds } => (
                EventKind::TakenUp,
                format!("Resumed after {}", record::time::length(away_seconds)),
            ),
            Entry::WorkedBy { person } => {
                let said = format!("Worked by {person}");
                self.worked_by.push(Worker {
                    name: person,
                    from: at,
                });
                (EventKind::Person, said)
            }
            Entry::TakenOver {
                from,
                person,
                words,
                ..
            } => {
                let before = from.map(|from| format!(" from {from}")).unwrap_or_default();
                let said = format!("Taken over by {person}{before}. Said: “{words}”");
                self.worked_by.push(Worker {
                    name: person,
                    from: at,
                });
                (EventKind::Person, said)
            }
            Entry::Signed {
                person,
                words,
                sound,
                ..
            } => {
                let said = format!("Signed off by {person}: “{words}”");
                self.signed_by.push(Signature {
                    name: person,
                    at,
                    words,
                    sound,
                });
                (EventKind::Signed, said)
            }
            Entry::PartMissing { part } => {
                let said = record::line::missing(part.as_deref());
                (EventKind::Waiting, capital(&said))
            }
            Entry::Waiting { outstanding } => {
                let left = record::line::left_off(&outstanding, language);
                let said = format!("Made safe, waiting for the part; {left}");
                (EventKind::Waiting, said)
            }
            Entry::HeldOn { seconds } => (EventKind::Paused, capital(&record::line::held(seconds))),
            Entry::PausedFor { reason } => {
                let said = format!("The pause was for {}", reason.words(language));
                (EventKind::Paused, said)
            }
            Entry::PartArrived => (EventKind::TakenUp, "The part is here".to_owned()),
            Entry::Abandoning => (EventKind::GivingUp, "Giving the job up".to_owned()),
            Entry::Closed { outcome, .. } => {
                let how = match outcome {
                    steps::Outcome::Finished => "Job closed: finished",
                    steps::Outcome::Abandoned => "Job closed: given up",
                };
                (EventKind::Closed, how.to_owned())
            }
        }
    }

    fn read(&mut self, entry: Entry, at: String) -> (EventKind, String) {
        let Entry::Read {
            reading,
            name,
            value,
            unit,
            limits: formerly,
            within,
            range,
            sound,
        } = entry
        else {
            return (EventKind::Reading, String::new());
        };
        let limits = limits(range, &unit, formerly.as_deref());
        let verdict = match (within, &limits) {
            (true, None) => Verdict::NoLimits,
            (true, Some(_)) => Verdict::Within,
            (false, _) => Verdict::OutOfLimits,
        };
        let told = match (verdict, &limits) {
            (Verdict::OutOfLimits, Some(limits)) => format!(", OUT OF LIMITS ({limits})"),
            (Verdict::OutOfLimits, None) => ", OUT OF LIMITS".to_owned(),
            (Verdict::Within, Some(limits)) => format!(", within limits ({limits})"),
            (Verdict::Within | Verdict::NoLimits, _) => String::new(),
        };
        let what = format!("{name} {value} {unit}{told}");
        self.put_right(&reading, FindingKind::Deferred);
        if within {
            self.put_right(&reading, FindingKind::OutOfLimits);
        } else {
            // Measured again and still out: the newest value tells.
            self.put_right(&reading, FindingKind::OutOfLimits);
            self.about.insert(self.findings.len(), reading);
            self.findings.push(Finding {
                at: at.clone(),
                kind: FindingKind::OutOfLimits,
                what: what.clone(),
                reason: None,
                put_right: false,
            });
        }
        self.readings.push(Reading {
            at,
            name,
            value: value.to_string(),
            unit,
            limits,
            verdict,
            range: range.map(|range| Range {
                least: range.least.to_f64(),
                most: range.most.to_f64(),
                min: range.min.map(steps::Decimal::to_f64),
                max: range.max.map(steps::Decimal::to_f64),
            }),
            sound,
        });
        (EventKind::Reading, capital(&what))
    }
}

/// Several things in words.
fn in_words(things: &[impl InWords], language: Language) -> Vec<String> {
    things.iter().map(|it| it.words(language)).collect()
}

pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
