//! A procedure: a small program over facts about the vehicle and the work.

mod accepted;
mod check;
mod code;
mod desk;
mod difference;
mod explanation;
mod file;
mod finding;
mod inputs;
mod load;
mod names;
mod read;
mod reviews;
mod sheet;
mod speech;
mod strings;
mod supplies;
mod time;
mod written;

pub use code::{Code, Severity};
pub use difference::{Difference, differences};
pub use explanation::Explanation;
pub use file::{File, Signal, Weight};
pub use finding::{At, Finding, Problems};
pub use inputs::{DeclaredValue, DeclaredVariant, SheetInputs};
pub use load::{Examined, Library, MAX_BYTES, ReadError};
pub use names::{as_heard, fill};
pub use sheet::{SheetFile, SheetValue, Vehicle, VehicleSheet, sheet_differences, sheet_named};
pub use speech::seconds_to_say;
pub use supplies::{AmountError, UsedAmount, Uses, in_a_line, supplies, supplies_at_most};
pub use time::{TimeLeft, expected, left_after};

use crate::quantity::{
    Depth, DriveShape, GivenBy, Measured, Pattern, Settling, Size, Stage, Support, SupportError,
    TorqueSpec,
};
use crate::{Decimal, Id, Language, Range};
use std::collections::BTreeMap;
use std::time::Duration;

/// A procedure that has been read and checked: every name resolves, every quantity is one.
#[derive(Debug, Clone, PartialEq)]
pub struct Procedure {
    /// Its name.
    pub id: Id,
    /// The language of all that is said and heard in it.
    pub language: Language,
    /// What the job is called.
    pub title: String,
    /// The vehicle or machine that it is for.
    pub vehicle: String,
    /// Where its values come from.
    pub values: String,
    /// How long it usually takes.
    pub usual_time: Duration,
    /// Said before it starts.
    pub cautions: Vec<String>,
    /// The sheet that its values are from, where one was named.
    pub sheet: Option<VehicleSheet>,
    /// Whether values for practice stand in it, since no vehicle was named.
    pub is_practice: bool,
    /// What is asked at the start, in order; not what the sheet settles.
    pub variants: Vec<Variant>,
    /// What safety hangs on.
    pub facts: BTreeMap<Id, Fact>,
    /// Hold points and checks.
    pub gates: BTreeMap<Id, Gate>,
    /// What to lay out.
    pub lay_out: LayOut,
    /// What is bought for the job, or may have to be: whatever is laid out, and whatever has a number.
    pub parts: Vec<Part>,
    /// Things that come off and go back.
    pub items: BTreeMap<Id, Item>,
    /// Groups of like fasteners.
    pub fasteners: BTreeMap<Id, FastenerGroup>,
    /// What is measured.
    pub readings: BTreeMap<Id, ReadingOf>,
    /// Helper branches.
    pub branches: BTreeMap<Id, Branch>,
    /// The steps in order, parts included.
    pub steps: Vec<Step>,
    /// Sections of the job, in the order of the steps.
    pub phases: Vec<WorkPhase>,
    /// What leaves the vehicle safe when the job is given up.
    pub make_safe: Vec<Step>,
    /// Words that recognisers may not know, and plain words that they sound like.
    pub sounds_like: BTreeMap<String, String>,
    /// The file, all parts and the sheets, by name: what a record needs to be replayed for ever.
    pub texts: BTreeMap<String, String>,
    /// SHA-256 over `texts` in order, each name and each text with a zero byte after it, in hexadecimal: which text a
    /// record belongs to.
    pub sha256: String,
}

/// A question at the start.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variant {
    /// Its name.
    pub id: Id,
    /// The question.
    pub ask: String,
    /// The answers: name and words.
    pub options: Vec<(Id, String)>,
}

/// A section of the job, up to the next one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkPhase {
    pub name: String,
    /// The step that it begins at.
    pub from: Id,
    /// How long it is estimated to take.
    pub estimate: Option<Duration>,
}

/// Something true of the world that safety or order hangs on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// The fact as a clause.
    pub means: String,
    /// The one gate that makes it true.
    pub gate: Id,
}

/// A hold point or a check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gate {
    /// The fact that it makes true.
    pub fact: Id,
    /// How much hangs on it.
    pub weight: Weight,
    /// How bad the hazard is.
    pub signal: Signal,
    /// Of a hold point the danger; then what to look at before saying the words.
    pub ask: String,
    /// The same at length, with the reason.
    pub more: Option<String>,
    /// The words that open it: lower case, no punctuation, no digits.
    pub readback: String,
    /// The readback as the author wrote it.
    pub readback_written: String,
    /// Other words that open it just as well.
    pub alternatives: Vec<String>,
    /// Facts that must be true first.
    pub needs: Vec<Id>,
    /// A pause longer than this and the gate is asked again.
    pub good_for: Duration,
    /// More sentences that must not open it.
    pub decoys: Vec<String>,
    /// What rests on stands here, where the procedure gives masses and ratings.
    pub load: Option<StandsUnder>,
}

impl Gate {
    /// All words that open it, those that are asked for first.
    pub fn readbacks(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.readback)
            .chain(&self.alternatives)
            .map(String::as_str)
    }

    /// Whether it states the danger and asks for a check word.
    pub fn is_hold_point(&self) -> bool {
        match self.weight {
            Weight::HoldPoint => true,
            Weight::Check => false,
        }
    }
}

/// The figures of a vehicle on stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StandsUnder {
    /// The vehicle's mass, and whose figure it is.
    pub mass: (Measured, GivenBy),
    /// Per cent of it on the lifted axle.
    pub axle_share: Decimal,
    /// Stands under the axle.
    pub stands: u8,
    /// What a stand, or a pair, is rated for, and whose figure it is.
    pub rating: (RatedFor, Measured, GivenBy),
    /// Per cent of the rating that may be used.
    pub usable: Decimal,
}

/// What a stand's rating is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RatedFor {
    /// One stand.
    Each,
    /// Two together.
    Pair,
}

impl StandsUnder {
    /// The same as quantities.
    ///
    /// # Errors
    /// Where a figure isn't a mass.
    pub fn support(&self) -> Result<Support, SupportError> {
        use crate::quantity::{Amount, Figure, Rating};
        use uom::si::{f64::Ratio, ratio::percent};
        let figure = |measured: Measured, by, error| match measured.amount() {
            Amount::Mass(mass) => Ok(Figure { mass, by }),
            Amount::Length(_)
            | Amount::Temperature(_)
            | Amount::Voltage(_)
            | Amount::Pressure(_)
            | Amount::Charge(_)
            | Amount::Volume(_) => Err(error),
        };
        let (rated, rating, by) = self.rating;
        let rating = figure(rating, by, SupportError::Rating)?;
        Ok(Support {
            vehicle: figure(self.mass.0, self.mass.1, SupportError::Mass)?,
            axle_share: Ratio::new::<percent>(self.axle_share.to_f64()),
            stands: self.stands,
            rating: match rated {
                RatedFor::Each => Rating::Each(rating),
                RatedFor::Pair => Rating::Pair(rating),
            },
            usable: Ratio::new::<percent>(self.usable.to_f64()),
        })
    }
}

/// What to lay out before the job.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LayOut {
    /// Protective equipment.
    pub protection: Vec<String>,
    pub tools: Vec<String>,
    pub parts: Vec<String>,
    pub consumables: Vec<String>,
}

/// A part as it is bought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    pub what: String,
    /// The number that it is bought by.
    pub number: Option<String>,
    /// How many; `None` where the procedure doesn't say.
    pub quantity: Option<u32>,
    /// Whether a new one goes in each time.
    pub always_new: bool,
    /// Whether the old one is given back where the new one is bought.
    pub core_return: bool,
}

/// A thing that comes off, or is unplugged, and goes back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// Its name, without an article.
    pub name: String,
    /// What it is while it isn't in place: "off", "unplugged", "hung up".
    pub off: String,
    /// Whether the procedure gives those words itself.
    pub own_off: bool,
    /// Whether a new one goes back.
    pub once_only: bool,
    /// The number that it is bought by.
    pub part_number: Option<String>,
    /// How many are bought; at least one.
    pub quantity: u16,
    /// Whether the old one is given back where the new one is bought.
    pub core_return: bool,
    /// Whether it may be left for later, said aloud.
    pub may_wait: bool,
}

impl Item {
    /// "brake disc" or "4 spark plugs".
    pub fn counted(&self) -> String {
        match self.quantity {
            1 => self.name.clone(),
            quantity => format!("{quantity} {}", self.name),
        }
    }
}

/// A group of like fasteners.
#[derive(Debug, Clone, PartialEq)]
pub struct FastenerGroup {
    pub name: String,
    /// The name of several.
    pub names: String,
    /// How many; at least one.
    pub count: u16,
    /// Thread designation.
    pub thread: Option<String>,
    /// Property class.
    pub class: Option<String>,
    pub drive: Option<Drive>,
    /// Final torque, with the limits that the source gives.
    pub torque: Option<ByVariant<TorqueSpec>>,
    /// What ends each pass; never empty, the last is the whole torque.
    pub passes: Vec<Stage>,
    /// Further turn in degrees.
    pub angle: Option<u16>,
    /// Whether that turn goes beyond the yield point.
    pub to_yield: bool,
    /// The reading of the running torque that is added, where the source says so.
    pub running: Option<Id>,
    /// After what the group is tightened again.
    pub again_after: Option<Settling>,
    /// Order of tightening.
    pub pattern: Option<Pattern>,
    pub threadlocker: Option<String>,
    pub lubrication: Option<String>,
    /// Never used twice.
    pub once_only: bool,
    /// The number that they are bought by.
    pub part_number: Option<String>,
    /// Whether it has a value from a sheet that gives no source for it.
    pub unsourced: bool,
    /// Whether the group may be left for later, said aloud.
    pub may_wait: bool,
}

impl FastenerGroup {
    /// "wheel nut" or "5 wheel nuts".
    pub fn counted(&self) -> String {
        if self.count == 1 {
            self.name.clone()
        } else {
            format!("{} {}", self.count, self.names)
        }
    }

    /// "wheel nut" or "wheel nuts".
    pub fn named(&self) -> &str {
        if self.count == 1 {
            &self.name
        } else {
            &self.names
        }
    }
}

/// Drive of a fastener.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Drive {
    /// Form.
    pub shape: DriveShape,
    pub size: Size,
    /// Depth of the socket, where it matters.
    pub depth: Option<Depth>,
}

/// A value that may depend on a variant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ByVariant<T> {
    /// The same for all.
    Always(T),
    /// One for each option of a variant.
    By(Id, BTreeMap<Id, T>),
}

impl<T> ByVariant<T> {
    /// The value for the options chosen; `None` while the variant isn't chosen.
    pub fn of(&self, chosen: &BTreeMap<Id, Id>) -> Option<&T> {
        match self {
            Self::Always(value) => Some(value),
            Self::By(variant, values) => values.get(chosen.get(variant)?),
        }
    }

    /// All values it may have.
    pub fn all(&self) -> Vec<&T> {
        match self {
            Self::Always(value) => vec![value],
            Self::By(_, values) => values.values().collect(),
        }
    }
}

/// Something measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingOf {
    pub name: String,
    /// The unit's symbol.
    pub unit: String,
    /// The least that the instrument could show.
    pub least: Decimal,
    pub most: Decimal,
    /// Lower limit.
    pub min: Option<Decimal>,
    /// Upper limit.
    pub max: Option<Decimal>,
    /// Whether a limit is from a sheet that gives no source for it.
    pub unsourced: bool,
    /// What follows a value out of limits.
    pub out: Option<Id>,
    /// Whether it may be left unmeasured, said aloud.
    pub may_wait: bool,
}

impl ReadingOf {
    /// Decimal places that are read off.
    pub fn places(&self) -> u8 {
        self.least.places().max(self.most.places())
    }

    /// Whether a value is within the limits.
    pub fn within(&self, value: Decimal) -> bool {
        self.min.is_none_or(|min| value >= min) && self.max.is_none_or(|max| value <= max)
    }

    /// The limits in words: "at least 22.0 mm".
    pub fn limits(&self) -> Option<String> {
        self.range().limits(&self.unit)
    }

    /// The same as numbers, and what the instrument can show.
    pub fn range(&self) -> Range {
        Range {
            least: self.least,
            most: self.most,
            min: self.min,
            max: self.max,
        }
    }
}

/// What to do if there is trouble.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// What is said to get there; empty where only the procedure leads.
    pub say: Vec<String>,
    pub steps: Vec<Step>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Signal word.
    pub signal: Signal,
    /// What it warns of.
    pub text: String,
}

/// One action.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Its name.
    pub id: Id,
    /// What it does.
    pub action: Action,
    /// The fastener group that it is about: whose size and torque are told here.
    pub fastener: Option<Id>,
    /// The action in the imperative; empty for a hold, whose gate has the words.
    pub text: String,
    /// The same, short.
    pub short: Option<String>,
    /// Answer to "tell me more".
    pub more: Option<String>,
    /// Answer to "why".
    pub why: Option<String>,
    /// Said before the action.
    pub warning: Option<Warning>,
    /// How long it usually takes, where the procedure says so.
    pub takes: Option<Duration>,
    /// What it uses up.
    pub consumables: Vec<Uses>,
    /// Answer to "what tool".
    pub tools: Vec<String>,
    /// Facts that must be true.
    pub needs: Vec<Id>,
    /// Facts that are true no longer once it is begun.
    pub voids: Vec<Id>,
    /// Whether this is the second tightening, after settling.
    pub again: bool,
    /// Only for these options.
    pub when: BTreeMap<Id, Id>,
    /// Only while this isn't in place.
    pub when_off: Option<Id>,
    /// Helper branches offered here.
    pub helpers: Vec<Id>,
}

/// What a step does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Action {
    /// Anything without a mark in the ledger.
    Do,
    /// Loosen a fastener group.
    Loosen(Id),
    /// Take something off.
    Remove(Thing),
    /// Put it back; a fastener group by hand.
    Refit(Thing),
    /// Tighten to torque.
    Tighten(Id),
    /// Take a reading.
    Measure(Id),
    /// Let time pass.
    Wait(Wait),
    /// Look at something.
    Inspect,
    /// A question: where "yes" and "no" lead, when not just on.
    Ask {
        /// After "yes".
        yes: Option<Id>,
        /// After "no".
        no: Option<Id>,
    },
    /// A gate.
    Hold(Id),
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wait {
    /// How long.
    pub time: WaitTime,
    /// Whether work goes on while it runs.
    pub runs_on: bool,
}

/// How long a wait is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WaitTime {
    /// Always the same.
    Fixed(Duration),
    /// By the temperature that was read, from the source's table, the coldest row first.
    ByTemperature {
        reading: Id,
        /// Temperature and minutes.
        rows: Vec<(Measured, u32)>,
    },
    /// Until the wait of an earlier step, which runs on, is over.
    Until(Id),
}

/// What comes off and goes back.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Thing {
    Item(Id),
    /// A group of fasteners.
    Fastener(Id),
}

impl Thing {
    /// Its name in the procedure.
    pub fn id(&self) -> &Id {
        match self {
            Self::Item(id) | Self::Fastener(id) => id,
        }
    }
}

impl Action {
    /// The gate that it holds at.
    pub fn holds_at(&self) -> Option<&Id> {
        match self {
            Self::Hold(gate) => Some(gate),
            Self::Do
            | Self::Loosen(_)
            | Self::Remove(_)
            | Self::Refit(_)
            | Self::Tighten(_)
            | Self::Measure(_)
            | Self::Wait(_)
            | Self::Inspect
            | Self::Ask { .. } => None,
        }
    }

    /// The wait that it is.
    pub fn wait(&self) -> Option<&Wait> {
        match self {
            Self::Wait(wait) => Some(wait),
            Self::Do
            | Self::Loosen(_)
            | Self::Remove(_)
            | Self::Refit(_)
            | Self::Tighten(_)
            | Self::Measure(_)
            | Self::Inspect
            | Self::Ask { .. }
            | Self::Hold(_) => None,
        }
    }

    /// The fastener group that it is about.
    pub fn fastener(&self) -> Option<&Id> {
        match self {
            Self::Loosen(id) | Self::Tighten(id) => Some(id),
            Self::Remove(Thing::Fastener(id)) | Self::Refit(Thing::Fastener(id)) => Some(id),
            Self::Remove(Thing::Item(_))
            | Self::Refit(Thing::Item(_))
            | Self::Do
            | Self::Measure(_)
            | Self::Wait(_)
            | Self::Inspect
            | Self::Ask { .. }
            | Self::Hold(_) => None,
        }
    }
}
