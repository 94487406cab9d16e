//! What can be seen of a job in half a second: the model that the page is drawn from.
//!
//! Everything in it is text that a technician can read or a number that a drawing needs. It holds nothing that could
//! be sent back: no fact, no gate's name, no command.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How a job stands, for whoever looks.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Glance {
    /// The number of this glance. Each change has a higher one, until the server is started anew.
    #[serde(default)]
    pub version: u64,
    /// When it was made, in milliseconds since 1970-01-01T00:00:00Z.
    pub at_ms: u64,
    /// The job; none where no job is being worked.
    pub job: Option<JobShown>,
    /// The step that is being worked.
    pub step: Option<StepShown>,
    /// The warning of the step.
    pub warning: Option<WarningShown>,
    /// The hold point that holds the job: it takes the whole page.
    pub gate: Option<GateShown>,
    /// What the assistant asked and waits for.
    pub question: Option<QuestionShown>,
    /// The drive's size.
    pub size: Option<SizeShown>,
    /// The torque.
    pub torque: Option<TorqueShown>,
    /// The order in which the fasteners are tightened.
    pub pattern: Option<PatternShown>,
    /// What is loose or off the vehicle.
    pub off: Vec<OffShown>,
    /// Waits that are running.
    pub timers: Vec<TimerShown>,
    /// What was heard last.
    pub heard: Option<HeardShown>,
    /// What was said last.
    pub said: Option<SaidShown>,
    /// What can be said now, as it is said.
    pub say_now: Vec<String>,
    /// Whether only "carry on" and "stop" are listened for.
    pub held: bool,
    /// Whether the voice was muted by a viewer.
    pub muted: bool,
}

/// The job at hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct JobShown {
    /// Its name on record.
    pub name: String,
    /// What it is called.
    pub title: String,
    /// The vehicle or machine.
    pub vehicle: String,
    /// Whether it is a rehearsal, which proves nothing.
    pub rehearsal: bool,
    /// Whether it is worked from recordings, which proves nothing either.
    pub recordings: bool,
    /// Who works, where that is known.
    pub by: Option<String>,
    /// The unit that its torques are told in.
    #[serde(default)]
    pub unit: Option<String>,
    /// How it ended; none while it is open.
    pub outcome: Option<OutcomeShown>,
}

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OutcomeShown {
    /// All is done.
    Finished,
    /// Given up, the vehicle left safe.
    Abandoned,
}

/// The step at hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct StepShown {
    /// Its number, from 1; none in a branch that isn't counted.
    pub number: Option<usize>,
    /// Of how many.
    pub of: Option<usize>,
    /// The action, in the imperative.
    pub text: String,
    /// What kind of action it is.
    pub kind: StepKind,
}

/// What kind of action a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StepKind {
    /// Anything else.
    Do,
    /// Loosen fasteners.
    Loosen,
    /// Take something off.
    Remove,
    /// Put it back.
    Refit,
    /// Tighten to torque.
    Tighten,
    /// Take a reading.
    Measure,
    /// Let time pass.
    Wait,
    /// Look at something.
    Inspect,
    /// Answer a question.
    Ask,
    /// A hold point.
    HoldPoint,
    /// A check.
    Check,
    /// A question before the steps: which side, and the like.
    Choose,
    /// Tools and parts are laid out.
    LayOut,
    /// All steps are done; the job waits to be closed.
    End,
}

/// A signal word of ANSI Z535.6.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SignalShown {
    /// Death or serious injury follows if it is not heeded.
    Danger,
    /// Death or serious injury may follow.
    Warning,
    /// Minor or moderate injury may follow.
    Caution,
    /// Damage, no injury.
    Notice,
}

/// A warning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WarningShown {
    /// Its signal word.
    pub signal: SignalShown,
    /// What it warns of.
    pub text: String,
}

/// The hold point or check that holds the job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GateShown {
    /// The words to say aloud, as the procedure writes them.
    pub readback: String,
    /// What to do and look at before saying them.
    pub ask: String,
    /// What they make true, as a clause.
    pub means: String,
    /// How bad the hazard is; none at a check.
    pub signal: Option<SignalShown>,
    /// Whether it is a check: what it asks for can still be found and put right later.
    #[serde(default)]
    pub check: bool,
    /// The check word to say after them, another one each time, where one is asked for: a colour.
    #[serde(default)]
    pub varying_word: Option<String>,
}

/// Something that was asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct QuestionShown {
    /// The question.
    pub text: String,
    /// What can be answered, as it is said; empty where a number or free words are waited for.
    pub answers: Vec<String>,
    /// What an instrument may show, where a number is waited for: "0.00 to 5.00 mm".
    pub number: Option<String>,
}

/// The form of a drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ShapeShown {
    /// Outside hexagon.
    Hex,
    /// Hexagon socket.
    HexSocket,
    /// Outside twelve points.
    TwelvePoint,
    /// Six-lobe socket of ISO 10664; its size is a number.
    SixLobe,
    /// A slotted or castellated nut.
    Slotted,
}

/// The drive of the fasteners at hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SizeShown {
    /// As it is written: "19 mm".
    pub label: String,
    /// Its form.
    pub shape: ShapeShown,
    /// The form in words: "hex".
    pub shape_name: String,
    /// Width across flats in millimetres, where the drive has flats.
    pub across_flats_mm: Option<f64>,
    /// Other tools for this step, and what is wrong with the technician's own.
    pub also: Vec<String>,
}

/// The torque of the fasteners at hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorqueShown {
    /// What is told aloud: "103 lbf·ft (140 N·m)".
    pub told: String,
    /// In newton-metres: "140 N·m".
    pub newton_metre: String,
    /// In pound-force feet, to what a scale shows: "103 lbf·ft".
    pub foot_pound: String,
    /// The number for a drawing, in newton-metres.
    pub value_newton_metre: f64,
    /// The limits that the source gives, where it gives any: "130–150 N·m".
    pub limits: Option<String>,
    /// What is added to it on the wrench and isn't known yet, or was added: "plus the running torque".
    pub added: Option<String>,
    /// The technician's wrench, where one suits.
    pub wrench: Option<WrenchShown>,
    /// Why none of the technician's wrenches suits.
    pub no_wrench: Option<String>,
    /// The torque of each pass, as set; empty where there is one only.
    pub passes: Vec<String>,
    /// The pass that is being worked, from 1.
    pub pass: Option<usize>,
    /// A further turn after the torque: "90°".
    pub angle: Option<String>,
}

/// A torque wrench and its setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct WrenchShown {
    /// Its name.
    pub name: String,
    /// The unit of its scale.
    pub unit: String,
    /// The lowest mark.
    pub least: f64,
    /// The highest mark.
    pub most: f64,
    /// The mark to set.
    pub setting: f64,
    /// What speaks against it.
    pub warning: Option<String>,
}

/// The order of tightening.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PatternShown {
    /// Its name.
    pub name: PatternName,
    /// How many fasteners.
    pub count: u16,
    /// Their numbers in the order of tightening; number 1 is on top, and they are counted clockwise.
    pub order: Vec<u16>,
    /// Where each is, by number: the first is that of number 1.
    pub places: Vec<PlaceShown>,
    /// The number of the one to tighten now, once they are called out.
    pub next: Option<u16>,
    /// How many have had this pass.
    pub done: u16,
}

/// How the next fastener is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PatternName {
    /// Across the circle each time.
    CrissCross,
    /// Along the lines of a star.
    Star,
    /// One beside the other.
    InTurn,
}

/// A place in a drawing: the circle has radius 1, x to the right, y down.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PlaceShown {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// Something that isn't in place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct OffShown {
    /// What.
    pub what: String,
    /// What it is: "off", "loose", "unplugged", "in by hand".
    pub state: String,
}

/// A wait that is running.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TimerShown {
    /// What is waited for.
    pub what: String,
    /// When it is over, in milliseconds since 1970-01-01T00:00:00Z.
    pub ends_at_ms: u64,
}

/// What became of something heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum VerdictShown {
    /// Taken.
    Understood,
    /// Heard with doubt: the assistant asked.
    Asked,
    /// Speech that is none of what may be said.
    NotUnderstood,
    /// Something heard was not for the assistant. Its words are not kept.
    Ignored,
}

/// What was heard last.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct HeardShown {
    /// The words; empty for what was ignored.
    pub words: String,
    /// What became of it.
    pub verdict: VerdictShown,
    /// When, in milliseconds since 1970-01-01T00:00:00Z.
    pub at_ms: u64,
}

/// What kind of sentence was said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ToneShown {
    /// A step.
    Step,
    /// An answer.
    Answer,
    /// A warning.
    Warning,
    /// A hold point.
    Hold,
    /// Something was refused.
    Refusal,
    /// A question.
    Question,
}

/// What was said last.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SaidShown {
    /// Its kind.
    pub tone: ToneShown,
    /// Its text.
    pub text: String,
}

/// How loud it is at the microphone, in decibels relative to full scale.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Level {
    /// Now.
    pub rms_db: f64,
    /// Of the noise in the room, where it was measured.
    pub noise_db: Option<f64>,
    /// Whether somebody speaks.
    pub speech: bool,
    /// The microphone's name; none while it is gone.
    pub microphone: Option<String>,
}
