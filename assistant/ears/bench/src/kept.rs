//! What was heard, kept on disk take by take, so that a run can be continued and a model fitted without hearing
//! everything again.

use super::material::Take;
use ears::Hypothesis;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader, Write};
use std::ops::Range;
use std::path::Path;

/// A take and what the ear made of it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Heard {
    /// Of the take and of everything that it is heard with.
    pub key: String,
    /// What was to be heard.
    pub take: Take,
    /// What it means in its context; none where it means nothing.
    pub truth: Option<String>,
    /// Length of the sound.
    pub seconds: f32,
    /// How many milliseconds went into what was put before the ear.
    #[serde(default)]
    pub before: f32,
    /// One for each turn in it.
    pub answers: Vec<Answer>,
}

/// A turn heard.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Answer {
    /// What came out.
    pub hypothesis: Option<Hypothesis>,
    /// Whether something else was said within a moment before it, by the end-pointer.
    #[serde(default)]
    pub beside: bool,
    /// Where in it somebody speaks, in samples: pieces of speech with pauses between them.
    #[serde(default)]
    pub pieces: Vec<Range<usize>>,
    /// What was heard without one of its ends, where a readback was heard in several pieces.
    #[serde(default)]
    pub parts: Vec<Hypothesis>,
    /// What that means in the take's context.
    pub meaning: Option<String>,
    /// What was heard at its pauses, where a command is taken there.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub looks: Vec<Look>,
    /// How long it took from the end of the utterance, on one thread.
    pub milliseconds: f32,
}

/// What was heard at a pause, while more might have been said.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Look {
    /// What came out.
    pub hypothesis: Hypothesis,
    /// What that means in the take's context.
    pub meaning: Option<String>,
    /// Whether something else that may be said begins like it.
    pub may_go_on: bool,
}

/// Changes whenever what is kept would come out otherwise: the ear, the noises, the scenes.
const GENERATION: u32 = 13;

/// The key of a take: its own fields and what is listened for.
pub fn key(take: &Take, listened_for: &ears::PhraseSet) -> String {
    let text = serde_json::json!([GENERATION, take, listened_for]).to_string();
    let digest = Sha256::digest(text.as_bytes());
    digest[..12]
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// One of so many shares of the takes, so that several machines can hear them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    /// Which one, from 1.
    pub number: u64,
    /// How many there are.
    pub of: u64,
}

impl Share {
    /// Reads `2/5`.
    ///
    /// # Errors
    /// When it isn't one of so many.
    pub fn parse(text: &str) -> Result<Self, String> {
        let share = text.split_once('/').and_then(|(number, of)| {
            let (number, of) = (number.parse().ok()?, of.parse().ok()?);
            (1..=of).contains(&number).then_some(Self { number, of })
        });
        share.ok_or(format!("--share takes one like 2/5, and not `{text}`"))
    }

    /// Whether a take belongs to it. Everything by one voice in the same words does, so that no clip is spoken on two machines.
    pub fn holds(self, take: &Take) -> bool {
        let digest = Sha256::digest(format!("{} {}", take.speaker, take.words).as_bytes());
        let number = digest[..8]
            .iter()
            .fold(0, |sum, byte| sum << 8 | u64::from(*byte));
        number % self.of + 1 == self.number
    }
}

/// The file of what was heard.
pub struct Kept {
    file: File,
    /// By key.
    pub heard: HashMap<String, Heard>,
}

impl Kept {
    /// Opens `NAME.jsonl` in a folder, making both where they aren't there; a share of the takes has a file of its own
    /// (`NAME-2-of-5.jsonl`). The other shares are read as well. A line that was cut off is left out.
    ///
    /// # Errors
    /// What the system says.
    pub fn open(folder: &Path, name: &str, share: Option<Share>) -> io::Result<Self> {
        std::fs::create_dir_all(folder)?;
        let mut heard = HashMap::new();
        let shares = format!("{name}-");
        for file in std::fs::read_dir(folder)? {
            let file = file?.path();
            let stem = file.file_stem().and_then(|stem| stem.to_str());
            let own = stem.is_some_and(|stem| {
                stem == name || stem.starts_with(&shares) && stem.contains("-of-")
            });
            if !own || file.extension().is_none_or(|end| end != "jsonl") {
                continue;
            }
            for line in BufReader::new(File::open(file)?).lines() {
                if let Ok(one) = serde_json::from_str::<Heard>(&line?) {
                    heard.insert(one.key.clone(), one);
                }
            }
        }
        let file = match share {
            Some(Share { number, of }) => format!("{name}-{number}-of-{of}.jsonl"),
            None => format!("{name}.jsonl"),
        };
        let path = folder.join(file);
        let mut file = OpenOptions::new().append(true).create(true).open(path)?;
        file.write_all(b"\n")?;
        Ok(Self { file, heard })
    }

    /// Adds one.
    ///
    /// # Errors
    /// What the system says.
    pub fn add(&mut self, one: Heard) -> io::Result<()> {
        let line = serde_json::to_string(&one).map_err(io::Error::other)?;
        self.file.write_all(format!("{line}\n").as_bytes())?;
        self.heard.insert(one.key.clone(), one);
        Ok(())
    }
}
