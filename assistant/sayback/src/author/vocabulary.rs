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
        for (by, unknown) in [("the dictionary", by_dictionary), ("the model", by_model)] {
            let unknown = unknown.unwrap_or_default();
            let Some(first) = unknown.first() else {
                continue;
            };
            let all: Vec<String> = unknown.iter().map(|word| format!("“{word}”")).collect();
            examined.add(
                Code::WordUnknown,
                &phrase.words,
                &phrase.at,
                format!("{by} doesn't know {}", all.join(", ")),
                "to be heard",
                format!(
                    "say it otherwise, or give plain words that sound like it: [sounds_like] {first} = \"…\""
                ),
            );
        }
    }
}
