//! What the job asks of the world.

use crate::codes::{
    Cautions, Fasteners, Kept, Outstanding, Refusal, StepText, TightenAgain, TightenedHow,
    ToldTorque, VoidReason, WantedTorque,
};
use crate::{Decimal, Id, Language, Manner, Moment, PauseReason};
use serde::{Deserialize, Serialize};
use std::fmt;

/// One thing to be done, in the order given.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Speak.
    Say(Sentence),
    /// Fall silent, at once.
    Hush,
    /// Speak otherwise from now on.
    Manner(Manner),
    /// Put this on the record.
    Write(Entry),
    /// Give [`Input::Woke`](crate::Input::Woke) at this time or after.
    Wake(Moment),
}

/// What a sentence is for; an ear-mark or a colour may go with it, its words stand alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tone {
    /// What to do.
    Step,
    /// Answer to a question.
    Answer,
    /// Warns of a hazard.
    Warning,
    /// A gate, and the words that open it.
    Hold,
    /// Says that something isn't done, and why.
    Refusal,
    /// Waits for yes or no, a number, a choice.
    Question,
}

/// Something to say, in written form: numbers as digits, units as symbols. The room `words` turns it into
/// words to speak.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sentence {
    /// What it is for.
    pub tone: Tone,
    pub text: String,
    /// Whether to say it slowly, numbers digit by digit.
    pub slowly: bool,
}

impl Sentence {
    /// A sentence.
    pub fn new(tone: Tone, text: impl Into<String>) -> Self {
        Self {
            tone,
            text: text.into(),
            slowly: false,
        }
    }
}

/// What can be taken back; a gate that is closed again is [`Entry::Voided`].
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(tag = "taken-back", rename_all = "kebab-case")]
pub enum TakenBack {
    /// A measured value.
    Reading { reading: Id },
    /// The last note.
    Note,
    /// The job was taken over.
    TakeOver {
        /// By whom.
        person: String,
    },
    /// A step was done.
    Step { step: Id },
}

impl fmt::Display for TakenBack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let plain = |id: &Id| id.as_str().replace('-', " ");
        match self {
            Self::Reading { reading } => write!(f, "the reading of {}", plain(reading)),
            Self::Note => f.write_str("the last note"),
            Self::TakeOver { person } => write!(f, "the handover to {person}"),
            Self::Step { step } => write!(f, "the step {}", plain(step)),
        }
    }
}

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// All steps done, nothing outstanding but what was deferred.
    Finished,
    /// Given up; the vehicle left safe.
    Abandoned,
}

/// Something that happened, for the record. It follows from the inputs and can be had again by replaying
/// them; so it holds no sentence of the program, which may be reworded (see [`codes`](crate::codes)).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "entry", rename_all = "kebab-case")]
pub enum Entry {
    /// The job was opened.
    Opened {
        procedure: Id,
        title: String,
        /// SHA-256 of its text.
        sha256: String,
        /// Whether it is a rehearsal.
        rehearsal: bool,
        /// Whether it was gone through with recordings.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        recordings: bool,
        /// The vehicle that the procedure is for.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        vehicle: String,
        /// Where the procedure's values come from.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        values: String,
        /// What was said to be careful of.
        #[serde(default, skip_serializing_if = "Cautions::are_unknown")]
        cautions: Cautions,
        /// The language of the procedure, in which its record is read.
        #[serde(default, skip_serializing_if = "Language::is_default")]
        language: Language,
    },
    /// A variant was chosen.
    Chosen {
        /// What was asked.
        variant: Id,
        /// The answer.
        option: Id,
    },
    /// A step was done.
    Done {
        step: Id,
        /// Its text as it was told.
        text: StepText,
        /// What went in new with it, being never used twice.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        renewed: Option<String>,
        /// The number that it was bought by.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        part_number: Option<String>,
    },
    /// A fastener group was tightened.
    Tightened {
        /// The group.
        fastener: Id,
        /// How many, and their name.
        what: Kept<Fasteners>,
        /// The source's value.
        wanted: Kept<WantedTorque>,
        /// The value that was told, in the technician's unit.
        told: Kept<ToldTorque>,
        /// How: the passes, the order, what goes on the threads.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        manner: Vec<TightenedHow>,
    },
    /// A gate was opened by its readback.
    GateOpened {
        gate: Id,
        /// What is true from now on.
        fact: Id,
        /// The fact as a clause.
        means: String,
        /// The words heard.
        words: String,
        /// What spoke for them, as JSON.
        evidence: Option<String>,
        /// Where their sound is kept.
        sound: Option<String>,
    },
    /// A gate stayed closed.
    GateRefused {
        gate: Id,
        /// The words heard.
        tried: String,
        /// Why they weren't enough.
        why: Refusal,
    },
    /// A fact no longer counts as true.
    Voided { fact: Id, why: VoidReason },
    /// A value was measured and confirmed.
    Read {
        reading: Id,
        name: String,
        value: Decimal,
        unit: String,
        /// The limits in words, only in a record of the former format.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        limits: Option<String>,
        /// Whether it is within them.
        within: bool,
        /// The limits, and what the instrument can show.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        range: Option<Range>,
        /// Where the sound of the number is kept.
        sound: Option<String>,
    },
    /// A yes-or-no question of the procedure was answered.
    Answered {
        step: Id,
        question: String,
        /// The answer.
        yes: bool,
        /// The extra steps that this answer asks for: something was found.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        leads_to: Option<Id>,
    },
    /// Something that was kept a moment ago was taken back.
    TakenBack {
        /// What.
        what: TakenBack,
        /// The words that took it back.
        words: String,
    },
    /// Something is left for later.
    Deferred {
        /// What, by name.
        item: Id,
        /// What it is called and how it is left.
        what: Kept<Outstanding>,
    },
    /// A wait was cut short.
    CutShort {
        step: Id,
        /// Seconds that were left.
        seconds_left: u64,
    },
    /// A note.
    Noted {
        /// The words as far as they were understood; unchecked.
        words: String,
        /// Where its sound is kept.
        sound: Option<String>,
        /// What it tells the reason for: something that was deferred right before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason_for: Option<Id>,
    },
    /// A helper branch was entered.
    Helped { branch: Id },
    /// The job was taken up again.
    Resumed {
        /// Seconds since the last input.
        away_seconds: u64,
    },
    /// The job was put down with "hold on".
    HeldOn {
        /// Until "carry on"; `None` where the clock was set back meanwhile.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seconds: Option<u64>,
    },
    /// Why the job was put down the last time.
    PausedFor { reason: PauseReason },
    /// Whose hands the job is in at first.
    WorkedBy {
        /// Who.
        person: String,
    },
    /// Somebody else took the job over, by name; every fact is asked again.
    TakenOver {
        /// Who had it before, where that was known.
        from: Option<String>,
        /// Who has it now.
        person: String,
        /// The words heard.
        words: String,
        /// What spoke for them, as JSON.
        evidence: Option<String>,
        /// Where their sound is kept.
        sound: Option<String>,
    },
    /// Somebody answers for the finished job.
    Signed {
        /// Who.
        person: String,
        /// The words heard.
        words: String,
        /// What spoke for them, as JSON.
        evidence: Option<String>,
        /// Where their sound is kept.
        sound: Option<String>,
    },
    /// Giving up was begun.
    Abandoning,
    /// A part is missing: the job waits for it, and is made safe first.
    PartMissing {
        /// What it is called, where it was named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        part: Option<String>,
    },
    /// All is made safe, and the job stands still until the part is here.
    Waiting {
        /// What is loose or off meanwhile.
        outstanding: Vec<Kept<Outstanding>>,
    },
    /// The part is here, and the work goes on.
    PartArrived,
    /// The job is closed.
    Closed {
        /// How.
        outcome: Outcome,
        /// What is still loose or off.
        outstanding: Vec<Kept<Outstanding>>,
        /// What is to be tightened again once it has settled.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        again: Vec<Kept<TightenAgain>>,
    },
}

/// Where a measured value may lie, in the reading's unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Range {
    /// The least that the instrument can show.
    pub least: Decimal,
    pub most: Decimal,
    /// Lower limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min: Option<Decimal>,
    /// Upper limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max: Option<Decimal>,
}
