//! What a report tells, as plain data: the one source of its HTML, PDF, CSV and JSON.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The version of this form. It changes when a field changes its meaning or goes.
pub const FORMAT: u32 = 1;

/// A job's report. Times are UTC as RFC 3339 has them; hashes are SHA-256 in lower-case hexadecimal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobReport {
    /// The version of this form.
    pub format: u32,
    /// The job's name in the records.
    pub job: String,
    /// What the job is called.
    pub title: String,
    /// The vehicle or machine, as the procedure names it; empty when the record doesn't tell.
    pub vehicle: String,
    /// Whether it was only a rehearsal, which proves no work.
    pub rehearsal: bool,
    /// Whether it was worked from recordings, which proves no work either.
    #[serde(default)]
    pub recordings: bool,
    /// What was chosen at the start.
    pub choices: Vec<Choice>,
    /// Who worked, as far as they said their names; empty when nobody did.
    pub worked_by: Vec<Worker>,
    /// Who answers for it by their own words; empty when nobody signed off aloud.
    pub signed_by: Vec<Signature>,
    /// When the job was opened.
    pub opened: String,
    /// When it was closed, or when something was recorded last.
    pub last: String,
    /// Seconds from the one to the other.
    pub seconds: u64,
    /// How it ended.
    pub outcome: Outcome,
    /// What was still loose, off or not measured when it was closed.
    pub outstanding: Vec<String>,
    /// What was said to be careful of.
    pub cautions: Vec<String>,
    /// Where the procedure's values come from.
    pub values: String,
    /// Everything that was found and left, for whoever decides what is done next.
    pub findings: Vec<Finding>,
    /// Work that follows from the findings.
    pub recommended: Vec<String>,
    /// Measured values, in order.
    pub readings: Vec<Reading>,
    /// What was tightened, in order.
    pub torques: Vec<Torque>,
    /// Parts and fasteners that are never used twice, and went in new.
    pub renewed: Vec<Renewed>,
    /// What happened at the hold points, in order.
    pub gates: Vec<Gate>,
    /// Who answers for the versions of procedure and vehicle sheet; empty where the shop releases none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub released: Vec<Released>,
    /// The values that were taken from the sheet of the vehicle; empty where none was named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sheet_values: Vec<SheetValue>,
    /// Notes, in order.
    pub notes: Vec<Note>,
    /// Photos, in order.
    pub photos: Vec<Photo>,
    /// All that was done, in order.
    pub course: Vec<Event>,
    /// The time that was worked, by phases of the procedure, pauses left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub phases: Vec<PhaseTime>,
    /// What the job was put down for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pauses: Vec<PauseTime>,
    /// Whether the record is as it was written.
    pub proof: Proof,
}

/// The time of one phase.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PhaseTime {
    /// The phase, as the procedure calls it.
    pub name: String,
    /// Seconds that were worked, as far as that is known.
    pub seconds: u64,
    /// Whether it took longer by a time that nobody knows.
    pub unknown: bool,
    /// Minutes that the procedure estimates; missing where it doesn't.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub estimate_minutes: Option<u64>,
}

/// The pauses for one reason.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PauseTime {
    /// The reason; missing where nobody gave one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// How many there were.
    pub times: u32,
    /// Seconds that they took together, as far as that is known.
    pub seconds: u64,
    /// How many of them were of a length that nobody knows.
    pub unknown: u32,
}

/// An answer at the start.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Choice {
    /// What was asked.
    pub asked: String,
    /// The answer.
    pub answer: String,
}

/// A version that somebody answers for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Released {
    /// The procedure or vehicle sheet.
    pub of: String,
    /// Who released it.
    pub by: String,
    /// When.
    pub on: String,
}

/// A value that was taken from the sheet of the vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SheetValue {
    /// What it is.
    pub what: String,
    /// The value as the sheet writes it.
    pub value: String,
    /// The document that it is from; missing where the sheet names none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// Who entered it, and when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entered: Option<String>,
    /// Who compared it with its source, and when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub approved: Option<String>,
}

/// Somebody who answers for the job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Signature {
    /// The name.
    pub name: String,
    /// When it was said.
    pub at: String,
    /// The words that were heard.
    pub words: String,
    /// Where their sound is kept, from the records' folder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sound: Option<String>,
}

/// Somebody who worked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Worker {
    /// The name.
    pub name: String,
    /// From when on.
    pub from: String,
}

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Not yet.
    Open,
    /// All steps done, nothing outstanding but what was deferred.
    Finished,
    /// Given up; the vehicle left safe.
    GivenUp,
}

/// Something found, or left for later.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    /// When.
    pub at: String,
    /// What kind.
    pub kind: FindingKind,
    /// What.
    pub what: String,
    /// Why it was left, when somebody said so: the words heard, unchecked. Empty when no words were
    /// understood; their sound is kept with the note.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// Whether it was put right within the job, as a later entry shows.
    pub put_right: bool,
}

/// The kind of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FindingKind {
    /// A measured value out of its limits.
    OutOfLimits,
    /// A question of the procedure was answered so that extra work followed: worn, damaged or missing.
    Worn,
    /// Left for later.
    Deferred,
    /// A wait that the procedure asks for was cut short.
    CutShort,
    /// Still loose or off when the job was given up.
    Outstanding,
    /// To be tightened again once it has settled.
    TightenAgain,
}

/// A measured value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Reading {
    /// When it was confirmed.
    pub at: String,
    /// What was measured.
    pub name: String,
    /// The value as it was said, in `unit`; a decimal number with all its places.
    pub value: String,
    /// The unit's symbol.
    pub unit: String,
    /// The limits in words; absent where the procedure gives none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<String>,
    /// What it comes to.
    pub verdict: Verdict,
    /// Limits and what the instrument can show, in `unit`; absent in records of older programs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<Range>,
    /// Where the sound of the number is kept, from the records' folder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sound: Option<String>,
}

/// What a reading comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Within its limits.
    Within,
    /// Out of its limits.
    OutOfLimits,
    /// The procedure gives no limits.
    NoLimits,
}

/// Where a value may lie.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Range {
    /// The least that the instrument can show.
    pub least: f64,
    /// The most.
    pub most: f64,
    /// Lower limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub min: Option<f64>,
    /// Upper limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max: Option<f64>,
}

/// A fastener group that was tightened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Torque {
    /// When the technician said that it was done.
    pub at: String,
    /// How many, and of what.
    pub what: String,
    /// The value wanted, with its unit, as the procedure gives it.
    pub wanted: String,
    /// The value told to the technician, in the unit of the wrench, and the wrench where it was known.
    pub told: String,
    /// Passes, order, what goes on the threads.
    pub manner: Vec<String>,
}

/// Something that went in new.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Renewed {
    /// When.
    pub at: String,
    /// What.
    pub what: String,
    /// The number that it was bought by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_number: Option<String>,
}

/// Something that happened at a hold point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Gate {
    /// When.
    pub at: String,
    /// What.
    pub state: GateState,
    /// What is true from then on, or no longer; what was not confirmed where it stayed closed.
    pub what: String,
    /// The words that were heard; absent where nothing was said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
    /// Why it stayed closed or closed again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// Where the words' sound is kept, from the records' folder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sound: Option<String>,
}

/// What happened at a hold point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GateState {
    /// Confirmed by its own words.
    Confirmed,
    /// It stayed closed.
    StayedClosed,
    /// What it confirmed was no longer taken for true.
    AskedAgain,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Note {
    /// Its number, from 1.
    pub number: usize,
    /// When.
    pub at: String,
    /// The words as they were recognised or typed, unchecked; absent where none were understood.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
    /// Where its sound is kept, from the records' folder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sound: Option<String>,
    /// The numbers of its photos.
    pub photos: Vec<usize>,
}

/// A photo.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Photo {
    /// Its number, from 1.
    pub number: usize,
    /// When it was attached.
    pub at: String,
    /// The name of the file that was given.
    pub given: String,
    /// SHA-256 of the file that was given.
    pub given_sha256: String,
    /// Where it is kept, from the records' folder; its own SHA-256 stands in its name.
    pub path: String,
    /// The number of the note that it belongs to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<usize>,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Event {
    /// The number of the journal's entry that led to it.
    pub seq: u64,
    /// When.
    pub at: String,
    /// What kind.
    pub kind: EventKind,
    /// What, in words.
    pub what: String,
}

/// The kind of an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EventKind {
    /// The job was opened.
    Opened,
    /// Something was chosen.
    Chosen,
    /// Somebody worked from then on.
    Person,
    /// Somebody answers for the job.
    Signed,
    /// A step was done.
    Step,
    /// Something happened at a hold point.
    Gate,
    /// Something was tightened.
    Torque,
    /// Something was measured.
    Reading,
    /// A question of the procedure was answered.
    Answer,
    /// Something that was kept a moment ago was taken back.
    TakenBack,
    /// Something was left for later.
    Deferred,
    /// A wait was cut short.
    CutShort,
    /// A note was taken.
    Note,
    /// Extra steps were begun.
    Extra,
    /// The job was put down and taken up again.
    TakenUp,
    /// A part was missing, and the job was made safe to wait for it.
    Waiting,
    /// The job was put down for a while, or why it was.
    Paused,
    /// The job was going to be given up.
    GivingUp,
    /// The job was closed.
    Closed,
}

/// Whether the record is as it was written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Proof {
    /// Whether nothing was changed.
    pub whole: bool,
    /// What checking came to, in words.
    pub verified: String,
    /// How many entries are whole.
    pub entries: u64,
    /// SHA-256 of the last of them. It stands for all before it; the QR code shows it.
    pub head: String,
    /// The procedure's name.
    pub procedure: String,
    /// SHA-256 of its text, as the job was last worked by it.
    pub procedure_sha256: String,
    /// When the job went on by a changed procedure.
    pub procedure_changed: Vec<String>,
    /// The version of the program that wrote the record last.
    pub program: String,
    /// Whether the inputs were replayed and led to what is on the record.
    #[serde(default)]
    pub replayed: bool,
    /// Which bays signed it, each up to where.
    #[serde(default)]
    pub signatures: Vec<SignatureShown>,
}

/// A bay's signature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SignatureShown {
    /// The bay, as it calls itself.
    pub bay: String,
    /// Its public Ed25519 key, in hexadecimal.
    pub key: String,
    /// When, UTC, by the bay's clock.
    pub at: String,
    /// How many entries from the first on it signed.
    pub entries: u64,
}

impl JobReport {
    /// The report as JSON, indented. Its schema is [`schema`](Self::schema).
    ///
    /// # Errors
    /// When it can't be turned into JSON, which is a bug in Sayback.
    pub fn json(&self) -> Result<String, serde_json::Error> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }

    /// The JSON Schema of [`json`](Self::json).
    pub fn schema() -> schemars::Schema {
        schemars::schema_for!(Self)
    }
}
