//! A procedure as its author writes it: the TOML, key by key. `load` turns it into a
//! [`Procedure`](super::Procedure), in which every name resolves and every quantity is a quantity.

mod step;

pub(super) use step::{ActionFile, StepFile};

use super::sheet::FromSheetFile;
use crate::Language;
use crate::quantity::{Depth, DriveShape, Pattern};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// A text of which the place in the file is kept, so that an error can point at it.
pub(super) type Text = Spanned<String>;

/// A procedure, or a part that procedures include. A part has no `title`, `vehicle`, `values`, `minutes`,
/// `variant`, `phase` or `make_safe` of its own.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct File {
    /// Version of this format; 1.
    #[schemars(with = "u32")]
    pub(super) format: Spanned<u32>,
    /// Name of the procedure: the file's name without `.toml`.
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// The language of all that is said and heard in it; English where it isn't given. A part has that of the
    /// procedures that include it.
    #[serde(default)]
    pub(super) language: Language,
    /// What the job is called, in a few words that can be said.
    #[schemars(with = "Option<String>")]
    pub(super) title: Option<Text>,
    /// The vehicle, or the machine, that it is for.
    pub(super) vehicle: Option<String>,
    /// Where the values come from. Said before the job starts.
    pub(super) values: Option<String>,
    /// How long the job usually takes.
    pub(super) minutes: Option<u32>,
    /// Said before the job starts, besides the usual cautions.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(super) cautions: Vec<Text>,
    /// What is taken from the sheet of the vehicle. A part may have such declarations of its own.
    #[serde(default)]
    pub(super) from_sheet: Vec<FromSheetFile>,
    /// What is asked when the job starts: which side, which rim.
    #[serde(default)]
    pub(super) variant: Vec<VariantFile>,
    /// What must be true of the world for a step to be safe.
    #[serde(default)]
    pub(super) fact: Vec<FactFile>,
    /// Hold points and checks: each makes one fact true.
    #[serde(default)]
    pub(super) gate: Vec<GateFile>,
    /// What to lay out before the job.
    #[serde(default)]
    pub(super) lay_out: LayOutFile,
    /// Things that come off, or are unplugged, and go back.
    #[serde(default)]
    pub(super) item: Vec<ItemFile>,
    /// Groups of like fasteners.
    #[serde(default)]
    pub(super) fastener: Vec<FastenerFile>,
    /// What is measured.
    #[serde(default)]
    pub(super) reading: Vec<ReadingFile>,
    /// What to do if there is trouble.
    #[serde(default)]
    pub(super) branch: Vec<BranchFile>,
    /// The steps, in order.
    #[serde(default)]
    pub(super) step: Vec<StepFile>,
    /// Sections of the job whose time is told apart, in the order of the steps.
    #[serde(default)]
    pub(super) phase: Vec<PhaseFile>,
    /// Steps that leave the vehicle safe when the job is given up.
    #[serde(default)]
    pub(super) make_safe: Vec<StepFile>,
    /// Words that a recogniser may not know, each with plain words that it sounds like: `undertray = "under-tray"`.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, String>")]
    pub(super) sounds_like: BTreeMap<String, Text>,
    /// Doubts of the checker that the author has looked at and accepts.
    #[serde(default)]
    pub(super) accepted: Vec<AcceptedFile>,
}

/// A doubt that is right as it stands. A mistake can't be accepted, nor anything at a hold point.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AcceptedFile {
    /// The finding's code, as `sayback check` prints it.
    #[schemars(with = "String")]
    pub(super) code: Text,
    /// Name of the step or thing that it is found at.
    #[schemars(with = "String")]
    pub(super) at: Text,
    /// Why it is right as it stands, in a sentence.
    #[schemars(with = "String")]
    pub(super) reason: Text,
}

/// A section of the job, up to the next one. What comes before the first one's step counts to the first.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PhaseFile {
    /// What it is called in reports.
    #[schemars(with = "String")]
    pub(super) name: Text,
    /// Name of the step that it begins at.
    #[schemars(with = "String")]
    pub(super) from: Text,
    /// How long it is estimated to take.
    #[schemars(with = "Option<u32>")]
    pub(super) minutes: Option<Spanned<u32>>,
}

/// A question at the start.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct VariantFile {
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// The question, as it is said.
    pub(super) ask: String,
    /// The answers, at least two.
    #[schemars(with = "Vec<OptionFile>")]
    pub(super) options: Spanned<Vec<OptionFile>>,
}

/// One answer.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OptionFile {
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// The answer's words; what `{variant}` becomes in texts.
    #[schemars(with = "String")]
    pub(super) say: Text,
}

/// A fact.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FactFile {
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// The fact as a clause: "the van rests on stands".
    #[schemars(with = "String")]
    pub(super) means: Text,
}

/// A hold point or a check.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct GateFile {
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// The fact that it makes true.
    #[schemars(with = "String")]
    pub(super) fact: Text,
    /// Whether it is a hold point or a check. When left out, a gate whose signal is danger is a hold point and any other
    /// a check.
    #[schemars(with = "Option<Weight>")]
    pub(super) weight: Option<Spanned<Weight>>,
    /// The hazard's signal word (ANSI Z535.6).
    #[serde(default)]
    pub(super) signal: Signal,
    /// Of a hold point the danger in one clause; then what to look at before saying the words.
    #[schemars(with = "String")]
    pub(super) ask: Text,
    /// The same at length, with the reason; told on “tell me more”.
    #[schemars(with = "Option<String>")]
    pub(super) more: Option<Text>,
    /// The words that open it: a sentence particular to this gate, numbers spelt out. Of a list each opens it, and the
    /// first is asked for.
    #[schemars(with = "ReadbackFile")]
    pub(super) readback: Spanned<ReadbackFile>,
    /// Facts that must be true before this gate can be passed.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(super) needs: Vec<Text>,
    /// After a pause longer than this the gate is asked again.
    pub(super) good_for_minutes: Option<u32>,
    /// More sentences that sound like the readback and must not open the gate.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(super) decoys: Vec<Text>,
    /// What rests on the stands, and what they are rated for.
    pub(super) load: Option<LoadFile>,
    /// How a hold point was written before gates had a weight; records of that time hold such texts.
    #[serde(default)]
    #[schemars(skip)]
    pub(super) colour: Option<Spanned<bool>>,
}

/// One readback, or several.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(untagged)]
pub(super) enum ReadbackFile {
    /// One.
    One(String),
    /// The first is asked for; any of them counts.
    Several(#[schemars(length(min = 1))] Vec<String>),
}

impl GateFile {
    /// The readbacks, the one that is asked for first.
    pub(super) fn readbacks(&self) -> impl Iterator<Item = Text> + '_ {
        let all = match self.readback.get_ref() {
            ReadbackFile::One(one) => std::slice::from_ref(one),
            ReadbackFile::Several(several) => several,
        };
        all.iter()
            .map(|words| Spanned::new(self.readback.span(), words.clone()))
    }
}

/// How much hangs on a gate. Either opens only to its readback, heard aloud with the same evidence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// What kills or maims: it states the danger and asks for a check word.
    HoldPoint,
    /// What can still be found and put right later.
    Check,
}

impl Weight {
    /// What such a gate is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::HoldPoint => "hold point",
            Self::Check => "check",
        }
    }
}

/// A load on stands.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LoadFile {
    /// The vehicle's mass: `2100 kg`.
    #[schemars(with = "String")]
    pub(super) mass: Text,
    /// Whose figure the mass is.
    #[serde(default)]
    pub(super) mass_from: FigureFrom,
    /// Share of it on the lifted axle: `55 %`.
    #[schemars(with = "String")]
    pub(super) axle_share: Text,
    /// Stands under the axle: 2 to 4; 2 when left out.
    pub(super) stands: Option<u8>,
    /// What the stands are rated for: `3 t each`, `6 t a pair`.
    #[schemars(with = "String")]
    pub(super) rating: Text,
    /// Whose figure the rating is.
    #[serde(default)]
    pub(super) rating_from: FigureFrom,
    /// The most of its rating that a stand may carry by its maker: `80 %`; the whole when left out.
    #[schemars(with = "Option<String>")]
    pub(super) usable: Option<Text>,
}

/// Whose figure it is.
#[derive(Debug, Clone, Copy, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum FigureFrom {
    /// The procedure's.
    #[default]
    Procedure,
    /// The plate's of the vehicle or the stand.
    Plate,
}

/// Signal words (ANSI Z535.6): how badly, and how surely, someone is hurt.
#[derive(
    Debug,
    Clone,
    Copy,
    Default,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Deserialize,
    serde::Serialize,
    JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Signal {
    /// Not about injury.
    Notice,
    /// Could injure, minor or moderate.
    #[default]
    Caution,
    /// Could kill or injure seriously.
    Warning,
    /// Will kill or injure seriously.
    Danger,
}

impl Signal {
    /// The signal word, as it is said and printed.
    pub fn word(self) -> &'static str {
        match self {
            Self::Notice => "Notice",
            Self::Caution => "Caution",
            Self::Warning => "Warning",
            Self::Danger => "Danger",
        }
    }
}

/// What to lay out.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub(super) struct LayOutFile {
    /// Protective equipment.
    #[schemars(with = "Vec<String>")]
    pub(super) protection: Vec<Text>,
    #[schemars(with = "Vec<String>")]
    pub(super) tools: Vec<Text>,
    #[schemars(with = "Vec<PartFile>")]
    pub(super) parts: Vec<Spanned<PartFile>>,
    #[schemars(with = "Vec<String>")]
    pub(super) consumables: Vec<Text>,
}

/// A part to lay out.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(
    untagged,
    expecting = "expected a part in words, or `{ what = \"…\", part_number = \"…\", quantity = 2, core_return = true }`"
)]
pub(super) enum PartFile {
    /// In words.
    Words(String),
    /// With what whoever buys it must know.
    Known(KnownPartFile),
}

/// A part to lay out, and what whoever buys it must know.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct KnownPartFile {
    pub(super) what: String,
    pub(super) part_number: Option<String>,
    /// How many are bought.
    #[schemars(with = "Option<OrName<u16>>")]
    pub(super) quantity: Option<u16>,
    /// Whether the old one is given back where the new one is bought.
    #[serde(default)]
    pub(super) core_return: bool,
}

/// A thing that comes off and goes back.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ItemFile {
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// Its name, without an article.
    #[schemars(with = "String")]
    pub(super) name: Text,
    /// What it is while it isn't in place; `off` when left out.
    #[schemars(with = "Option<String>")]
    pub(super) off: Option<Text>,
    /// Whether it is thrown away: a new one goes back.
    #[serde(default)]
    pub(super) once_only: bool,
    /// The number that it is bought by.
    #[schemars(with = "Option<String>")]
    pub(super) part_number: Option<Text>,
    /// How many are bought; 1 when left out.
    #[schemars(with = "Option<OrName<u16>>")]
    pub(super) quantity: Option<Spanned<u16>>,
    /// Whether the old one is given back where the new one is bought.
    #[serde(default)]
    pub(super) core_return: bool,
    /// Whether the vehicle may go back into service while this is outstanding, when that is said aloud at
    /// the end. Never what holds, steers, brakes or guards.
    #[serde(default)]
    pub(super) may_wait: bool,
}

/// A group of like fasteners.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FastenerFile {
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// The name of one, without an article.
    #[schemars(with = "String")]
    pub(super) name: Text,
    /// The name of several; the name with an s when left out.
    #[schemars(with = "Option<String>")]
    pub(super) names: Option<Text>,
    /// How many.
    #[schemars(with = "OrName<u16>")]
    pub(super) count: Spanned<u16>,
    /// Thread designation (ISO 965-1, ASME B1.1), for example `M14x1.5` or `1/2-20 UNF`.
    #[schemars(with = "Option<String>")]
    pub(super) thread: Option<Text>,
    /// Strength as it is marked: `10.9` for a bolt (ISO 898-1), `10` for a nut (ISO 898-2), `grade 5` for an inch
    /// bolt (SAE J429). With it and the thread the checker judges whether the torque is plausible.
    #[schemars(with = "Option<String>")]
    pub(super) class: Option<Text>,
    /// Nut factor K of T = K·d·F, where the source gives one; else it is taken from `lubrication`.
    #[schemars(with = "Option<f64>")]
    pub(super) nut_factor: Option<Spanned<f64>>,
    /// Why a torque that is unusual for its thread is right. The checker then doesn't doubt it.
    #[schemars(with = "Option<String>")]
    pub(super) unusual_because: Option<Text>,
    /// The torque in a second unit, where the source prints one: the checker compares the two.
    #[schemars(with = "Option<String>")]
    pub(super) torque_also: Option<Text>,
    /// What tool fits.
    pub(super) drive: Option<DriveFile>,
    /// Final torque as the source gives it: `140 N·m`, `140 ± 10 N·m`, `90–110 N·m`, `100 N·m ± 10 %`.
    #[schemars(with = "Option<String>")]
    pub(super) torque: Option<Text>,
    /// Final torque where it depends on a variant.
    pub(super) torque_by: Option<ByFile>,
    /// What ends each pass: per cent of the torque, or a torque of its own; the last is 100.
    #[serde(default)]
    #[schemars(with = "OrName<Vec<PassFile>>")]
    pub(super) passes: Option<Spanned<Vec<PassFile>>>,
    /// Further turn after the torque, in degrees.
    #[schemars(with = "Option<OrName<u16>>")]
    pub(super) angle: Option<Spanned<u16>>,
    /// Whether that turn takes the fastener beyond its yield point: a new one goes in every time.
    #[serde(default)]
    pub(super) to_yield: bool,
    /// The reading of the running (prevailing) torque, where the source says that it is added.
    #[schemars(with = "Option<String>")]
    pub(super) running: Option<Text>,
    /// When the group is tightened again after settling: `50 km`, `30 minutes`.
    #[schemars(with = "Option<String>")]
    pub(super) again_after: Option<Text>,
    /// The order of tightening.
    #[serde(default)]
    pub(super) pattern: Option<Pattern>,
    /// Threadlocker to use, by strength.
    pub(super) threadlocker: Option<String>,
    /// What the threads are given, or `dry`.
    pub(super) lubrication: Option<String>,
    /// Never used twice: a new one goes in.
    #[serde(default)]
    pub(super) once_only: bool,
    /// The number that they are bought by.
    #[schemars(with = "Option<String>")]
    pub(super) part_number: Option<Text>,
    /// Whether the vehicle may go back into service while this is outstanding, when that is said aloud at
    /// the end. Never what holds, steers, brakes or guards.
    #[serde(default)]
    pub(super) may_wait: bool,
}

/// A value, or the name in braces of one from the vehicle's sheet.
#[derive(JsonSchema)]
#[serde(untagged)]
#[expect(dead_code, reason = "only its schema is used")]
enum OrName<T> {
    Value(T),
    Name(String),
}

/// What ends a pass.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(untagged)]
pub(super) enum PassFile {
    /// Per cent of the torque.
    Percent(u8),
    /// A torque, such as `40 N·m`.
    Torque(String),
}

/// Drive of a fastener.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DriveFile {
    pub(super) shape: DriveShape,
    /// Width across flats with its unit, or the number of a six-lobe drive.
    #[schemars(with = "String")]
    pub(super) size: Text,
    /// Depth of the socket, where it matters.
    pub(super) depth: Option<Depth>,
}

/// Values that depend on a variant.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ByFile {
    /// The variant's name.
    #[schemars(with = "String")]
    pub(super) variant: Text,
    /// A value for each of its options.
    #[schemars(with = "BTreeMap<String, String>")]
    pub(super) values: BTreeMap<String, Text>,
}

/// Something measured.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ReadingFile {
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// Its name, without an article.
    #[schemars(with = "String")]
    pub(super) name: Text,
    /// The unit's symbol.
    pub(super) unit: String,
    /// The least that the instrument could show.
    #[schemars(with = "String")]
    pub(super) least: Text,
    /// The most that the instrument could show; as many decimal places as are read off.
    #[schemars(with = "String")]
    pub(super) most: Text,
    /// Lower limit.
    #[schemars(with = "Option<String>")]
    pub(super) min: Option<Text>,
    /// Upper limit.
    #[schemars(with = "Option<String>")]
    pub(super) max: Option<Text>,
    /// The branch that follows a value out of limits; when left out the value is recorded and the
    /// technician told.
    #[schemars(with = "Option<String>")]
    pub(super) out: Option<Text>,
    /// Whether the vehicle may go back into service without this reading, when that is said aloud at
    /// the end. Never what holds, steers, brakes or guards.
    #[serde(default)]
    pub(super) may_wait: bool,
}

/// A helper branch.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct BranchFile {
    #[schemars(with = "String")]
    pub(super) id: Text,
    /// What is said to get there: "it won't come off".
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(super) say: Vec<Text>,
    #[serde(default)]
    pub(super) step: Vec<StepFile>,
}
