//! What may be said in this very state of the job, and what was meant by it.
//!
//! [`StateGrammar::compile`] lists every phrase that may be said now from what the job listens for and the
//! grammars of its language in `grammars`: commands that make sense, the gate's readback with the sentences that only
//! sound like it, the numbers that a reading can be, the procedure's own phrases. [`StateGrammar::parse`]
//! takes words back to a command, and is the last word: whatever a recogniser returned, what isn't listed
//! here is not understood.
//!
//! ```
//! use steps::{Command, Listen};
//! use words::now::StateGrammar;
//!
//! let listen = Listen { commands: vec![Command::Next, Command::WhatSize], ..Listen::default() };
//! let now = StateGrammar::compile(&listen)?;
//! assert_eq!(now.parse("Which socket?"), Ok(Command::WhatSize));
//! assert!(now.parse("finish the job").is_err());
//! # Ok::<(), words::now::CannotListen>(())
//! ```
//!
//! # Why a closed set of phrases?
//!
//! `Job::listen` says what may be said in this very state, and this module compiles it with the grammars. The default
//! ear scores only those phrases and their decoys, so it can't return anything else, and a smaller set is heard
//! better. Whatever wins is parsed once more against the grammar, because no recogniser is trusted.

mod commands;
mod figures;
mod numbers;
mod parts;

pub use commands::{all_words, stake, usual_words};

use crate::said::{folded, plain};
use crate::{decoys, jsgf, wording};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use steps::{Colour, Command, Decimal, Language, Listen, PhraseFor, Readback};

/// What hangs on hearing a phrase rightly: decides how much evidence is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stake {
    /// Asking for something: a wrong answer costs a second.
    Ask,
    /// "Stop": doubt is taken for yes.
    Stop,
    /// Moving on, going back, answering a question.
    Move,
    /// A spoken number; it is said back before it counts.
    Number,
    /// The readback of a gate.
    Gate,
}

/// One thing that may be said now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sayable {
    /// The words in lower case without punctuation, numbers spelt out; no two of a state have the same.
    pub words: String,
    /// How the same is said word by word; the first is `words`.
    pub spoken: Vec<String>,
    /// How the same may be written by whoever writes down what was said, the usual way first; case and
    /// final punctuation vary besides.
    pub written: Vec<String>,
    /// What hangs on it.
    pub stake: Stake,
    /// Whether it is there only to compete: it sounds like something that may be said and isn't it.
    pub decoy: bool,
    /// What it means; a decoy means nothing, or reports at a gate that it isn't so.
    pub command: Option<Command>,
}

/// All that may be said in one state of the job.
#[derive(Debug, Clone)]
pub struct StateGrammar {
    phrases: Vec<Sayable>,
    /// By folded words.
    index: HashMap<String, usize>,
    number: Option<numbers::Numbers>,
    language: Language,
    dictation: bool,
}

/// Why a state's phrases can't be listened for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CannotListen {
    /// One phrase would mean two things.
    #[error(
        "“{words}” would mean two things here ({first:?} and {second:?}): reword the procedure's own phrase"
    )]
    Clash {
        /// The phrase.
        words: String,
        /// What it means already.
        first: Box<Command>,
        /// What it would mean too.
        second: Box<Command>,
    },
    /// A phrase of the procedure has no words.
    #[error("a phrase for {0:?} has no words: write what is to be said")]
    NoWords(Box<Command>),
    /// A decoy that the author gave is the readback itself.
    #[error("“{0}” is given as a decoy and is the readback itself: take it out of the decoys")]
    DecoyIsReadback(String),
    /// One readback of a gate denies another one.
    #[error("“{0}” opens a gate and denies another of its readbacks: take one of them out")]
    DenialIsReadback(String),
    /// Too many numbers to tell apart.
    #[error(
        "{count} numbers could be said between {least} and {most}, and at most {limit} can be told apart: narrow the plausible range or give fewer decimal places"
    )]
    TooManyNumbers {
        /// How many there would be.
        count: u64,
        /// How many are taken.
        limit: u64,
        least: Decimal,
        most: Decimal,
    },
}

/// Why words mean no command now. Each prints as one short sentence.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NotUnderstood {
    /// There were no words.
    #[error("I heard no words")]
    NoWords,
    /// Nothing that may be said anywhere.
    #[error("“{0}” is nothing I know: say “help” to hear what you can say")]
    Unknown(String),
    /// A command, but not one that makes sense in this state.
    #[error("“{words}” doesn't fit here: say “help” to hear what does")]
    NotNow {
        /// What was said.
        words: String,
        /// The command that it means elsewhere.
        command: Command,
    },
    /// It sounds like the gate's readback, and isn't.
    #[error("“{0}” isn't the readback")]
    NotTheReadback(String),
    /// A number beyond what the reading can plausibly be.
    #[error("{value} is not between {least} and {most}")]
    OutOfRange {
        /// What was said.
        value: Decimal,
        /// The least that is plausible.
        least: Decimal,
        /// The most that is plausible.
        most: Decimal,
    },
    /// A number finer than the instrument gives.
    #[error("{value} is finer than {places} decimal places")]
    TooFine {
        /// What was said.
        value: Decimal,
        /// How many places are taken.
        places: u8,
    },
}

impl StateGrammar {
    /// Lists all that may be said when the job listens for this.
    ///
    /// # Errors
    /// When one phrase would mean two things, a phrase has no words, or too many numbers could be said: all
    /// faults of a procedure, to be found before a job is worked.
    pub fn compile(listen: &Listen) -> Result<Self, CannotListen> {
        let number = listen
            .number
            .as_ref()
            .map(|wanted| numbers::Numbers::new(listen.language, wanted))
            .transpose()?;
        let mut now = Self {
            phrases: Vec::new(),
            index: HashMap::new(),
            number,
            language: listen.language,
            dictation: listen.dictation,
        };
        let (trouble, others): (Vec<&Command>, _) =
            (listen.commands.iter()).partition(|command| **command == Command::Trouble);
        for command in others {
            for words in commands::phrases(now.language, command) {
                now.add(&words, command)?;
            }
        }
        for PhraseFor { words, command } in &listen.phrases {
            let ways = commands::ways_to_say(now.language, words, command);
            if ways.is_empty() {
                return Err(CannotListen::NoWords(Box::new(command.clone())));
            }
            // "Back" and the like stay commands: then it is said as "the back one".
            let yields = matches!(command, Command::ThatOne { .. });
            for words in ways {
                if !(yields && now.index.contains_key(&folded(&words))) {
                    now.add(&words, command)?;
                }
            }
        }
        // Where a procedure's own help is called for by the same words, it is meant.
        for command in trouble {
            for words in commands::phrases(now.language, command) {
                if !now.index.contains_key(&folded(&words)) {
                    now.add(&words, command)?;
                }
            }
        }
        if let Some(readback) = &listen.readback {
            now.add_readback(readback)?;
        }
        now.as_they_sound(&listen.sounds_like);
        let numbers = now
            .number
            .as_ref()
            .map(numbers::Numbers::sayables)
            .unwrap_or_default();
        now.phrases.extend(numbers);
        Ok(now)
    }

    /// All that may be said now, decoys included; no two have the same words.
    pub fn phrases(&self) -> &[Sayable] {
        &self.phrases
    }

    /// Whether free words are taken down as a note, besides the phrases.
    pub fn takes_dictation(&self) -> bool {
        self.dictation
    }

    /// What these words mean now, all of them together. Case, punctuation and figures instead of number
    /// words don't matter.
    ///
    /// # Errors
    /// Why they mean nothing now.
    pub fn parse(&self, words: &str) -> Result<Command, NotUnderstood> {
        let heard = plain(words);
        if heard.is_empty() {
            return Err(NotUnderstood::NoWords);
        }
        let in_words = figures::in_words(self.language, &heard);
        let known = [&heard, &in_words]
            .into_iter()
            .find_map(|said| self.index.get(&folded(said)));
        if let Some(sayable) = known.and_then(|&at| self.phrases.get(at)) {
            return sayable
                .command
                .clone()
                .ok_or(NotUnderstood::NotTheReadback(heard));
        }
        if let Some(numbers) = &self.number
            && let Some(value) = numbers.read(words)
        {
            return numbers
                .within(value)
                .map(|value| Command::Reading { value });
        }
        if self.dictation {
            return Ok(Command::Dictation {
                words: crate::note::tidied(words),
            });
        }
        match commands::anywhere(self.language, &heard) {
            Some(command) => Err(NotUnderstood::NotNow {
                words: heard,
                command,
            }),
            None => Err(NotUnderstood::Unknown(heard)),
        }
    }

    /// Whether a number or a readback may be said: there people pause before they go on.
    pub fn has_pauses(&self) -> bool {
        let pauses = |it: &Sayable| match it.stake {
            Stake::Number | Stake::Gate => true,
            Stake::Ask | Stake::Stop | Stake::Move => false,
        };
        self.number.is_some() || self.phrases.iter().any(pauses)
    }

    /// Whether more may be said after these words that doesn't mean the same: "no" may become "no, not yet".
    pub fn may_go_on(&self, words: &str, command: &Command) -> bool {
        let begun = format!("{} ", plain(words));
        let goes_on =
            |it: &Sayable| it.words.starts_with(&begun) && it.command.as_ref() != Some(command);
        self.dictation || self.phrases.iter().any(goes_on)
    }

    fn add(&mut self, words: &str, command: &Command) -> Result<(), CannotListen> {
        let words = plain(words);
        let key = folded(&words);
        if key.is_empty() {
            return Err(CannotListen::NoWords(Box::new(command.clone())));
        }
        let before = self
            .index
            .get(&key)
            .and_then(|&at| self.phrases[at].command.clone());
        let number = self
            .number
            .as_ref()
            .and_then(|numbers| numbers.read(&words));
        match before.or(number.map(|value| Command::Reading { value })) {
            Some(first) if first == *command => Ok(()),
            Some(first) => Err(CannotListen::Clash {
                words,
                first: Box::new(first),
                second: Box::new(command.clone()),
            }),
            None => {
                self.push(words, stake(command), false, Some(command.clone()));
                Ok(())
            }
        }
    }

    /// Each of a gate's readbacks opens it; what sounds like any of them is a decoy.
    fn add_readback(&mut self, readback: &Readback) -> Result<(), CannotListen> {
        let command = Command::Readback {
            gate: readback.gate.clone(),
            colour: readback.colour,
        };
        let language = self.language;
        let ways = std::iter::once(&readback.words).chain(&readback.alternatives);
        let in_full = std::iter::once(readback.in_full(language));
        let in_full: Vec<String> = in_full
            .chain(readback.alternatives_in_full(language))
            .collect();
        for words in &in_full {
            self.add(words, &command)?;
        }
        let own: Vec<String> = ways.clone().map(|words| folded(words)).collect();
        let opens = |decoy: &&String| own.contains(&folded(decoy));
        if let Some(decoy) = readback.decoys.iter().find(opens) {
            return Err(CannotListen::DecoyIsReadback(decoy.clone()));
        }
        let reports = ways.clone();
        let reports = reports.flat_map(|words| decoys::reports(language, words));
        let reports: Vec<String> = reports.collect();
        if let Some(denial) = reports.iter().find(opens) {
            return Err(CannotListen::DenialIsReadback(denial.clone()));
        }
        let in_full_reports = in_full.iter();
        let in_full_reports = in_full_reports.flat_map(|words| decoys::reports(language, words));
        let denials: BTreeSet<String> = readback
            .decoys
            .iter()
            .chain(&reports)
            .map(|words| folded(words))
            .chain(in_full_reports.map(|words| folded(&words)))
            .collect();
        // Without the colour, or with another one, the words open nothing.
        let off_colour = readback.colour.iter().flat_map(|asked| {
            let others = Colour::ALL.into_iter().filter(move |it| it != asked);
            let with = move |words: &String| {
                let with = others
                    .clone()
                    .map(|it| format!("{words} {}", it.word(language)));
                std::iter::once(words.clone())
                    .chain(with)
                    .collect::<Vec<_>>()
            };
            ways.clone().flat_map(with)
        });
        let off_colour: Vec<String> = off_colour.collect();
        let by_rule = in_full.iter().map(|words| decoys::decoys(language, words));
        let by_rule: Vec<String> = by_rule.flatten().collect();
        let decoys = off_colour.iter().chain(&readback.decoys).chain(&by_rule);
        for decoy in decoys.chain(&reports) {
            let words = plain(decoy);
            // What may be said in its own right ("not yet") stays what it is.
            let taken = self.index.contains_key(&folded(&words));
            let number = self
                .number
                .as_ref()
                .and_then(|numbers| numbers.read(&words))
                .is_some();
            if !words.is_empty() && !taken && !number {
                let reports = denials.contains(&folded(&words));
                self.push(words, Stake::Gate, true, reports.then_some(Command::NotSo));
            }
        }
        Ok(())
    }

    /// Phrases with strange words are said as they sound, too. Where that is another phrase, or what another one sounds
    /// like, it would mean two things, and is left out: a readback must not be heard in its decoy.
    fn as_they_sound(&mut self, sounds_like: &BTreeMap<String, String>) {
        if sounds_like.is_empty() {
            return;
        }
        let mut forms: BTreeMap<String, Vec<(usize, String)>> = BTreeMap::new();
        for (at, phrase) in self.phrases.iter().enumerate() {
            let sounds = plain(&wording::as_it_sounds(&phrase.words, sounds_like));
            let key = folded(&sounds);
            let number = self.number.as_ref().and_then(|it| it.read(&sounds));
            if !self.index.contains_key(&key) && number.is_none() {
                forms.entry(key).or_default().push((at, sounds));
            }
        }
        for (key, all) in forms {
            if let [(at, sounds)] = &all[..] {
                self.index.insert(key, *at);
                self.phrases[*at].spoken.push(sounds.clone());
            }
        }
    }

    fn push(&mut self, words: String, stake: Stake, decoy: bool, command: Option<Command>) {
        let at = self.phrases.len();
        self.index.insert(folded(&words), at);
        // Two phrases that are written alike ("a hundred", "one hundred": 100) can't be told apart by that
        // writing; it stays with the first, and a readback stands before its decoys.
        let mut written = figures::written(self.language, &words);
        written.retain(|written| *self.index.entry(folded(written)).or_insert(at) == at);
        self.phrases.push(Sayable {
            spoken: vec![words.clone()],
            written,
            words,
            stake,
            decoy,
            command,
        });
    }
}

/// The grammar of commands that is built in.
fn command_grammar(language: Language) -> &'static jsgf::Grammar {
    use std::sync::LazyLock;
    static ENGLISH: LazyLock<jsgf::Grammar> =
        LazyLock::new(|| read(include_str!("../../../../grammars/en/commands.jsgf")));
    static SPANISH: LazyLock<jsgf::Grammar> =
        LazyLock::new(|| read(include_str!("../../../../grammars/es/commands.jsgf")));
    fn read(text: &str) -> jsgf::Grammar {
        // The texts are built in, and the tests of this crate read them.
        jsgf::Grammar::parse("commands.jsgf", text).expect("the built-in grammar is sound")
    }
    match language {
        Language::English => &ENGLISH,
        Language::Spanish => &SPANISH,
    }
}
