//! What is listened for: the phrase sets of real states of a job, compiled by the grammar as at work.

use super::gates::Gate;
use ears::{Phrase, PhraseSet, Stake};
use serde::{Deserialize, Serialize};
use steps::{Command, Decimal, Language, Listen, NumberWanted, Readback};
use words::now::{CannotListen, StateGrammar};

/// A state of a job, as far as it is listened in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Context {
    /// The commands of a step that tightens.
    Commands,
    /// The gate of this number holds.
    Gate(usize),
    /// A torque from 10 to 250 is waited for.
    Torque,
    /// It was heard and said back: yes, no, or another number.
    SaidBack,
    /// One of ten words.
    TenWords,
    /// One digit.
    Digit,
    /// Three digits.
    ThreeDigits,
    /// Three of the ten words.
    ThreeWords,
}

/// The ten words of the Speech Commands task (Warden 2018, arXiv:1804.03209, section 5.7).
pub const TEN_WORDS: [&str; 10] = [
    "yes", "no", "up", "down", "left", "right", "on", "off", "stop", "go",
];

/// The digits.
pub const DIGITS: [&str; 10] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
];

/// What is listened for, with the grammar that knows what it means, where there is one.
pub struct Listening {
    /// For the ear.
    pub set: PhraseSet,
    grammar: Option<StateGrammar>,
}

impl Listening {
    /// For a context.
    ///
    /// # Errors
    /// When a readback clashes with a command.
    pub fn new(context: Context, gates: &[Gate]) -> Result<Self, CannotListen> {
        let listen = match context {
            Context::Commands => Listen {
                commands: working(),
                ..Listen::default()
            },
            Context::Gate(gate) => Listen {
                commands: at_a_gate(),
                readback: gates.get(gate).map(|gate| Readback {
                    gate: "gate".into(),
                    words: gate.readback.clone(),
                    alternatives: gate.alternatives.clone(),
                    colour: gate.colour,
                    decoys: gate.decoys.clone(),
                }),
                ..Listen::default()
            },
            Context::Torque => torque_wanted(&[]),
            Context::SaidBack => torque_wanted(&[Command::Yes, Command::No]),
            Context::TenWords => {
                return Ok(Self::of(
                    TEN_WORDS.map(|word| (word.to_owned(), None)).to_vec(),
                    Stake::Move,
                ));
            }
            Context::Digit => {
                let digit = |(n, word): (usize, &&str)| ((*word).to_owned(), Some(n.to_string()));
                return Ok(Self::of(
                    DIGITS.iter().enumerate().map(digit).collect(),
                    Stake::Number,
                ));
            }
            Context::ThreeDigits => {
                let three = |number: usize| {
                    let figures = format!("{number:03}");
                    (three_of(&DIGITS, number), Some(figures))
                };
                return Ok(Self::of((0..1000).map(three).collect(), Stake::Number));
            }
            Context::ThreeWords => {
                let three = |number: usize| (three_of(&TEN_WORDS, number), None);
                return Ok(Self::of((0..1000).map(three).collect(), Stake::Move));
            }
        };
        let grammar = StateGrammar::compile(&listen)?;
        Ok(Self {
            set: phrases_of(&grammar),
            grammar: Some(grammar),
        })
    }

    fn of(phrases: Vec<(String, Option<String>)>, stake: Stake) -> Self {
        let phrase = |(words, figures): (String, Option<String>)| {
            let spaced = figures.iter().map(|figures| {
                let digits: Vec<String> = figures.chars().map(String::from).collect();
                digits.join(", ")
            });
            let written: Vec<String> = figures
                .iter()
                .cloned()
                .chain(spaced)
                .chain([words.clone()])
                .collect();
            Phrase {
                written,
                ..Phrase::plain(&words, stake)
            }
        };
        Self {
            set: PhraseSet {
                phrases: phrases.into_iter().map(phrase).collect(),
            },
            grammar: None,
        }
    }

    /// Whether more may be said after these words that means something else.
    pub fn may_go_on(&self, words: &str) -> bool {
        let command = |grammar: &StateGrammar| {
            let command = grammar.parse(words).ok()?;
            Some(grammar.may_go_on(words, &command))
        };
        self.grammar.as_ref().and_then(command).unwrap_or(true)
    }

    /// What words mean here, as text to be compared; none where they mean nothing.
    pub fn meaning(&self, words: &str) -> Option<String> {
        match &self.grammar {
            Some(grammar) => grammar.parse(words).ok().map(|command| match command {
                Command::Reading { value } => value.to_string(),
                command => format!("{command:?}"),
            }),
            None => {
                let known = self.set.phrases.iter().any(|phrase| phrase.words == words);
                known.then(|| words.to_owned())
            }
        }
    }
}

/// The words that the three digits of a number stand for.
fn three_of(words: &[&str; 10], number: usize) -> String {
    let digits = [number / 100, number / 10 % 10, number % 10];
    digits.map(|digit| words[digit]).join(" ")
}

/// While a torque is measured, with what may be said besides.
fn torque_wanted(besides: &[Command]) -> Listen {
    let mut commands = vec![
        Command::SayAgain,
        Command::NotYet,
        Command::HoldOn,
        Command::Stop,
        Command::Help,
    ];
    commands.extend_from_slice(besides);
    Listen {
        commands,
        number: NumberWanted::whole(10, 250, "N·m"),
        ..Listen::default()
    }
}

/// Every way to deny what was said back.
///
/// # Errors
/// When the grammar of commands clashes with itself.
pub fn denials() -> Result<Vec<String>, CannotListen> {
    let listening = Listening::new(Context::SaidBack, &[])?;
    let all = listening.set.phrases.iter().map(|phrase| &phrase.words);
    let no = format!("{:?}", Command::No);
    let denials = all.filter(|words| listening.meaning(words).as_ref() == Some(&no));
    Ok(denials.cloned().collect())
}

/// Commands at a step that tightens, as `steps` offers them.
fn working() -> Vec<Command> {
    let never = [Command::Yes, Command::No, Command::NotSo, Command::CarryOn];
    let all = Command::ALL_PLAIN.into_iter();
    all.filter(|command| !never.contains(command)).collect()
}

fn at_a_gate() -> Vec<Command> {
    use Command::{
        Abandon, Back, CarryOn, Finish, Help, HoldOn, HowLongLeft, Next, No, NotSo, NotYet, Note,
        ReadTheWarning, SayAgain, Slower, Stop, TellMeMore, WhatsNext, WhatsOff, WhereAmI, Why,
    };
    vec![
        Next,
        Back,
        SayAgain,
        Slower,
        NotYet,
        NotSo,
        No,
        WhereAmI,
        WhatsNext,
        WhatsOff,
        Why,
        TellMeMore,
        ReadTheWarning,
        HowLongLeft,
        Note,
        Finish,
        Abandon,
        HoldOn,
        CarryOn,
        Stop,
        Help,
    ]
}

/// Every way to say every command of a step that tightens.
///
/// # Errors
/// When the grammar of commands clashes with itself.
pub fn commands() -> Result<Vec<String>, CannotListen> {
    let listening = Listening::new(Context::Commands, &[])?;
    Ok(listening
        .set
        .phrases
        .into_iter()
        .map(|phrase| phrase.words)
        .collect())
}

/// The ways in which a whole number is said.
pub fn ways_to_say(value: i64) -> Vec<String> {
    Decimal::new(value, 0)
        .map(|value| words::number::spoken_variants(Language::English, value))
        .unwrap_or_default()
}

/// As `sayback::work::hearing` has it: to build the whole program for these lines would double the time that the bench
/// takes to build.
fn phrases_of(grammar: &StateGrammar) -> PhraseSet {
    let phrases = grammar.phrases().iter().map(|sayable| Phrase {
        words: sayable.words.clone(),
        spoken: sayable.spoken.clone(),
        written: sayable.written.clone(),
        stake: match sayable.stake {
            words::now::Stake::Ask => Stake::Ask,
            words::now::Stake::Stop => Stake::Stop,
            words::now::Stake::Move => Stake::Move,
            words::now::Stake::Number => Stake::Number,
            words::now::Stake::Gate => Stake::Gate,
        },
        decoy: sayable.decoy,
    });
    PhraseSet {
        phrases: phrases.collect(),
    }
}
