//! What may be said in a given state of the job.

use crate::{Colour, Command, Decimal, Id, Language};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// All that may be said now. The smaller it is, the better the ear hears.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Listen {
    /// The language in which it is said.
    #[serde(default, skip_serializing_if = "Language::is_default")]
    pub language: Language,
    /// Commands without words of the procedure's own that make sense now, each once, in the order in
    /// which "what are my options" names them. Never one whose words come from the procedure.
    pub commands: Vec<Command>,
    /// The readback of the gate that holds the job, where one does.
    pub readback: Option<Readback>,
    /// The number that is waited for, where one is.
    pub number: Option<NumberWanted>,
    /// Phrases of the procedure's own: the answers to a choice, the names of procedures to start, the
    /// triggers of helper branches, the names of what could be deferred ("defer the splash shield").
    pub phrases: Vec<PhraseFor>,
    /// Words that a recogniser may not know, with plain words that they sound like.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub sounds_like: BTreeMap<String, String>,
    /// A note follows: whatever is said is kept; `commands` still holds "stop".
    pub dictation: bool,
}

/// The words that open a gate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Readback {
    pub gate: Id,
    /// Its words, in lower case without punctuation, numbers spelt out.
    pub words: String,
    /// Other words that open it just as well.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub alternatives: Vec<String>,
    /// The colour that must be said after them, where one is asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
    /// More sentences that sound like it and must not open it, given by the author.
    pub decoys: Vec<String>,
}

/// A number that is waited for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NumberWanted {
    /// The least that could be meant.
    pub least: Decimal,
    /// The most that could be meant.
    pub most: Decimal,
    /// How many decimal places the instrument gives; each value from `least` to `most` in steps of
    /// 10^−`places` may be said.
    pub places: u8,
    /// The unit as written, for example `mm`; it may be said after the number.
    pub unit: String,
}

impl NumberWanted {
    /// A whole number of a unit. `None` where a [`Decimal`] can't hold a bound.
    pub fn whole(least: i64, most: i64, unit: &str) -> Option<Self> {
        Some(Self {
            least: Decimal::new(least, 0)?,
            most: Decimal::new(most, 0)?,
            places: 0,
            unit: unit.to_owned(),
        })
    }
}

impl Readback {
    /// All that is to be said: the words that are asked for, and the colour where one is.
    pub fn in_full(&self, language: Language) -> String {
        self.with_colour(&self.words, language)
    }

    /// All that may be said instead, in full.
    pub fn alternatives_in_full(&self, language: Language) -> impl Iterator<Item = String> + '_ {
        let alternatives = self.alternatives.iter();
        alternatives.map(move |words| self.with_colour(words, language))
    }

    fn with_colour(&self, words: &str, language: Language) -> String {
        match self.colour {
            Some(colour) => format!("{words} {}", colour.word(language)),
            None => words.to_owned(),
        }
    }
}

/// Words of the procedure's own, and what they mean.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PhraseFor {
    /// The words, in lower case without punctuation, numbers spelt out.
    pub words: String,
    /// What they mean.
    pub command: Command,
}
