//! Which phrases are too near to a readback.
//!
//! # How far apart is far enough?
//!
//! There are two bars, each with a note on what it was chosen on. For anything else that may be said, it is a share
//! of both sentences. For a denial, which differs by one word, it is the sound that this word has of its own. A
//! denial with “not” or “isn't” is far enough by itself, and the ear's veto covers it as well.

use super::{Sound, Sounds, phrases};
use crate::decoys::decoys;
use crate::now::StateGrammar;
use std::collections::BTreeSet;
use steps::procedure::At;
use steps::{Command, Id, Language, Listen, Procedure};

/// The least share by which a readback differs from whatever else may be said in the job. Of the 13 shipped procedures'
/// readbacks no two of a job are nearer than 0.47; two sentences that differ in one word are at 0.05 to 0.28.
const APART: f64 = 0.35;

/// The least change from a readback to what denies it by another word: more than one consonant (27.5).
///
/// Measured by `check --heard`, eight voices: “called” for “cold” (0), and only 2 of 8 were taken for the readback; “off”
/// for “on” (34), “red” for “green” (40), “out” for “in” (42.5), “unlocked” for “locked” (45): 8 of 8, and the ear held
/// each apart by at least 3.8 in log-probability.
const DENIED: f64 = 30.0;

/// A phrase that sounds too much like a gate's readback.
#[derive(Debug, Clone, PartialEq)]
pub struct Near {
    pub gate: Id,
    /// The phrase.
    pub words: String,
    /// What it is.
    pub what: Nearness,
}

/// What a phrase is that is too near.
#[derive(Debug, Clone, PartialEq)]
pub enum Nearness {
    /// The readback of another gate.
    Readback(Id),
    /// Something else that may be said: a command, an answer, what leads to a branch, a name.
    Sayable,
    /// What denies the readback.
    Denial,
}

/// All phrases that sound too much like a readback.
///
/// Whatever else may be said in the job is compared as a share of both, since a sentence is heard as a whole. What
/// denies a readback stands in the set that the ear chooses from, and often differs by one word: there counts how much of
/// a sound that word has of its own. “Not” (72.5) and “isn't” (45) have enough by themselves, and a veto
/// (`ears::verdict`) keeps the gate shut where they are heard.
pub fn near(procedure: &Procedure, sounds: Sounds<'_>) -> Vec<Near> {
    let sounding = |words: &str| Some((words.to_owned(), sounds.of(words)?));
    let others: Vec<(String, Sound)> = sayable(procedure)
        .iter()
        .filter_map(|words| sounding(words))
        .collect();
    let mut before: Vec<(&Id, String, Sound)> = Vec::new();
    let mut all = Vec::new();
    for (id, gate) in &procedure.gates {
        let ways: Vec<(String, Sound)> = gate.readbacks().filter_map(sounding).collect();
        let mut found = |words: &str, what| {
            all.push(Near {
                gate: id.clone(),
                words: words.to_owned(),
                what,
            });
        };
        for (_, own) in &ways {
            let near = |sound: &Sound| own.distance(sound) < APART;
            for (other, words, _) in before.iter().filter(|(_, _, it)| near(it)) {
                found(words, Nearness::Readback((*other).clone()));
            }
            for (words, _) in others.iter().filter(|(_, it)| near(it)) {
                found(words, Nearness::Sayable);
            }
        }
        // What denies one readback mustn't sound like another one either.
        let denials = gate.readbacks();
        let denials = denials.flat_map(|words| decoys(Language::English, words));
        let denials: BTreeSet<String> = denials.chain(gate.decoys.iter().cloned()).collect();
        for words in denials {
            let Some(denial) = sounds.of(&words) else {
                continue;
            };
            if ways.iter().any(|(_, own)| own.change(&denial) < DENIED) {
                found(&words, Nearness::Denial);
            }
        }
        before.extend(ways.into_iter().map(|(words, sound)| (id, words, sound)));
    }
    all
}

/// Commands, and the procedure's own phrases but for what belongs to gates.
fn sayable(procedure: &Procedure) -> Vec<String> {
    let listen = Listen {
        commands: Command::ALL_PLAIN.to_vec(),
        ..Listen::default()
    };
    // The built-in grammar alone has no clash; its tests show it.
    let commands = StateGrammar::compile(&listen).map(|it| it.phrases().to_vec());
    let commands = commands.unwrap_or_default().into_iter().map(|it| it.words);
    let own = phrases(procedure).into_iter();
    let own = own.filter(|it| match it.at {
        At::Title | At::Option(..) | At::Says(_) | At::Name(_) => true,
        At::Readback(_) | At::Decoy(..) => false,
    });
    commands.chain(own.map(|it| it.words)).collect()
}
