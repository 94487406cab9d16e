//! The verbs of readbacks, so that they can be denied, asked and put off as people do it.

/// A verb at its place in a sentence.
pub(super) enum Verb {
    /// "is", "are", "i'm": denied by a word after it.
    Link,
    /// Any other: denied by a helping verb before its stem.
    Action {
        /// "grip" for "grips" and "gripped"; what stays as it is after "isn't".
        stem: &'static str,
        /// "do", "does", "did" or "is".
        helper: &'static str,
    },
}

/// Forms, stems and helping verbs; what ends a clause without "is" ("both clips opened") takes "is".
const ACTIONS: &[(&str, &str, &str)] = &[
    ("bears", "bear", "does"),
    ("carries", "carry", "does"),
    ("carry", "carry", "do"),
    ("checked", "check", "did"),
    ("clears", "clear", "does"),
    ("clicked", "click", "did"),
    ("closed", "closed", "is"),
    ("dangles", "dangle", "does"),
    ("done", "done", "is"),
    ("felt", "feel", "did"),
    ("fits", "fit", "does"),
    ("grip", "grip", "do"),
    ("grips", "grip", "does"),
    ("hang", "hang", "do"),
    ("hangs", "hang", "does"),
    ("hold", "hold", "do"),
    ("holds", "hold", "does"),
    ("lies", "lie", "does"),
    ("locked", "locked", "is"),
    ("looked", "look", "did"),
    ("moved", "move", "did"),
    ("moves", "move", "does"),
    ("opened", "opened", "is"),
    ("pressed", "press", "did"),
    ("pulled", "pull", "did"),
    ("pumped", "pump", "did"),
    ("reads", "read", "does"),
    ("rest", "rest", "do"),
    ("rests", "rest", "does"),
    ("shoved", "shove", "did"),
    ("sit", "sit", "do"),
    ("sits", "sit", "does"),
    ("spins", "spin", "does"),
    ("staked", "staked", "is"),
    ("stand", "stand", "do"),
    ("stands", "stand", "does"),
    ("tightened", "tightened", "is"),
    ("torqued", "torqued", "is"),
    ("touches", "touch", "does"),
    ("turned", "turn", "did"),
    ("turns", "turn", "does"),
    ("walked", "walk", "did"),
];

/// The verb that a word is, if it is one.
pub(super) fn verb(word: &str) -> Option<Verb> {
    if matches!(
        word,
        "is" | "are" | "was" | "were" | "has" | "have" | "i'm" | "it's" | "that's"
    ) {
        return Some(Verb::Link);
    }
    let &(_, stem, helper) = ACTIONS.iter().find(|(form, ..)| *form == word)?;
    Some(Verb::Action { stem, helper })
}
