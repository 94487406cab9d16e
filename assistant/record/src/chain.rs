//! The entries of a journal, and the chain that makes a change show.
//!
//! # What is in the chain?
//!
//! All that a record or report shows. An input is followed by an entry that tells where it led to; closing a job, and
//! each hour of an open one, by an entry with the bay's signature over all before it. Beside the chain lies only the number
//! and hash of each job's last entry, so that an end that was cut off shows; nothing else is believed that isn't in it.
//!
//! # Formats
//!
//! Entries of format 1 told in the next entry's `reached` where an input led to, and kept that of the last input outside
//! the chain. They stay as they were hashed. Format 2 has an entry of its own for it.
//!
//! # Why does the record repeat what the procedure says?
//!
//! So that a report doesn't need the procedure: limits, cautions and what goes in new are in the entries. An older
//! record lacks some of it. A replay may therefore tell more than was kept, but never anything different
//! (`Checkpoint::is_kept_in`).

use crate::key::{self, BayKey};
use crate::{JobId, Photo, RecordError};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use sha2::{Digest, Sha256};
use steps::{Effect, Entry, Heard, Id, Input, Job, Moment, Outcome, Settings};

/// This program's version, as it stands in every record.
pub const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// The format of entries that this program writes.
pub const FORMAT: u32 = 2;

/// What has no format is of the first.
fn first_format() -> u32 {
    1
}

/// What a journal's entry tells.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case")]
pub enum Event {
    /// The job's first entry.
    Opened {
        /// The procedure.
        procedure: Id,
        /// Its title.
        title: String,
        /// SHA-256 of its text with all its parts.
        sha256: String,
        /// What the job was opened with.
        settings: Settings,
        /// The program's version.
        program: String,
        /// The format of the entries that follow.
        #[serde(default = "first_format")]
        format: u32,
    },
    /// Something happened.
    Input {
        /// What.
        input: Input,
    },
    /// Where the input right before it led to.
    LedTo(Checkpoint),
    /// The job was taken up by a program started anew.
    TakenUp {
        /// SHA-256 of the procedure's text from here on.
        sha256: String,
        /// Whether that is another text than before.
        changed: bool,
        /// The program's version from here on.
        program: String,
        /// The format of the entries from here on.
        #[serde(default = "first_format")]
        format: u32,
    },
    /// Something was heard and counted for nothing. It is kept, with its sound, only where the technician allows it.
    Unheeded {
        /// What, and what speaks for it.
        heard: Heard,
    },
    /// A photo was attached. May follow the closing.
    Attached {
        /// The photo.
        photo: Photo,
        /// The number of the entry that led to the note it belongs to.
        note: Option<u64>,
    },
    /// Sounds or photos were discarded by a rule; may follow the closing.
    Discarded {
        /// Which, by their path from the records' folder.
        files: Vec<String>,
        /// The rule.
        why: String,
    },
    /// The job's last entry, but for photos and what was discarded.
    Closed {
        /// How it ended.
        outcome: Outcome,
    },
    /// The bay signs all entries up to here.
    Signed {
        /// The bay's name.
        bay: String,
        /// Its public Ed25519 key, in hexadecimal.
        key: String,
        /// The program's version.
        program: String,
        /// The signature over [`Row::signed_message`], in hexadecimal.
        signature: String,
    },
    /// What only a newer program understands. It is chained as all the rest, and may come anywhere.
    #[serde(skip)]
    Unknown,
}

impl Event {
    /// Whether it isn't about the work, and so may come when that is long closed.
    pub(crate) fn may_follow_the_closing(&self) -> bool {
        match self {
            Self::Attached { .. }
            | Self::Discarded { .. }
            | Self::Signed { .. }
            | Self::Unknown => true,
            Self::Opened { .. }
            | Self::Input { .. }
            | Self::LedTo(_)
            | Self::TakenUp { .. }
            | Self::Unheeded { .. }
            | Self::Closed { .. } => false,
        }
    }

    /// The event's kind in one word, for looking it up.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Opened { .. } => "opened",
            Self::Input { .. } => "input",
            Self::LedTo(_) => "led-to",
            Self::TakenUp { .. } => "taken-up",
            Self::Unheeded { .. } => "unheeded",
            Self::Attached { .. } => "attached",
            Self::Discarded { .. } => "discarded",
            Self::Closed { .. } => "closed",
            Self::Signed { .. } => "signed",
            Self::Unknown => "unknown",
        }
    }
}

/// Where an input led to: the state that it left and what it put on the record. Both follow from the
/// inputs and the procedure; they are kept so that a record can be read without its procedure, and proved
/// with it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Checkpoint {
    /// [`Job::digest`] afterwards.
    pub state: String,
    /// What was put on the record.
    pub entries: Vec<Entry>,
}

impl Checkpoint {
    /// Whether replaying led to the same entries, and to the same state. A newer program may tell more than was kept,
    /// never other things. Where the state is of another version only the entries can be compared.
    pub(crate) fn is_kept_in(&self, replayed: &Self) -> bool {
        if self == replayed {
            return true;
        }
        let values = (
            serde_json::to_value(&self.entries),
            serde_json::to_value(&replayed.entries),
        );
        let (Ok(mut kept), Ok(replayed_entries)) = values else {
            return false;
        };
        let version = |state: &str| state.split_once(':').map(|(version, _)| version.to_owned());
        let same_state = match (version(&self.state), version(&replayed.state)) {
            (Some(then), Some(now)) if then == now => self.state == replayed.state,
            (Some(_), _) => true,
            (None, _) => {
                forget_words(&mut kept);
                true
            }
        };
        same_state && within(&kept, &replayed_entries)
    }

    /// Where a job stands that has just answered with these effects.
    pub fn by(job: &Job, effects: &[Effect]) -> Self {
        let entries = effects.iter().filter_map(|effect| match effect {
            Effect::Write(entry) => Some(entry.clone()),
            Effect::Say(_) | Effect::Hush | Effect::Manner(_) | Effect::Wake(_) => None,
        });
        Self {
            state: job.digest(),
            entries: entries.collect(),
        }
    }
}

/// The fields that held sentences of the program before the state had a version. A sentence may have been reworded since,
/// so they can't be compared.
const WORDED_THEN: [(&str, &[&str]); 8] = [
    ("opened", &["cautions"]),
    ("done", &["text"]),
    ("tightened", &["what", "wanted", "told", "manner"]),
    ("gate-refused", &["tried", "why"]),
    ("voided", &["why"]),
    ("read", &["limits"]),
    ("deferred", &["what"]),
    ("closed", &["outstanding", "again"]),
];

/// Takes the fields away that were worded then.
fn forget_words(entries: &mut Value) {
    let entries = entries.as_array_mut().into_iter().flatten();
    for entry in entries.filter_map(Value::as_object_mut) {
        let fields = WORDED_THEN
            .iter()
            .filter(|(name, _)| entry.get("entry").is_some_and(|it| it == name))
            .flat_map(|(_, fields)| *fields);
        let fields: Vec<&str> = fields.copied().collect();
        entry.retain(|name, _| !fields.contains(&name.as_str()));
    }
}

/// Whether all that the one value tells is told by the other one too, in the same words.
fn within(less: &Value, more: &Value) -> bool {
    match (less, more) {
        (Value::Object(less), Value::Object(more)) => less
            .iter()
            .all(|(name, it)| more.get(name).is_some_and(|other| within(it, other))),
        (Value::Array(less), Value::Array(more)) => {
            less.len() == more.len() && less.iter().zip(more).all(|(it, other)| within(it, other))
        }
        (less, more) => less == more,
    }
}

/// One entry as it lies in the journal. Texts are kept as they were hashed: reading and writing them again
/// could alter them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Row {
    /// The job.
    pub job: JobId,
    /// Its place, from 0.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// The kind of event, from [`Event::kind`].
    pub kind: String,
    /// The [`Event`] as JSON.
    pub event: String,
    /// In format 1 the [`Checkpoint`] of the entry before as JSON, where that was an input. Empty in all others.
    pub reached: String,
    /// The hash of the entry before; empty in the first.
    pub previous: String,
    /// This entry's hash.
    pub hash: String,
}

impl Row {
    /// An entry with its hash.
    pub(crate) fn new(
        job: &JobId,
        seq: u64,
        at: Moment,
        event: &Event,
        previous: String,
    ) -> Result<Self, RecordError> {
        let mut row = Self {
            job: job.clone(),
            seq,
            at,
            kind: event.kind().to_owned(),
            event: json(event)?,
            reached: String::new(),
            previous,
            hash: String::new(),
        };
        row.hash = row.hashed();
        Ok(row)
    }

    /// An entry in which a bay signs all before it.
    pub(crate) fn signature(
        job: &JobId,
        seq: u64,
        at: Moment,
        key: &BayKey,
        head: String,
    ) -> Result<Self, RecordError> {
        let message = key::message(job, seq, &head, at, key.bay(), PROGRAM);
        let event = Event::Signed {
            bay: key.bay().to_owned(),
            key: key.public(),
            program: PROGRAM.to_owned(),
            signature: key.sign(&message),
        };
        Self::new(job, seq, at, &event, head)
    }

    /// What the bay signs in this entry: the job's name, how many entries come before it, the last one's hash, the time
    /// in milliseconds since 1970, the bay's name, and the program's version; lines of UTF-8 with a line feed at the end of
    /// each.
    pub fn signed_message(&self, bay: &str, program: &str) -> String {
        key::message(&self.job, self.seq, &self.previous, self.at, bay, program)
    }

    /// SHA-256 over all other fields, each with its length before it so that no two rows have the same
    /// bytes, in hexadecimal.
    pub fn hashed(&self) -> String {
        let mut sha = Sha256::new();
        let (seq, at) = (self.seq.to_string(), self.at.0.to_string());
        let fields = [
            self.job.as_str(),
            &seq,
            &at,
            &self.kind,
            &self.event,
            &self.reached,
            &self.previous,
        ];
        for field in fields {
            sha.update((field.len() as u64).to_le_bytes());
            sha.update(field.as_bytes());
        }
        format!("{:x}", sha.finalize())
    }
}

/// A value as it stands in the journal.
pub(crate) fn json(value: &impl Serialize) -> Result<String, RecordError> {
    serde_json::to_string(value).map_err(|error| RecordError::Json {
        what: error.to_string(),
    })
}
