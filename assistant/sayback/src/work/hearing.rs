//! From an utterance to what was meant: the recognisers hear it, their evidence is judged, and the words are parsed
//! against what may be said in this state.
//!
//! # Why is a denied value left out?
//!
//! Whoever repeats a denied value was misheard and would be misheard again. The ear listens for all values except that
//! one ([`ListenFilter::denied`]), until the next is read back.

use ears::sound::endpoint::Patience;
use ears::turn::{self, Turn};
use ears::verdict::{Bars, Verdict, turns_around};
use ears::{Hypothesis, Phrase, PhraseSet, Recogniser, RecogniserError, Stake};
use std::sync::Arc;
use steps::{Certainty, Command, Decimal, Heard, Language, Listen};
use words::now::{CannotListen, StateGrammar};

/// Why nothing could be heard.
#[derive(Debug, thiserror::Error)]
pub enum HearingError {
    /// A phrase of the procedure can't be listened for.
    #[error(transparent)]
    Grammar(#[from] CannotListen),
    /// The recogniser failed.
    #[error(transparent)]
    Recogniser(#[from] RecogniserError),
    /// One ear failed for good. It is left out from now on; the others listen as they would without it.
    #[error("{lost} has failed ({error}), and only {left} listens now")]
    EarLost {
        /// The ear that failed.
        lost: String,
        /// Whether it was the one that decides what was said: by the confidence of another no gate opens.
        decided: bool,
        /// Those that are left.
        left: String,
        /// How it failed.
        error: Box<RecogniserError>,
    },
}

/// So often in a row an ear may fail before it is left out, or, where it is the last one, before the conversation ends.
pub const MAX_DEAF_MOMENTS: u8 = 2;

/// What an utterance was.
#[derive(Debug, Clone, PartialEq)]
pub enum Meaning {
    /// A command, heard well enough to be taken or asked about.
    Told(Command),
    /// The assistant's name.
    Called,
    /// Speech, meant for us as far as can be told, that is none of what may be said.
    NotUnderstood,
    /// Talk that is no concern of ours, or noise.
    Ignored,
}

/// An utterance, understood or not.
#[derive(Debug, Clone)]
pub struct Understood {
    /// What it was.
    pub meaning: Meaning,
    /// How it was heard; goes into the journal.
    pub heard: Heard,
    /// Under what name its sound is kept, where it is: a gate's words, a reading, a note.
    pub keep_sound: Option<&'static str>,
    /// Whether it was heard so clearly that it counts even over the assistant's own voice.
    pub clear: bool,
    /// Whether, though it counts for nothing, it came near something that may be said.
    pub near: bool,
    /// Whether any words were heard at all, and not just noise.
    pub is_speech: bool,
    /// Whether it takes something back just by being talk right after a readback, and not by what was said.
    pub by_talk: bool,
}

/// The ears and what they listen for.
pub struct Hearing {
    /// The first decides what was said; a gate needs all of them.
    ears: Vec<Ear>,
    bars: Bars,
    grammar: Arc<StateGrammar>,
    set: PhraseSet,
    filter: ListenFilter,
}

struct Ear {
    recogniser: Box<dyn Recogniser>,
    /// How often in a row it failed to hear.
    failures: u8,
}

impl Ear {
    fn name(&self) -> String {
        let it = self.recogniser.description();
        format!("{} ({})", it.recogniser, it.model)
    }
}

/// What of all that may be said is listened for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ListenFilter {
    /// The name that the assistant is called by.
    pub name: Option<String>,
    /// Whether only that, "carry on" and "stop" count.
    pub only_called: bool,
    /// Whether a "yes" or a "next" is kept, or moves past a warning: then nothing else may be said with it.
    pub answer_is_kept: bool,
    /// A value that was just denied: whoever says it once more was misheard as that value, and would be again.
    pub denied: Option<Decimal>,
}

impl Hearing {
    /// Ears that listen for nothing yet. The first recogniser decides what was said; with a second one a
    /// gate opens only when both heard its words.
    ///
    /// # Errors
    /// When a recogniser can't be made ready.
    pub fn new(
        language: Language,
        ears: Vec<Box<dyn Recogniser>>,
        bars: Bars,
    ) -> Result<Self, HearingError> {
        let nothing = Listen {
            language,
            commands: vec![Command::Stop],
            ..Listen::default()
        };
        let grammar = Arc::new(StateGrammar::compile(&nothing)?);
        let ears = ears.into_iter().map(|recogniser| Ear {
            recogniser,
            failures: 0,
        });
        let mut hearing = Self {
            ears: ears.collect(),
            bars,
            grammar,
            set: PhraseSet::default(),
            filter: ListenFilter::default(),
        };
        hearing.listen_for(&nothing)?;
        Ok(hearing)
    }

    /// Which recognisers listen.
    pub fn names(&self) -> Vec<String> {
        self.ears.iter().map(Ear::name).collect()
    }

    /// The grammar of this state, for what is typed.
    pub fn grammar(&self) -> &StateGrammar {
        &self.grammar
    }

    /// Sets what may be said from now on. Returns words that a model doesn't know.
    ///
    /// # Errors
    /// When the procedure's phrases clash, or a recogniser can't take them.
    pub fn listen_for(&mut self, listen: &Listen) -> Result<Vec<String>, HearingError> {
        let grammar = StateGrammar::compile(listen)?;
        self.listen_and_heed(ListenFilter::default(), Arc::new(grammar))
    }

    /// The same for a grammar that is compiled already, heeding not all of it.
    ///
    /// # Errors
    /// When a recogniser can't take its phrases. After [`HearingError::EarLost`] the ears that are left listen for it.
    pub fn listen_and_heed(
        &mut self,
        filter: ListenFilter,
        grammar: Arc<StateGrammar>,
    ) -> Result<Vec<String>, HearingError> {
        self.grammar = grammar;
        self.set = phrases_of(&self.grammar);
        if filter.only_called {
            // What doesn't count still competes: without "go back" in the set it would be heard as "carry on".
            for phrase in &mut self.set.phrases {
                let meant = self.grammar.parse(&phrase.words);
                phrase.decoy |= !matches!(meant, Ok(Command::Stop | Command::CarryOn));
            }
        }
        if let Some(name) = &filter.name {
            self.set.phrases.push(Phrase::plain(name, Stake::Ask));
        }
        if let Some(value) = filter.denied {
            let denied = Command::Reading { value };
            let grammar = &self.grammar;
            self.set.phrases.retain(|phrase| {
                phrase.stake != Stake::Number
                    || grammar.parse(&phrase.words).ok().as_ref() != Some(&denied)
            });
        }
        self.filter = filter;
        let mut unknown = Vec::new();
        let mut failed = None;
        for (number, ear) in self.ears.iter_mut().enumerate() {
            match ear.recogniser.listen_for(&self.set) {
                Ok(words) => unknown.extend(words),
                // Such an ear is broken, whatever it is to listen for.
                Err(error @ RecogniserError::ProgramFailed { .. }) => {
                    failed = Some((number, error))
                }
                Err(error) => return Err(error.into()),
            }
        }
        match failed {
            Some((number, error)) => Err(self.without(number, error)),
            None => Ok(unknown),
        }
    }

    /// Goes on without an ear, unless it is the last one.
    fn without(&mut self, number: usize, error: RecogniserError) -> HearingError {
        if self.ears.len() < 2 {
            return error.into();
        }
        let lost = self.ears.remove(number).name();
        HearingError::EarLost {
            lost,
            decided: number == 0,
            left: self.names().join(" and "),
            error: Box::new(error),
        }
    }

    /// An ear couldn't hear: it may be a bad moment of the machine's.
    fn failed(&mut self, number: usize, error: RecogniserError) -> HearingError {
        let ear = &mut self.ears[number];
        ear.failures = ear.failures.saturating_add(1);
        let for_good = matches!(error, RecogniserError::ProgramFailed { for_good: true, .. });
        match for_good || ear.failures > MAX_DEAF_MOMENTS {
            true => self.without(number, error),
            false => error.into(),
        }
    }

    /// How much silence ends what is said.
    pub fn patience(&self) -> Patience {
        match self.grammar.takes_dictation() && !self.filter.only_called {
            true => Patience::NOTE,
            false => Patience::listening_for(&self.set),
        }
    }

    /// Hears a turn that may not be over yet: a "stop" may be its last piece.
    ///
    /// # Errors
    /// When a recogniser fails.
    pub fn glimpse(&mut self, turn: &Turn) -> Result<Understood, HearingError> {
        if let Some(piece) = turn.utterance.last_piece() {
            let understood = self.hear(&Turn::alone(piece))?;
            if understood.meaning == Meaning::Told(Command::Stop) {
                return Ok(understood);
            }
        }
        self.hear(turn)
    }

    /// Hears one turn.
    ///
    /// # Errors
    /// When a recogniser fails. Then nothing counts that the others heard: what was said is said again.
    pub fn hear(&mut self, turn: &Turn) -> Result<Understood, HearingError> {
        let mut hypotheses = Vec::new();
        let mut parts = Vec::new();
        for number in 0..self.ears.len() {
            let ear = &mut self.ears[number];
            match turn::hear(ear.recogniser.as_mut(), turn) {
                Ok(heard) => {
                    ear.failures = 0;
                    hypotheses.push(heard.whole);
                    parts.extend(heard.parts);
                }
                Err(error) => return Err(self.failed(number, error)),
            }
        }
        let evidence = serde_json::to_string(&hypotheses).ok();
        let mut hypotheses = hypotheses.into_iter();
        let first = hypotheses.next().flatten();
        let others: Vec<Option<Hypothesis>> = hypotheses.collect();
        if self.grammar.takes_dictation() && !self.filter.only_called {
            return Ok(self.dictated(first, evidence));
        }
        let Some(first) = first else {
            return Ok(Understood {
                meaning: Meaning::Ignored,
                heard: heard(String::new(), Certainty::Doubtful, evidence),
                keep_sound: None,
                clear: false,
                near: false,
                is_speech: false,
                by_talk: false,
            });
        };
        let clear = self.bars.is_clear(&first);
        let near = self.bars.is_near(&first);
        let mut verdict = turn::judge(turn, &first, &parts, &self.bars);
        let spoilt = turn::spoils_what_opened(turn, Some(&first), &self.bars);
        let agreed = others.iter().all(|other| {
            other
                .as_ref()
                .is_some_and(|other| other.words == first.words && !other.decoy)
        });
        if first.stake == Stake::Gate && !agreed && verdict == Verdict::Accept {
            verdict = Verdict::Ask;
        }
        let words = first.words.clone();
        let mut command = self.grammar.parse(&words).ok();
        if first.decoy {
            // A report that it isn't so opens nothing; it is taken as soon as it would be asked about otherwise.
            let report = command == Some(Command::NotSo) && !self.filter.only_called;
            command = command.filter(|_| report);
            let free = first.evidence.free_transcription.as_deref();
            // Noise is transcribed as "(static)".
            let spoken = free.is_none_or(|free| !free.trim().starts_with(['(', '[', '*']));
            if report && spoken && self.bars.would_ask(&first) {
                verdict = Verdict::Ask;
            }
        }
        // At a gate whoever says nearly its words is told that the gate stays closed.
        let nearly_a_gate = first.stake == Stake::Gate && !self.filter.only_called;
        let called = self.filter.name.as_ref() == Some(&words);
        if self.filter.answer_is_kept
            && matches!(command, Some(Command::Yes | Command::Next))
            && verdict == Verdict::Accept
            && turn.utterance.pieces.len() > 1
            && turns_around(&words, &first.evidence)
        {
            verdict = Verdict::Ask;
        }
        if spoilt {
            // More was said right after a readback, and together they are none: it is taken back.
            let words = first.evidence.free_transcription.clone();
            return Ok(Understood {
                meaning: Meaning::Told(Command::TakeBack),
                heard: heard(words.unwrap_or_default(), Certainty::Doubtful, evidence),
                keep_sound: Some("correction"),
                clear,
                near,
                is_speech: true,
                by_talk: true,
            });
        }
        let (meaning, certainty) = match (verdict, command) {
            (Verdict::Accept, None) if called => (Meaning::Called, Certainty::Sure),
            (Verdict::Accept, Some(command)) => (Meaning::Told(command), Certainty::Sure),
            (Verdict::Ask, Some(command)) => (Meaning::Told(command), Certainty::Doubtful),
            (Verdict::Ignore, _) | (Verdict::Accept | Verdict::Ask, None) if nearly_a_gate => {
                (Meaning::NotUnderstood, Certainty::Doubtful)
            }
            (Verdict::Ignore, _) | (Verdict::Accept | Verdict::Ask, None) => {
                (Meaning::Ignored, Certainty::Doubtful)
            }
        };
        let keep_sound = match &meaning {
            Meaning::Told(Command::Readback { .. }) => Some("gate"),
            Meaning::Told(Command::Reading { .. }) => Some("reading"),
            Meaning::Told(Command::TakeOver { .. }) => Some("handover"),
            Meaning::Told(Command::SignOff { .. }) => Some("sign-off"),
            Meaning::Told(Command::TakeBack) => Some("correction"),
            Meaning::Told(_) | Meaning::Called | Meaning::NotUnderstood | Meaning::Ignored => None,
        };
        let words = match &meaning {
            Meaning::Told(_) | Meaning::Called => words,
            // What fitted best wasn't said; what was heard freely is nearer to it.
            Meaning::NotUnderstood | Meaning::Ignored => {
                first.evidence.free_transcription.clone().unwrap_or(words)
            }
        };
        Ok(Understood {
            meaning,
            heard: heard(words, certainty, evidence),
            keep_sound,
            clear,
            near,
            is_speech: true,
            by_talk: false,
        })
    }

    /// A note: its words are whatever was heard without a grammar, unless they are a command of this state.
    fn dictated(&self, first: Option<Hypothesis>, evidence: Option<String>) -> Understood {
        let legible = first.as_ref().and_then(|first| self.bars.note(first));
        let legible = words::note::tidied(&said_once(legible.unwrap_or_default()));
        let words = first
            .and_then(|first| first.evidence.free_transcription)
            .unwrap_or_default();
        let words = said_once(&words);
        // The sound of a note is kept even where no words were made out.
        let command = match self.grammar.parse(&words) {
            Ok(Command::Dictation { .. }) | Err(_) => Command::Dictation { words: legible },
            Ok(command) => command,
        };
        let note = matches!(command, Command::Dictation { .. });
        Understood {
            meaning: Meaning::Told(command),
            heard: heard(words, Certainty::Sure, evidence),
            keep_sound: note.then_some("note"),
            clear: false,
            near: false,
            is_speech: true,
            by_talk: false,
        }
    }
}

/// Three words or more that stand twice at the end, once: a free transcription falls into saying the same again, and
/// ends there. Whoever said a sentence twice over loses nothing by it.
fn said_once(words: &str) -> String {
    let plain = |word: &str| {
        word.trim_matches(|letter: char| !letter.is_alphanumeric())
            .to_lowercase()
    };
    let all: Vec<&str> = words.split_whitespace().collect();
    let same = |part: usize| {
        let (before, last) = (
            &all[all.len() - 2 * part..all.len() - part],
            &all[all.len() - part..],
        );
        before
            .iter()
            .map(|it| plain(it))
            .eq(last.iter().map(|it| plain(it)))
    };
    match (3..=all.len() / 2).rev().find(|part| same(*part)) {
        Some(part) => all[..all.len() - part].join(" "),
        None => words.to_owned(),
    }
}

fn heard(words: String, certainty: Certainty, evidence: Option<String>) -> Heard {
    Heard {
        words,
        certainty,
        evidence,
        sound: None,
    }
}

/// The phrases of a state, as recognisers need them.
pub fn phrases_of(grammar: &StateGrammar) -> PhraseSet {
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

#[cfg(test)]
mod tests {
    use super::said_once;

    #[test]
    fn what_a_transcription_falls_into_repeating_is_noted_once() {
        for (heard, noted) in [
            (
                "The left boot is torn. The left boot is torn.",
                "The left boot is torn.",
            ),
            (
                "Look, the boot is torn, the boot is torn",
                "Look, the boot is torn,",
            ),
            (
                "tap it again and again and again",
                "tap it again and again and again",
            ),
            ("tap tap tap", "tap tap tap"),
            ("", ""),
        ] {
            assert_eq!(said_once(heard), noted);
        }
    }
}
