//! Somebody who says what the job asks for: for the demonstration, and for tests of whole jobs.
//!
//! A talk ([`Talk`]) is a small TOML file: what is said at a step or a gate before the thing that leads on,
//! which options are chosen, which values are read off. Where it is silent the technician says "next", the
//! gate's readback, "yes", a value within limits.

use serde::Deserialize;
use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use steps::procedure::Action;
use steps::{
    CORRECTION_WINDOW, Certainty, Colour, Command, Decimal, Effect, Heard, Id, Input, Job,
    Language, Moment, Procedure, Readback, Settings,
};
use words::now::{CannotListen, StateGrammar};

/// A job that isn't closed after so much was said goes in circles.
const MAX_SAID: usize = 500;

/// What a technician says in a job besides what leads on.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Talk {
    /// The option chosen for each variant; the first when left out.
    pub choose: BTreeMap<String, String>,
    /// The values read off, in the order in which they are said; one within limits when left out.
    pub readings: BTreeMap<String, Vec<String>>,
    /// "yes" or "no" to each question of the procedure; the answer that leads straight on when left out.
    pub answers: BTreeMap<String, String>,
    /// What is said first at a place.
    pub at: Vec<At>,
    /// The value that was said last, until it is read back.
    #[serde(skip)]
    pub said: Option<String>,
    /// The value that was misheard, to be said again.
    #[serde(skip)]
    pub misheard: Option<String>,
}

/// What is said first at a place: once, in order.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct At {
    /// The step or gate, or `end` for the end of the steps.
    pub place: String,
    /// The sentences.
    pub say: VecDeque<String>,
}

impl Talk {
    /// What is said now; `None` when the job is closed.
    pub fn says(&mut self, job: &Job) -> Option<String> {
        if job.outcome().is_some() {
            return None;
        }
        let listen = job.listen();
        let language = listen.language;
        let place = place(job);
        if let Some(at) = self
            .at
            .iter_mut()
            .find(|at| at.place == place && !at.say.is_empty())
        {
            return at.say.pop_front();
        }
        if job.held() {
            return Some(usual(language, &Command::CarryOn));
        }
        if listen.dictation {
            return Some("the boot is split".to_owned());
        }
        if let Some(PhraseOf { variant, options }) = choice(job) {
            let wanted = self.choose.get(variant.as_str());
            let option = options
                .iter()
                .find(|(id, _)| Some(&id.to_string()) == wanted)
                .or(options.first());
            return option.map(|(_, words)| words.clone());
        }
        if job.asks() {
            return Some(usual(language, &self.confirms(job)));
        }
        if let Some(readback) = listen.readback {
            return Some(readback.in_full(language));
        }
        match job.step().map(|step| (&step.id, &step.action)) {
            Some((id, Action::Ask { yes, no })) => {
                let answer = if no.is_none() || yes.is_some() {
                    Command::No
                } else {
                    Command::Yes
                };
                let answer = if yes.is_none() { Command::Yes } else { answer };
                let own = self.answers.get(id.as_str()).cloned();
                Some(own.unwrap_or_else(|| usual(language, &answer)))
            }
            Some((_, Action::Measure(reading))) => {
                let value = match self.misheard.take() {
                    Some(misheard) => misheard,
                    None => self.value(job, reading),
                };
                self.said = Some(value.clone());
                Some(value)
            }
            Some(_) => Some(usual(language, &Command::Next)),
            None if listen.commands.contains(&Command::Finish) && place == "end" => {
                Some(signature(job).unwrap_or_else(|| usual(language, &Command::Finish)))
            }
            None => Some(usual(language, &Command::Next)),
        }
    }

    /// Whether what is read back is what was said; a value that was misheard is said again.
    fn confirms(&mut self, job: &Job) -> Command {
        let Some(said) = self.said.take() else {
            return Command::Yes;
        };
        let Ok(value) = words::number::read(job.procedure().language, &said) else {
            return Command::Yes;
        };
        let value = value.to_string();
        let question = job.question().unwrap_or_default();
        if question.split_whitespace().any(|word| word == value) {
            return Command::Yes;
        }
        self.misheard = Some(said);
        Command::No
    }

    fn value(&mut self, job: &Job, reading: &Id) -> String {
        let values = self.readings.get_mut(reading.as_str());
        if let Some(values) = values
            && !values.is_empty()
        {
            return values.remove(0);
        }
        let Some(reading) = job.procedure().readings.get(reading) else {
            return usual(job.procedure().language, &Command::Next);
        };
        let (low, high) = (
            reading.min.unwrap_or(reading.least),
            reading.max.unwrap_or(reading.most),
        );
        let middle = Decimal::nearest((low.to_f64() + high.to_f64()) / 2.0, reading.places());
        words::number::spell(job.procedure().language, middle.unwrap_or(low))
    }
}

/// A command in its usual words.
fn usual(language: Language, command: &Command) -> String {
    words::now::usual_words(language, command).unwrap_or_default()
}

/// The words by which whoever works signs the job off, where that can be done now.
fn signature(job: &Job) -> Option<String> {
    let phrases = job.listen().phrases.into_iter();
    let mut signatures = phrases.filter_map(|phrase| match &phrase.command {
        Command::SignOff { person } => Some((person.clone(), phrase.words)),
        _other => None,
    });
    let first = signatures.next()?;
    let own = |(person, _): &(String, String)| job.by() == Some(person);
    let signed = if own(&first) {
        first
    } else {
        signatures.find(own).unwrap_or(first)
    };
    Some(signed.1)
}

/// Where the job stands, as a talk names it: the gate that holds, the step, or `end`, `choose`, `lay-out`.
pub fn place(job: &Job) -> String {
    if let Some(gate) = job.holding() {
        return gate.to_string();
    }
    if let Some(step) = job.step() {
        return step.id.to_string();
    }
    let listen = job.listen();
    if choice(job).is_some() {
        "choose".to_owned()
    } else if listen.commands.contains(&Command::Finish) {
        "end".to_owned()
    } else {
        "lay-out".to_owned()
    }
}

struct PhraseOf<'a> {
    variant: &'a Id,
    options: Vec<(Id, String)>,
}

fn choice(job: &Job) -> Option<PhraseOf<'_>> {
    let phrases = job.listen().phrases;
    let mut variant = None;
    let mut options = Vec::new();
    for phrase in phrases {
        if let Command::Choose {
            variant: asked,
            option,
        } = phrase.command
        {
            variant = job
                .procedure()
                .variants
                .iter()
                .find(|it| it.id == asked)
                .map(|it| &it.id);
            options.push((option, phrase.words));
        }
    }
    variant.map(|variant| PhraseOf { variant, options })
}

/// Goes straight through a job without sound, and lists what is said on the way, in order.
///
/// # Errors
/// When something in a state on that way can't be listened for, or can't be told from something else.
pub fn goes_through(procedure: &Procedure) -> Result<Vec<String>, CannotListen> {
    said_in(procedure, Settings::default(), &mut Talk::default())
}

/// A readback with each colour that it could be asked with; alone where it is asked without one.
pub fn every_colour(language: Language, readback: Readback) -> Vec<String> {
    if readback.colour.is_none() {
        return vec![readback.words];
    }
    let with = |colour| Readback {
        colour: Some(colour),
        ..readback.clone()
    };
    Colour::ALL
        .map(|colour| with(colour).in_full(language))
        .to_vec()
}

/// What it is to a job that these words are heard for certain in its state.
///
/// # Errors
/// When what may be said in it can't be listened for.
pub fn heard_for_certain(job: &Job, words: &str) -> Result<Input, CannotListen> {
    let grammar = StateGrammar::compile(&job.listen())?;
    let heard = Heard {
        words: words.to_owned(),
        certainty: Certainty::Sure,
        evidence: None,
        sound: None,
    };
    Ok(if grammar.takes_dictation() {
        let words = words.to_owned();
        Input::Said {
            command: Command::Dictation { words },
            heard,
        }
    } else {
        match grammar.parse(words) {
            Ok(command) => Input::Said { command, heard },
            Err(_) => Input::NotUnderstood { heard },
        }
    })
}

/// Has a job take this, and lets the time pass in which it can be taken back. What the job did.
pub fn take_for_good(job: &mut Job, input: Input, now: &mut Moment) -> Vec<Effect> {
    let mut effects = job.take(input, *now);
    *now = now.after(CORRECTION_WINDOW);
    effects.extend(job.take(Input::Woke, *now));
    effects
}

/// What the technician of a talk may say in a job, in order, when everything is heard: at a gate with a colour
/// its words with each of them.
///
/// # Errors
/// As [`goes_through`].
pub fn said_in(
    procedure: &Procedure,
    settings: Settings,
    talk: &mut Talk,
) -> Result<Vec<String>, CannotListen> {
    let mut job = Job::new(Arc::new(procedure.clone()), settings);
    let mut now = Moment(0);
    job.take(Input::Begin, now);
    let mut all = Vec::new();
    let mut rounds = 0;
    while let Some(words) = talk.says(&job) {
        let input = heard_for_certain(&job, &words)?;
        // Which colour a gate will ask for nobody knows beforehand.
        let listen = job.listen();
        let colours = listen
            .readback
            .map(|readback| every_colour(listen.language, readback))
            .unwrap_or_default();
        take_for_good(&mut job, input, &mut now);
        if colours.contains(&words) {
            all.extend(colours);
        } else {
            all.push(words);
        }
        rounds += 1;
        if rounds > MAX_SAID {
            break;
        }
    }
    Ok(all)
}
