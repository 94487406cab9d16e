//! The shipped readbacks, and what is said beside them: near-misses that stand in no list of decoys.

use serde::Deserialize;
use std::io;
use std::path::{Path, PathBuf};
use steps::{Colour, Language};

/// A gate as far as hearing is concerned.
#[derive(Debug, Clone)]
pub struct Gate {
    /// The readback's words.
    pub readback: String,
    /// Other words that open it just as well.
    pub alternatives: Vec<String>,
    /// The colour that a hold point asks for besides.
    pub colour: Option<Colour>,
    /// The decoys that its author gave.
    pub decoys: Vec<String>,
}

#[derive(Deserialize)]
struct File {
    #[serde(default)]
    gate: Vec<Written>,
}

#[derive(Deserialize)]
struct Written {
    readback: Readbacks,
    weight: String,
    #[serde(default)]
    decoys: Vec<String>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Readbacks {
    One(String),
    Several(Vec<String>),
}

/// All gates of the procedures and parts in a folder, each readback once, in the order of their words. A gate with
/// several readbacks stands there with each of them.
///
/// # Errors
/// When a file can't be read or isn't a procedure.
pub fn shipped(folder: &Path) -> io::Result<Vec<Gate>> {
    let mut files: Vec<PathBuf> = Vec::new();
    for folder in [folder.to_owned(), folder.join("parts")] {
        for entry in std::fs::read_dir(folder)? {
            files.push(entry?.path());
        }
    }
    files.retain(|path| path.extension().is_some_and(|end| end == "toml"));
    let mut gates: Vec<Gate> = Vec::new();
    for path in files {
        let file: File = toml::from_str(&std::fs::read_to_string(&path)?)
            .map_err(|error| io::Error::other(format!("{}: {error}", path.display())))?;
        let words = |text: &str| plain(&text.replace("{vehicle}", "van"));
        for gate in &file.gate {
            let ways = match &gate.readback {
                Readbacks::One(one) => std::slice::from_ref(one),
                Readbacks::Several(several) => several,
            };
            let ways: Vec<String> = ways.iter().map(|way| words(way)).collect();
            gates.extend(ways.iter().map(|readback| Gate {
                readback: readback.clone(),
                alternatives: ways.iter().filter(|it| *it != readback).cloned().collect(),
                colour: (gate.weight == "hold-point").then_some(Colour::ALL[0]),
                decoys: gate.decoys.iter().map(|decoy| words(decoy)).collect(),
            }));
        }
    }
    gates.sort_by(|one, other| one.readback.cmp(&other.readback));
    gates.dedup_by(|one, other| one.readback == other.readback);
    // Readying a gate's decoys takes seconds: so many that they are spread over all jobs.
    let every = gates.len().div_ceil(MOST).max(1);
    let mut gates: Vec<Gate> = gates.into_iter().step_by(every).collect();
    for (number, gate) in gates.iter_mut().enumerate() {
        gate.colour = gate.colour.map(|_| Colour::ALL[number % Colour::ALL.len()]);
    }
    Ok(gates)
}

/// Gates that are measured.
const MOST: usize = 18;

impl Gate {
    /// All that is to be said.
    pub fn in_full(&self) -> String {
        self.with_colour(&self.readback)
    }

    fn with_colour(&self, words: &str) -> String {
        match self.colour {
            Some(colour) => format!("{words} {}", colour.word(Language::English)),
            None => words.to_owned(),
        }
    }
}

fn plain(text: &str) -> String {
    text.trim_end_matches('.').to_lowercase()
}

/// What a scene of a workshop holds around a readback without its being meant: by no rule of the decoys.
const AROUND: [&str; 26] = [
    "he said {}",
    "did you say {}",
    "i can't say {}",
    "don't tell me {}",
    "i wish {}",
    "nobody told me {}",
    "as soon as {} we go on",
    "make sure that {}",
    "check whether {}",
    "you must see that {}",
    "the book says {}",
    "it isn't true that {}",
    "i'm not sure {}",
    "suppose {}",
    "yesterday {}",
    "on the other one {}",
    "{} says the foreman",
    "{} on the other van",
    "{} last week",
    "{} but look again",
    "{} except on the left",
    "{} is what i should say",
    "{} so they told me",
    "{} or does it",
    "{} that's wrong",
    "{} no wait",
];

/// Near-misses of a readback: its decoys, what stands in no list, other gates' readbacks, other colours.
pub fn near_misses(gate: &Gate, all: &[Gate]) -> Vec<String> {
    let in_full = gate.in_full();
    let by_rule = words::decoys::decoys(Language::English, &in_full);
    let around = AROUND.iter().map(|around| around.replace("{}", &in_full));
    let others = all
        .iter()
        .filter(|other| {
            other.readback != gate.readback && !gate.alternatives.contains(&other.readback)
        })
        .map(Gate::in_full);
    let listed = gate.decoys.iter().cloned();
    let off_colour = gate.colour.iter().flat_map(|asked| {
        let others = Colour::ALL
            .into_iter()
            .filter(move |colour| colour != asked);
        let with =
            others.map(|colour| format!("{} {}", gate.readback, colour.word(Language::English)));
        std::iter::once(gate.readback.clone()).chain(with)
    });
    let all = by_rule
        .into_iter()
        .chain(listed)
        .chain(around)
        .chain(others)
        .chain(off_colour);
    let alternatives = gate.alternatives.iter();
    let alternatives: Vec<String> = alternatives.map(|it| gate.with_colour(it)).collect();
    all.filter(|words| *words != in_full && !alternatives.contains(words))
        .collect()
}

/// What is said before or after a readback, or both, with a pause between: then it isn't meant, or is taken back.
pub const SPLIT: [&str; 64] = [
    "{} … no wait it moved",
    "{} … is what the sheet says",
    "{} … so they told me",
    "{} … or so i thought",
    "{} … no",
    "{} … not yet",
    "{} … hang on",
    "{} … wait",
    "{} … no hang on that's wrong",
    "{} … at least on the other side",
    "{} … i think",
    "{} … i hope",
    "{} … or is it",
    "{} … isn't it",
    "{} … says the foreman",
    "{} … that's what he wants to hear",
    "{} … on the other van",
    "{} … last time anyway",
    "{} … but look again",
    "{} … as soon as i have checked",
    "{} … when i'm done",
    "{} … in a minute",
    "{} … almost",
    "{} … hold on it slipped",
    "{} … it's moving",
    "{} … that's not right",
    "{} … is that what i say",
    "{} … does that make sense",
    "{} … no it doesn't",
    "{} … except for one",
    "{} … that was yesterday",
    "{} … don't write that down",
    "he wants me to say … {}",
    "don't write down … {}",
    "i think … {}",
    "the old sheet said … {}",
    "is it right that … {}",
    "i can't say … {}",
    "it isn't true that … {}",
    "tell me when … {}",
    "make sure that … {}",
    "did he say … {}",
    "as soon as … {}",
    "i'm not sure if … {}",
    "nobody told me … {}",
    "yesterday … {}",
    "the book says … {}",
    "suppose … {}",
    "if … {}",
    "not … {}",
    "when … {}",
    "wait until … {}",
    "i wish … {}",
    "on the other van … {}",
    "have you checked that … {}",
    "you're supposed to say … {}",
    "what's it again … {} … something like that",
    "he said … {} … but i don't believe him",
    "if … {} … then we can go on",
    "is it … {} … or not",
    "let me see … {} … no it isn't",
    "the words are … {} … right",
    "i'd say … {} … but check it",
    "you say … {} … and then it goes on",
];

/// A readback with a pause after the first half of its words.
pub fn paused(readback: &str) -> String {
    let words: Vec<&str> = readback.split(' ').collect();
    let (first, second) = words.split_at(words.len() / 2);
    format!("{} … {}", first.join(" "), second.join(" "))
}
