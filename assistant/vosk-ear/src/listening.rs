//! The library, a model, and the phrases that are listened for.
//!
//! What can crash the library never reaches it: a grammar is made only of words that the model knows, from at least one
//! phrase, and the rate is always 16 kHz.

use crate::protocol::{Answer, Word};
use vosk::{DecodingState, LogLevel, Model, Recognizer};

/// Samples in a second.
const SAMPLE_RATE: u16 = 16_000;

/// Silence fed after an utterance: the decoder needs 0.3 s after the last word to finish it.
const TAIL: usize = SAMPLE_RATE as usize * 3 / 10;

/// Names that models give to what they don't know.
const UNKNOWN_TOKENS: [&str; 3] = ["[unk]", "<unk>", "<UNK>"];

/// A model that listens.
pub struct Listening {
    model: Model,
    unknown_token: Option<&'static str>,
    /// Decodes without a grammar. Kept, because its first step takes half a second.
    free: Recognizer,
    grammar: Vec<String>,
}

impl Listening {
    /// Loads the model in this folder.
    pub fn load(folder: &str) -> Result<Self, String> {
        vosk::set_log_level(LogLevel::Error);
        let mut model = Model::new(folder)
            .ok_or("the library refuses it: its files are damaged or incomplete; fetch it again")?;
        let mut free = Recognizer::new(&model, f32::from(SAMPLE_RATE))
            .ok_or("the library makes no recogniser with it")?;
        free.set_words(true);
        decode(&mut free, &[0; SAMPLE_RATE as usize])?;
        let unknown_token = UNKNOWN_TOKENS
            .into_iter()
            .find(|token| model.find_word(token).is_some());
        Ok(Self {
            model,
            unknown_token,
            free,
            grammar: Vec::new(),
        })
    }

    /// Whether this one word can be heard. What the model uses for itself (`<eps>`, `[unk]`, `#0`, `!SIL`)
    /// can't be said.
    pub fn knows(&mut self, word: &str) -> bool {
        !word.is_empty()
            && !word.starts_with(['<', '[', '#', '!'])
            && !word.contains(|c: char| c.is_whitespace() || c.is_control() || "\"\\".contains(c))
            && self.model.find_word(word).is_some()
    }

    /// Listens from now on for those of the phrases of which the model knows every word.
    pub fn listen_for(&mut self, phrases: Vec<String>) -> Answer {
        let mut unknown: Vec<String> = Vec::new();
        let mut grammar = Vec::new();
        for phrase in phrases {
            let strange: Vec<&str> = phrase
                .split_whitespace()
                .filter(|word| !self.knows(word))
                .collect();
            for word in &strange {
                if !unknown.iter().any(|it| it == word) {
                    unknown.push((*word).to_owned());
                }
            }
            if strange.is_empty() && !phrase.trim().is_empty() {
                grammar.push(phrase);
            }
        }
        if grammar.is_empty() {
            let reason = format!(
                "the model knows too few of their words; unknown: {}",
                unknown.join(", ")
            );
            return Answer::Refused { reason };
        }
        grammar.extend(self.unknown_token.map(str::to_owned));
        self.grammar = grammar;
        Answer::Listening { unknown }
    }

    /// Hears an utterance, with the grammar and without.
    ///
    /// # Errors
    /// When the library can't decode it. It is in no good state then.
    pub fn hear(&mut self, mut samples: Vec<i16>) -> Result<Answer, &'static str> {
        let refused = |reason: &str| Answer::Refused {
            reason: reason.to_owned(),
        };
        if self.grammar.is_empty() {
            return Ok(refused("none were given yet"));
        }
        // A new one for each utterance costs a third of a millisecond and carries nothing over.
        let rate = f32::from(SAMPLE_RATE);
        let Some(mut closed) = Recognizer::new_with_grammar(&self.model, rate, &self.grammar)
        else {
            return Ok(refused("the library makes no grammar of them"));
        };
        closed.set_words(true);
        samples.resize(samples.len() + TAIL, 0);
        let (free, samples) = (&mut self.free, samples.as_slice());
        let (in_grammar, freely) = std::thread::scope(|scope| {
            let beside = scope.spawn(|| decode(free, samples));
            let in_grammar = decode(&mut closed, samples);
            // A panic there ends this program, as one here does.
            let freely = beside
                .join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic));
            (in_grammar, freely)
        });
        Ok(Answer::Heard {
            in_grammar: in_grammar?,
            freely: freely?,
        })
    }
}

/// Decodes one utterance.
fn decode(recogniser: &mut Recognizer, samples: &[i16]) -> Result<Vec<Word>, &'static str> {
    let state = recogniser.accept_waveform(samples);
    if !matches!(state, Ok(DecodingState::Running | DecodingState::Finalized)) {
        return Err("the library can't decode this sound");
    }
    // Without words the library gives an empty list, or another form of result: nothing heard.
    let heard = recogniser.final_result().single();
    let words = heard.map(|heard| heard.result).unwrap_or_default();
    let words = words.iter().map(|heard| Word {
        word: heard.word.to_owned(),
        confidence: heard.conf,
        begins: heard.start,
        ends: heard.end,
    });
    let words = words.collect();
    recogniser.reset();
    Ok(words)
}
