//! What a job remembers.

use crate::procedure::Thing;
use crate::{Command, Decimal, Id, Moment, Question};
use serde::{Serialize, Serializer};
use std::collections::{BTreeMap, BTreeSet};

use crate::Outcome;

/// All that decides what is done next.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Core {
    pub phase: Phase,
    pub chosen: BTreeMap<Id, Id>,
    /// The place: the procedure's steps, and inside them the branches that were entered.
    pub frames: Vec<Frame>,
    /// The facts that are true.
    pub facts: BTreeSet<Id>,
    /// What isn't in place.
    #[serde(serialize_with = "by_thing")]
    pub ledger: BTreeMap<ThingKey, Standing>,
    pub deferred: BTreeSet<Id>,
    pub pending: Option<Pending>,
    /// Only "carry on" and "stop" are listened for.
    pub held: bool,
    /// "Finish" was said while something was outstanding: what is left may be deferred.
    pub closing: bool,
    pub tightening: Option<Tightening>,
    /// The part that is missing, and where the work goes on once it is here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missing: Option<MissingPart>,
}

/// A part that the job waits for.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct MissingPart {
    /// The item or group of fasteners, where it was named.
    pub part: Option<Id>,
    /// Where the job stood.
    pub phase: Phase,
    /// Empty where no step was begun.
    pub frames: Vec<Frame>,
}

/// A thing as a key: whether it is a fastener group, and its name.
pub(super) type ThingKey = (bool, Id);

pub(super) fn key(thing: &Thing) -> ThingKey {
    (matches!(thing, Thing::Fastener(_)), thing.id().clone())
}

/// JSON has no keys but texts, so the ledger is a list: kind and name of a thing, and how it stands.
fn by_thing<S: Serializer>(
    ledger: &BTreeMap<ThingKey, Standing>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(ledger.iter().map(|((is_group, id), standing)| {
        let kind = if *is_group { "fastener" } else { "item" };
        (kind, id, standing)
    }))
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Phase {
    Choosing(usize),
    LayingOut(usize),
    Working,
    MakingSafe,
    /// All is made safe until a part is here.
    Waiting,
    Closed(OutcomeKey),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum OutcomeKey {
    Finished,
    Abandoned,
}

impl From<OutcomeKey> for Outcome {
    fn from(key: OutcomeKey) -> Self {
        match key {
            OutcomeKey::Finished => Self::Finished,
            OutcomeKey::Abandoned => Self::Abandoned,
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Frame {
    pub list: List,
    pub at: usize,
}

/// Which steps a frame goes through.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum List {
    Main,
    Branch(Id),
    MakeSafe,
}

/// How something stands that isn't in place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Standing {
    /// A fastener group loosened, still in.
    Loose,
    /// Off, unplugged, hung up.
    Off,
    /// A fastener group run in by hand, not yet tightened.
    HandTight,
}

/// A question of the assistant's own that waits for an answer.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Pending {
    /// "21.4 mm, is that right?"
    Reading {
        reading: Id,
        value: Decimal,
        sound: Option<String>,
    },
    /// "Leave the splash shield off, is that right?"
    Defer { item: Id },
    /// "Give the job up?"
    Abandon,
    /// "The job will wait for a part?"
    PartMissing { part: Option<Id> },
    /// "Mara takes the job over, is that right?"
    TakeOver(Naming),
    /// "Signed by Mara, is that right?"
    SignOff(Naming),
    /// "Did you say …?"
    Doubt { command: Command, words: String },
    /// "Are all of them tight?", when the count isn't complete.
    AllTight,
    /// "Go on all the same?", while a wait still runs.
    CutShort,
    /// "I am not sure. Yes or no?", after an answer to a question of the procedure that was heard with doubt.
    Unsure { yes: bool },
    /// "Upper or lower?", when several have the name that was asked about.
    Which { question: Question, name: String },
    /// A note is being listened for.
    Dictation,
    /// "What was the pause for?"
    PauseReason,
}

/// A name that was said, with what goes onto the record when it is confirmed.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Naming {
    pub person: String,
    pub words: String,
    pub evidence: Option<String>,
    pub sound: Option<String>,
}

/// Where a tightening stands that is called out one by one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Tightening {
    pub pass: usize,
    pub done: u16,
}

/// What is remembered only to be said or recorded.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Transient {
    /// Who works.
    pub by: Option<String>,
    /// Sentences of the program, which may be reworded: no part of the digest.
    #[serde(skip)]
    pub last_answer: Vec<(crate::Tone, String)>,
    pub last_input: Option<Moment>,
    pub timers: Vec<Timer>,
    /// The group of the last step that had a torque: what "in foot-pounds" is about.
    pub last_torque: Option<Id>,
    /// What was deferred last, until something else than a note is told.
    pub just_deferred: Option<Id>,
    /// What of a list wasn't told yet.
    #[serde(skip)]
    pub rest: Vec<String>,
    /// Since when only "carry on" and "stop" are listened for; only for telling how long that was.
    #[serde(skip)]
    pub held_since: Option<Moment>,
    /// The step done last; only told.
    #[serde(skip)]
    pub last_done: Option<Id>,
    /// Groups and readings already announced as having no source.
    #[serde(skip)]
    pub told_unsourced: BTreeSet<Id>,
    /// Whether the last answer was said again already.
    pub said_again: bool,
}

/// What a timer is for.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Timed {
    /// The wait of a step.
    Wait(Id),
    /// The second tightening of a group.
    Again(Id),
}

/// What was read and what is still to come, which only procedures have that ask for it. Apart from `Core`, so
/// that the state of any other job is written as it always was.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Known {
    /// Readings that a later torque or wait hangs on.
    pub readings: BTreeMap<Id, Decimal>,
    /// Groups that are tightened again after settling.
    pub again: BTreeSet<Id>,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) struct Timer {
    pub of: Timed,
    pub due: Moment,
    pub announced: bool,
}
