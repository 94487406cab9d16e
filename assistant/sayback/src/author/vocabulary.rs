//! Checks that every word to be heard is known, or that the author says what it sounds like.

use ears::RecogniserError;
use ears::vosk::Vosk;
use steps::procedure::{Code, Examined};
use words::sound::{Lexicon, Sounds, phrases};

pub(super) fn check(
    examined: &mut Examined,
    lexicon: Option<&Lexicon<'_>>,
    mut model: Option<&mut Vosk>,
) -> Result<(), RecogniserError> {
    let Some(procedure) = examined.procedure.clone() else {
        return Ok(());
    };
    let none = Lexicon::default();
    let sounds = Sounds::new(lexicon.unwrap_or(&none), &procedure.sounds_like);
    for phrase in phrases(&procedure) {
        let by_dictionary = lexicon.map(|_| sounds.unknown(&phrase.words));
        let by_dictionary = by_dictionary.unwrap_or_default();
        let by_model = match &mut model {
            Some(model) => unknown_to(model, &sounds, &phrase.words)?,
            None => Vec::new(),
        };
        let Some(first) = by_dictionary.first().or(by_model.first()) else {
            continue;
        };
        // One finding for both, since they are at one place.
        let told: Vec<String> = [("the dictionary", &by_dictionary), ("the model", &by_model)]
            .into_iter()
            .filter(|(_, unknown)| !unknown.is_empty())
            .map(|(by, unknown)| format!("{by} doesn't know “{}”", unknown.join("”, “")))
            .collect();
        examined.add(
            Code::WordUnknown,
            &phrase.words,
            &phrase.at,
            told.join(", and "),
            "to be heard",
            format!(
                "say it otherwise, or give plain words that sound like it: [sounds_like] {first} = \"…\""
            ),
        );
    }
    Ok(())
}

/// The words of a phrase that the model can't hear, each once.
fn unknown_to(
    model: &mut Vosk,
    sounds: &Sounds<'_>,
    phrase: &str,
) -> Result<Vec<String>, RecogniserError> {
    let mut failed = None;
    let unknown = sounds.words(phrase, |word| match model.knows(word) {
        Ok(known) => !known,
        Err(error) => {
            failed = Some(error);
            false
        }
    });
    failed.map_or(Ok(unknown), Err)
}
