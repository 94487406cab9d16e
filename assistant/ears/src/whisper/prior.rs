//! How readily the model writes a phrase on its own account: its log-likelihood given noise alone.
//!
//! Where the sound says little the model falls back on what is often written, "yes" and "no" first.
//! Taking off half of this keeps noisy sound from collapsing onto them.

use super::decoder::Heard;
use super::kept::{KeptPriors, PhraseKey, key};
use super::model::Model;
use super::search::{Width, search};
use super::tokens::Token;
use super::trie::Trie;
use std::collections::HashMap;
use std::io;
use std::path::Path;

/// The share of the prior that is taken off: measured best at a half.
pub const SHARE: f32 = 0.5;

const NOISE_SECONDS: f32 = 1.5;
const CONTEXT_SECONDS: f32 = 3.0;

/// The priors computed so far.
pub struct Priors {
    noises: Vec<Heard>,
    known: HashMap<PhraseKey, f32>,
    kept: Option<KeptPriors>,
}

impl Priors {
    pub fn new(model: &Model) -> Self {
        let noises = [white_noise(), pink_noise()];
        let heard = |noise: Vec<f32>| model.listen(&model.encode(&noise, CONTEXT_SECONDS));
        Self {
            noises: noises.into_iter().map(heard).collect(),
            known: HashMap::new(),
            kept: None,
        }
    }

    /// Takes those that are kept in this folder, and keeps there what is computed from now on.
    pub fn keep_in(&mut self, folder: &Path, model_sha256: &str) -> io::Result<()> {
        let (kept, known) = KeptPriors::open(folder, model_sha256)?;
        self.known.extend(known);
        self.kept = Some(kept);
        Ok(())
    }

    /// The prior of a phrase, where it was computed.
    pub fn known(&self, sequences: &[Vec<Token>]) -> Option<f32> {
        self.known.get(&key(sequences)).copied()
    }

    /// Computes the priors of those phrases that have none yet.
    pub fn learn<'a>(
        &mut self,
        model: &Model,
        phrases: impl IntoIterator<Item = &'a [Vec<Token>]>,
    ) {
        let new: Vec<&[Vec<Token>]> = phrases
            .into_iter()
            .filter(|phrase| !self.known.contains_key(&key(phrase)))
            .collect();
        if new.is_empty() {
            return;
        }
        let trie = Trie::new((0..).zip(new.iter().copied()));
        let mut sums = vec![0.0; new.len()];
        for noise in &self.noises {
            let (scores, _) = search(model, noise, &trie, Width::ALL, 0);
            for (sum, score) in sums.iter_mut().zip(scores) {
                *sum += score.scored / self.noises.len() as f32;
            }
        }
        let learnt: Vec<(PhraseKey, f32)> =
            new.iter().map(|phrase| key(phrase)).zip(sums).collect();
        if let Some(kept) = &mut self.kept
            && kept.add(learnt.iter().copied()).is_err()
        {
            // They are computed again next time: slower, not wrong.
            self.kept = None;
        }
        self.known.extend(learnt);
    }
}

/// Evenly spread over −0.1 to 0.1, always the same (D. Knuth's MMIX generator, "The Art of Computer
/// Programming", volume 2, section 3.3.4, table 1).
fn white_noise() -> Vec<f32> {
    let mut state = 1u64;
    (0..(NOISE_SECONDS * 16_000.0) as usize)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((state >> 40) as f32 / (1u64 << 24) as f32 - 0.5) * 0.2
        })
        .collect()
}

/// White noise through three leaky sums: 3 dB less an octave within 0.5 dB from 50 Hz up (P. Kellet's
/// economy filter).
fn pink_noise() -> Vec<f32> {
    let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
    let filter = |white: f32| {
        a = 0.997_65 * a + white * 0.099_046;
        b = 0.963 * b + white * 0.296_516_4;
        c = 0.57 * c + white * 1.052_691_3;
        (a + b + c + white * 0.1848) * 0.25
    };
    white_noise().into_iter().map(filter).collect()
}
