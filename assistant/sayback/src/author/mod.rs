//! Help for the author of a procedure: a draft to begin with, and checks that need more than the text. They find out
//! whether the job can be worked to its end, whether recognisers know its words, and whether its readbacks can be told
//! apart by ear.
//!
//! - [`draft`] and [`tidy`]: a procedure to begin with, and the usual form of its file.
//! - [`findings`]: what the checker found, for programs to read.
//! - [`releases`]: who answers for which version.
//! - [`separation`]: how well a readback can be told from its denials.

mod dictionary;
pub mod draft;
pub mod findings;
pub mod releases;
pub mod separation;
mod sounds;
mod straight_way;
pub mod tidy;
mod vocabulary;

pub use dictionary::{Dictionary, NoDictionary};

use crate::library::Shelf;
use ears::RecogniserError;
use ears::vosk::Vosk;
use steps::procedure::Examined;

/// What words are compared with.
#[derive(Default)]
pub struct Vocabulary {
    /// The pronouncing dictionary of set-up.
    pub dictionary: Option<Dictionary>,
    /// A model that hears words.
    pub model: Option<Vosk>,
}

/// What was found, and the sentences of the straight way through the job where there is one.
#[derive(Debug)]
pub struct Looked {
    /// The findings.
    pub examined: Examined,
    /// What is said on the straight way.
    pub said: Vec<String>,
}

/// Reads a procedure, with the values of a vehicle's sheet where one is named, and looks at all of it that can be looked at without sound.
///
/// # Errors
/// When the model fails.
pub fn look(
    shelf: &Shelf,
    name: &str,
    sheet: Option<&str>,
    vocabulary: &mut Vocabulary,
) -> Result<Looked, RecogniserError> {
    let mut examined = shelf.examine_with(name, sheet);
    let said = straight_way::check(&mut examined);
    // The dictionary, the model and the phones are those of English.
    let language = examined.procedure.as_ref().map(|it| it.language);
    if language.is_some_and(|language| !language.is_default()) {
        return Ok(Looked { examined, said });
    }
    let lexicon = vocabulary.dictionary.as_ref().map(Dictionary::lexicon);
    vocabulary::check(&mut examined, lexicon.as_ref(), vocabulary.model.as_mut())?;
    if let Some(lexicon) = &lexicon {
        sounds::check(&mut examined, lexicon);
    }
    Ok(Looked { examined, said })
}
