//! The shipped readbacks, and what is said beside them: near-misses that stand in no list of decoys.

use serde::Deserialize;
use std::io;
use std::path::{Path, PathBuf};

/// A gate as far as hearing is concerned.
#[derive(Debug, Clone)]
pub struct Gate {
    /// The readback's words.
    pub readback: String,
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
    readback: String,
    #[serde(default)]
    decoys: Vec<String>,
}

/// All gates of the procedures and parts in a folder, each readback once, in the order of their words.
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
        gates.extend(file.gate.iter().map(|gate| Gate {
            readback: words(&gate.readback),
            decoys: gate.decoys.iter().map(|decoy| words(decoy)).collect(),
        }));
    }
    gates.sort_by(|one, other| one.readback.cmp(&other.readback));
    gates.dedup_by(|one, other| one.readback == other.readback);
    Ok(gates)
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

/// Near-misses of a readback that its decoys don't hold, other gates' readbacks among them.
pub fn near_misses(gate: &Gate, all: &[Gate]) -> Vec<String> {
    let by_rule = words::decoys::decoys(&gate.readback);
    let around = AROUND
        .iter()
        .map(|around| around.replace("{}", &gate.readback));
    let others = all
        .iter()
        .filter(|other| other.readback != gate.readback)
        .map(|other| other.readback.clone());
    let listed = gate.decoys.iter().cloned();
    by_rule
        .into_iter()
        .chain(listed)
        .chain(around)
        .chain(others)
        .collect()
}
