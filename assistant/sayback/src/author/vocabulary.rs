//! Every word that is to be heard is known, or its author says what it sounds like.

use ears::vosk::Model;
use steps::procedure::{Code, Examined};
use words::sound::{Lexicon, Sounds, phrases};

pub(super) fn check(examined: &mut Examined, lexicon: Option<&Lexicon<'_>>, model: Option<&Model>) {
    let Some(procedure) = examined.procedure.clone() else {
        return;
    };
    let none = Lexicon::default();
    let sounds = Sounds::new(lexicon.unwrap_or(&none), &procedure.sounds_like);
    for phrase in phrases(&procedure) {
        let by_dictionary = lexicon.map(|_| sounds.unknown(&phrase.words));
        let by_model = model.map(|it| sounds.words(&phrase.words, |word| !it.knows(word)));
        let (by_dictionary, by_model) = (
            by_dictionary.unwrap_or_default(),
            by_model.unwrap_or_default(),
        );
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
}
