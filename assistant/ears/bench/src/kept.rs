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
    /// How long it took from the end of the utterance, on one thread.
    pub milliseconds: f32,
}

/// Changes whenever what is kept would come out otherwise: the ear, the noises, the scenes.
const GENERATION: u32 = 11;

/// The key of a take: its own fields and what is listened for.
pub fn key(take: &Take, listened_for: &ears::PhraseSet) -> String {
    let text = serde_json::json!([GENERATION, take, listened_for]).to_string();
    let digest = Sha256::digest(text.as_bytes());
    digest[..12]
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// The file of what was heard.
pub struct Kept {
    file: File,
    /// By key.
    pub heard: HashMap<String, Heard>,
}

impl Kept {
    /// Opens the file, making it and its folder where they aren't there. A line that was cut off is left out.
    ///
    /// # Errors
    /// What the system says.
    pub fn open(path: &Path) -> io::Result<Self> {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        let mut heard = HashMap::new();
        if path.exists() {
            for line in BufReader::new(File::open(path)?).lines() {
                if let Ok(one) = serde_json::from_str::<Heard>(&line?) {
                    heard.insert(one.key.clone(), one);
                }
            }
        }
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
