//! What the assistant and this program say to each other, over the program's standard input and output.
//!
//! A message is one line of JSON. The line of a [`Request::Hear`] is followed by its samples: 16 kHz mono, 16-bit signed,
//! little-endian. The program begins with [`Answer::Loading`], and says [`Answer::Ready`] or [`Answer::Failed`] once it
//! has loaded the model. From then on it gives one answer to each request, in their order. The end of its input ends it.
//!
//! ```text
//! answer   {"loading":{"version":1}}
//! answer   "ready"
//! request  {"listen_for":{"phrases":["carry on","stop"]}}
//! answer   {"listening":{"unknown":[]}}
//! request  {"hear":{"samples":16000}}  (32 000 bytes follow)
//! answer   {"heard":{"in_grammar":[{"word":"stop","confidence":1.0,"begins":0.3,"ends":0.6}],"freely":[…]}}
//! ```

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::io::{self, BufRead, Read, Write};

/// Changes whenever a message does, so that a program that was built earlier is noticed.
pub const VERSION: u32 = 1;

/// The longest line of a message, in bytes. The phrases of a state take some ten thousand.
const LONGEST_LINE: u64 = 16 << 20;

/// What the assistant asks for.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Request {
    /// Does the model know this word? Answered by [`Answer::Knows`].
    Knows {
        /// One word.
        word: String,
    },
    /// Listen for these phrases from now on. Answered by [`Answer::Listening`] or [`Answer::Refused`].
    ListenFor {
        /// Each as it is spoken, with one blank between words.
        phrases: Vec<String>,
    },
    /// Hear one utterance. Answered by [`Answer::Heard`], or by [`Answer::Refused`] where the phrases make no grammar.
    Hear {
        /// How many samples follow.
        samples: u32,
    },
}

/// What the program answers.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// The program runs and begins to load the model.
    Loading {
        /// Its [`VERSION`].
        version: u32,
    },
    /// The model is loaded.
    Ready,
    /// The model can't be loaded; the program ends.
    Failed {
        /// Why.
        reason: String,
    },
    /// Whether the word is known.
    Knows {
        /// Whether it can be heard.
        known: bool,
    },
    /// It listens for all phrases of which every word is known.
    Listening {
        /// The other words, each once.
        unknown: Vec<String>,
    },
    /// This request can't be done; what was listened for before still holds.
    Refused {
        /// Why.
        reason: String,
    },
    /// What was heard.
    Heard {
        /// With the phrases as a grammar.
        in_grammar: Vec<Word>,
        /// With anything that the model knows.
        freely: Vec<Word>,
    },
}

/// One word that was heard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Word {
    /// The word.
    pub word: String,
    /// How sure the library is, 0 to 1.
    pub confidence: f32,
    /// When it begins, in seconds from the utterance's beginning.
    pub begins: f32,
    /// When it ends.
    pub ends: f32,
}

/// Writes a message and its line's end. Whoever writes flushes.
///
/// # Errors
/// When it can't be written.
pub fn write(to: &mut impl Write, message: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *to, message)?;
    to.write_all(b"\n")
}

/// Reads a message; `None` at the end.
///
/// # Errors
/// When it can't be read, or is none.
pub fn read<T: DeserializeOwned>(from: &mut impl BufRead) -> io::Result<Option<T>> {
    let mut line = Vec::new();
    from.take(LONGEST_LINE).read_until(b'\n', &mut line)?;
    if line.is_empty() {
        return Ok(None);
    }
    Ok(Some(serde_json::from_slice(&line)?))
}
