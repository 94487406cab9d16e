//! Priors kept on disk from one start of the program to the next: a phrase met for the first time costs
//! tens of milliseconds, a gate with all its decoys a second or more.
//!
//! A line a phrase: the SHA-256 of its token sequences, the prior, and the beginning of the SHA-256 of
//! both. A line that doesn't fit is ignored, and its phrase is computed again.

use super::tokens::Token;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fmt::Write as _;
use std::fs::{File, OpenOptions};
use std::io::{self, Write as _};
use std::path::Path;

/// Which phrase a prior belongs to.
pub type PhraseKey = [u8; 32];

/// The key of a phrase's token sequences.
pub fn key(sequences: &[Vec<Token>]) -> PhraseKey {
    let mut hasher = Sha256::new();
    for sequence in sequences {
        hasher.update((sequence.len() as u64).to_le_bytes());
        for token in sequence {
            hasher.update(token.to_le_bytes());
        }
    }
    hasher.finalize().into()
}

/// The file of the priors of one model.
#[derive(Debug)]
pub struct KeptPriors {
    file: File,
}

impl KeptPriors {
    /// Opens the file in this folder that belongs to the model, making both where they aren't there, and
    /// reads what is in it.
    ///
    /// # Errors
    /// What the system says when it can't be opened or read.
    pub fn open(folder: &Path, model_sha256: &str) -> io::Result<(Self, HashMap<PhraseKey, f32>)> {
        std::fs::create_dir_all(folder)?;
        // The number changes when what a prior is does.
        let path = folder.join(format!("priors-2-{model_sha256}.txt"));
        let known = match std::fs::read(&path) {
            Ok(text) => String::from_utf8_lossy(&text)
                .lines()
                .filter_map(read_line)
                .collect(),
            Err(error) if error.kind() == io::ErrorKind::NotFound => HashMap::new(),
            Err(error) => return Err(error),
        };
        let file = OpenOptions::new().append(true).create(true).open(&path)?;
        Ok((Self { file }, known))
    }

    /// Adds priors, in one write: two programs may add at once.
    ///
    /// # Errors
    /// What the system says when they can't be written.
    pub fn add(&mut self, priors: impl IntoIterator<Item = (PhraseKey, f32)>) -> io::Result<()> {
        let lines: String = priors
            .into_iter()
            .map(|(key, prior)| line(&key, prior))
            .collect();
        self.file.write_all(lines.as_bytes())
    }
}

fn line(key: &PhraseKey, prior: f32) -> String {
    let body = format!("{} {prior}", hexadecimal(key));
    let check = check(&body);
    format!("{body} {check}\n")
}

fn read_line(line: &str) -> Option<(PhraseKey, f32)> {
    let (body, given) = line.rsplit_once(' ')?;
    if check(body) != given {
        return None;
    }
    let (key, prior) = body.split_once(' ')?;
    let prior: f32 = prior.parse().ok().filter(|prior: &f32| prior.is_finite())?;
    let mut bytes = [0; 32];
    for (at, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(key.get(2 * at..2 * at + 2)?, 16).ok()?;
    }
    Some((bytes, prior))
}

fn check(body: &str) -> String {
    hexadecimal(&Sha256::digest(body)[..4])
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing to a string can't fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_read_again_to_the_last_bit_and_damage_is_left_out() {
        let folder = std::env::temp_dir().join(format!("priors-{}", std::process::id()));
        let phrases = [key(&[vec![1, 2], vec![3]]), key(&[vec![1], vec![2, 3]])];
        assert_ne!(phrases[0], phrases[1]);
        let priors = [-12.345_678_f32, -1.0e-7];
        let (mut kept, known) = KeptPriors::open(&folder, "model").unwrap();
        assert!(known.is_empty());
        kept.add(phrases.into_iter().zip(priors)).unwrap();
        let (_, known) = KeptPriors::open(&folder, "model").unwrap();
        assert_eq!(known, phrases.into_iter().zip(priors).collect());
        let path = folder.join("priors-2-model.txt");
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, text.replace("-12.3", "-1.23") + "half a li").unwrap();
        let (_, known) = KeptPriors::open(&folder, "model").unwrap();
        assert_eq!(known, HashMap::from([(phrases[1], priors[1])]));
        std::fs::remove_dir_all(folder).unwrap();
    }
}
