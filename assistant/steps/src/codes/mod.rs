//! What the record keeps as codes and data, to be worded only when it is shown.
//!
//! # Why does the record hold no sentences?
//!
//! A journal is proved by replaying its inputs and comparing what comes out with what was kept. If the sentences of
//! `grammars/*/sentences.ftl` were kept, rewording one would make every open job look tampered with. Texts of the
//! procedure, words that were heard, names and numbers with their units stay as they are: they don't change under a
//! job. A record of the former format holds sentences; they are read as `Told` and shown as they stand.

mod words;
pub use words::limits;
pub(crate) use words::{settled, still_to_add};

use crate::quantity::{DriveShape, Pattern, Settling, Stage, TorqueValue};
use crate::{Id, Language};
use serde::{Deserialize, Serialize};

/// What can be put into words for a reader.
pub trait InWords {
    /// The words, in the reader's language. What only the record says is English.
    fn words(&self, language: Language) -> String;
}

/// Data; or the words that a record of the former format holds in its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Kept<T> {
    /// As it is kept now.
    Data(T),
    /// As it was told then.
    Told(String),
}

/// Why a gate stayed closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Refusal {
    /// What was heard isn't its readback.
    NotTheWords,
    /// It is the readback of another gate.
    WordsOfAnother,
    /// The colour is missing, or another one than was asked for.
    NotTheColour,
    /// The readback was typed where only spoken words count.
    SpokenWordsOnly,
    /// The readback wasn't heard with certainty.
    HeardWithDoubt,
    /// The readback was said before anybody asked for it.
    SaidBeforeAsked,
    /// "Next" was said instead.
    NextInstead,
    /// "Yes" was said instead.
    YesInstead,
    /// "No" was said instead.
    NoInstead,
    /// "Not yet."
    NotYet,
    /// It was reported that it isn't so; the words heard tell what.
    NotSo,
    /// As a record of the former format tells it.
    #[serde(untagged)]
    Told(String),
}

/// Why a fact no longer counts as true.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum VoidReason {
    /// The job was taken up again.
    TakenUpAgain,
    /// The clock was set back.
    ClockSetBack,
    /// Nobody was there for longer than the gate is good for.
    LongPause,
    /// Its hold point was reached again.
    ReachedAgain,
    /// The step that was left undoes it.
    StepUndoesIt,
    /// Somebody else took the job over.
    TakenOver,
    /// The job waits for a part.
    WaitsForPart,
    /// It was taken back right after it was said.
    TakenBack {
        /// The words that took it back.
        words: String,
    },
    /// As a record of the former format tells it.
    #[serde(untagged)]
    Told(String),
}

/// What to be careful of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Cautions {
    /// Those of the procedure; the usual one was said before them.
    Own {
        /// Their texts.
        own: Vec<String>,
    },
    /// As a record of the former format tells them: all that were said, the usual one among them.
    Told(Vec<String>),
}

impl Cautions {
    /// Returns true if the record says nothing about cautions, as one did before they were kept.
    pub fn are_unknown(&self) -> bool {
        matches!(self, Self::Told(told) if told.is_empty())
    }
}

impl Default for Cautions {
    fn default() -> Self {
        Self::Told(Vec::new())
    }
}

/// The text of a step as it was told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum StepText {
    /// The procedure's text, with `{torque}` and `{size}` still to be put in.
    Open {
        /// The text.
        text: String,
        /// The torque.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        torque: Option<TorqueToSet>,
        /// What goes on the drive.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        size: Option<DriveSize>,
    },
    /// A text that needs no more words.
    Whole(String),
}

/// What goes on a fastener's drive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DriveSize {
    /// The width or number.
    pub size: String,
    /// The form.
    pub shape: DriveShape,
}

/// A torque as it is told to whoever sets the wrench.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TorqueToSet {
    /// What to set.
    pub set: TorqueValue,
    /// The source's own value, where its unit isn't the wrench's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<TorqueValue>,
    /// The name of what is to be added and wasn't measured yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub still_to_add: Option<String>,
    /// A further turn in degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle: Option<u16>,
    /// Whether that turn goes beyond the yield point.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_yield: bool,
}

/// A group of fasteners, counted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fasteners {
    /// How many.
    pub count: u16,
    /// The procedure's name for one, or for that many.
    pub name: String,
}

/// The torque that was to be reached.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WantedTorque {
    /// The torque and its limits in the source's unit, as a source writes them, with the running torque where that
    /// was added.
    pub torque: String,
    /// A further turn in degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle: Option<u16>,
    /// The running torque, where the source adds it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub running: Option<RunningTorque>,
}

/// The running torque of fasteners whose source adds it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RunningTorque {
    /// It was measured and added.
    Added(TorqueValue),
    /// It wasn't measured: the name of the reading.
    NotMeasured(String),
}

/// The torque that was told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ToldTorque {
    /// What to set.
    pub set: TorqueValue,
    /// A further turn in degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle: Option<u16>,
    /// The name of the wrench, where one is known that suits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrench: Option<String>,
}

/// How fasteners were tightened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TightenedHow {
    /// In several passes: what ends each.
    Passes(Vec<Stage>),
    /// In this order.
    Order(Pattern),
    /// What was on the threads.
    Threads(String),
    /// With this threadlocker.
    Threadlocker(String),
    /// As a record of the former format tells it.
    #[serde(untagged)]
    Told(String),
}

/// Something that isn't in place, or wasn't measured.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Outstanding {
    /// The item, fastener group or reading.
    pub item: Id,
    /// The procedure's name for it.
    pub name: String,
    /// How it is left.
    pub how: HowLeft,
    /// Whether it was deferred.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub deferred: bool,
}

impl Kept<Outstanding> {
    /// Whether it was deferred.
    pub fn is_deferred(&self) -> bool {
        match self {
            Self::Data(it) => it.deferred,
            Self::Told(told) => told.ends_with(words::FORMERLY_DEFERRED),
        }
    }

    /// Whether this, at the end of a job, is what was deferred: `item`, told as `told` then.
    pub fn is_still(&self, item: &Id, told: &str) -> bool {
        match self {
            Self::Data(it) => it.deferred && it.item == *item,
            Self::Told(at_the_end) => words::formerly_still(at_the_end, told),
        }
    }
}

/// How something is left.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HowLeft {
    /// A fastener group that was loosened, still in.
    Loose,
    /// A fastener group that was run in by hand, not yet tightened.
    HandTight,
    /// An item or fastener group that came off.
    Off,
    /// The same in the procedure's own words: "unplugged".
    As(String),
    /// A reading that wasn't taken.
    NotMeasured,
}

/// What is to be tightened again once it has settled.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TightenAgain {
    /// The fastener group.
    pub fastener: Id,
    /// The procedure's name for it.
    pub name: String,
    /// After what it has settled.
    pub after: Settling,
    /// The torque.
    pub torque: TorqueToSet,
}

#[cfg(test)]
mod tests;
