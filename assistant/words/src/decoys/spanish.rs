//! Spanish sentences that sound like a readback and must not open its gate. What is denied is denied by “no” before the
//! verb and its pronoun; a question may be no more than the readback itself in another tone, which no words tell.

mod opposites;

use super::{inserted, replaced};
use opposites::opposites;

/// Verbs of readbacks, so that “no”, “casi” and their like stand there first: common practice, no source.
const VERBS: &[&str] = &[
    "es",
    "son",
    "está",
    "están",
    "estoy",
    "ha",
    "han",
    "he",
    "hay",
    "queda",
    "quedan",
    "lleva",
    "llevan",
    "tiene",
    "tienen",
    "cuelga",
    "cuelgan",
    "apoya",
    "apoyan",
    "descansa",
    "descansan",
    "gira",
    "giran",
    "mueve",
    "mueven",
    "sujeta",
    "sujetan",
    "agarra",
    "agarran",
    "toca",
    "tocan",
    "aprieta",
    "aprietan",
    "marca",
    "marcan",
    "cierra",
    "cierran",
    "abre",
    "abren",
    "encaja",
    "encajan",
    "frena",
    "frenan",
    "sale",
    "salen",
    "pasa",
    "pasan",
    "cabe",
    "caben",
    "puse",
    "quité",
    "miré",
    "conté",
    "tiré",
    "empujé",
    "probé",
    "toqué",
    "oí",
    "vi",
    "guardé",
    "llevo",
    "tengo",
    "puede",
    "pueden",
    "sostiene",
    "sostienen",
    "aguanta",
    "aguantan",
];

/// Pronouns that stand between “no” and the verb.
const PRONOUNS: &[&str] = &["se", "me", "lo", "la", "los", "las", "le", "les", "nos"];

/// The rules, the most dangerous first.
pub(super) fn rules(words: &[&str]) -> [Vec<String>; 4] {
    [
        negated(words),
        opposite(words),
        unfinished(words),
        asked(words),
    ]
}

/// What is less like the readback.
pub(super) fn more_rules(words: &[&str]) -> [Vec<String>; 3] {
    [later(words), doubted(words), asked_for(words)]
}

/// Where the verbs stand, each with its pronoun.
fn verbs<'a>(words: &'a [&str]) -> impl Iterator<Item = usize> + 'a {
    let verb = |word: &str| VERBS.contains(&word);
    let at = (0..words.len()).filter(move |at| verb(words[*at]));
    at.map(|at| match at.checked_sub(1) {
        Some(before) if PRONOUNS.contains(&words[before]) => before,
        Some(_) | None => at,
    })
}

/// “Las ruedas no están …”, “no …”, “nunca …”; a “no” that is there is taken out.
fn negated(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    let mut decoys = Vec::new();
    let mut without = words.to_vec();
    without.retain(|word| !matches!(*word, "no" | "nunca" | "ni" | "tampoco" | "sin"));
    if without.len() < words.len() {
        decoys.push(without.join(" "));
    }
    decoys.extend(verbs(words).map(|at| inserted(words, at, "no")));
    decoys.extend([
        format!("no {all}"),
        format!("{all} no"),
        format!("no es verdad que {all}"),
        format!("nunca {all}"),
    ]);
    decoys.extend((1..words.len()).map(|at| inserted(words, at, "no")));
    decoys
}

/// One word turned round at a time, then all of them.
fn opposite(words: &[&str]) -> Vec<String> {
    let mut decoys = Vec::new();
    let mut all: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
    for (at, word) in words.iter().enumerate() {
        for other in opposites(word) {
            decoys.push(replaced(words, at, &other));
            all[at] = other;
        }
    }
    decoys.push(all.join(" "));
    decoys
}

/// “Todavía no …”, “las ruedas casi están …”.
fn unfinished(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    let mut at: Vec<usize> = verbs(words).collect();
    if at.is_empty() {
        at.push(0);
    }
    let qualifiers = ["todavía no", "aún no", "casi", "todavía", "aún", "apenas"];
    let placed = |qualifier| at.iter().map(move |at| inserted(words, *at, qualifier));
    let around = [
        format!("{all} todavía no"),
        format!("todavía no {all}"),
        format!("aún no {all}"),
    ];
    around
        .into_iter()
        .chain(qualifiers.into_iter().flat_map(placed))
        .collect()
}

/// “Están las ruedas …”, “… verdad”, “… o no”.
fn asked(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    let turned = verbs(words).filter(|at| *at > 0).take(4).map(|at| {
        let pronoun = PRONOUNS.contains(&words[at]) && !VERBS.contains(&words[at]);
        let end = at + if pronoun { 2 } else { 1 };
        [&words[at..end], &words[..at], &words[end..]]
            .concat()
            .join(" ")
    });
    let mut decoys: Vec<String> = turned.collect();
    decoys.extend([
        format!("{all} verdad"),
        format!("{all} o no"),
        format!("seguro que {all}"),
        format!("es que {all}"),
    ]);
    decoys
}

/// “Las ruedas estarán …”, “cuando …”, “… en un minuto”.
fn later(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    let future = |word: &str| match word {
        "es" => Some("será"),
        "son" => Some("serán"),
        "está" => Some("estará"),
        "están" => Some("estarán"),
        "queda" => Some("quedará"),
        "quedan" => Some("quedarán"),
        _ => None,
    };
    let turned = words.iter().enumerate();
    let turned = turned.filter_map(|(at, word)| Some(replaced(words, at, future(word)?)));
    let mut decoys: Vec<String> = turned.take(3).collect();
    decoys.extend([
        format!("{all} en un minuto"),
        format!("{all} mañana"),
        format!("cuando {all}"),
        format!("en cuanto {all}"),
        format!("si {all}"),
    ]);
    decoys
}

/// “Creo que …”, “… espero”.
fn doubted(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    vec![
        format!("creo que {all}"),
        format!("{all} creo"),
        format!("{all} espero"),
        format!("quizá {all}"),
        format!("parece que {all}"),
    ]
}

/// The assistant's own request for the readback, which comes back from the loudspeaker.
fn asked_for(words: &[&str]) -> Vec<String> {
    let all = words.join(" ");
    vec![
        format!("cuando sea así diga {all}"),
        format!("después diga {all}"),
        format!("diga {all}"),
    ]
}
