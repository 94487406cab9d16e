//! From states to how likely each token is next, over the whole vocabulary.
//!
//! The embedding is half of the model. It stays in half precision and is widened block by block on the
//! way, so that it is never in memory in full; of the logits only their log-sum, the likeliest, and those
//! that are asked for are kept.

use super::layers::{WIDTH, greatest, sum_of_exp};
use super::matrix::{Onto, Shape, multiply};
use super::tokens::Token;
use super::weights::Weights;
use crate::RecogniserError;
use half::f16;
use half::slice::HalfFloatSliceExt;
use rayon::prelude::*;

/// Tokens in a block: 512 × 384 numbers of four bytes stay in a core's own cache.
const BLOCK: usize = 512;

const EMBEDDING: &str = "decoder/embeddings/weight";

/// The embedding of the tokens.
pub struct Projection {
    /// One block after the other; in each, channel after channel, the tokens side by side.
    blocks: Vec<Vec<f16>>,
}

/// What follows one state.
#[derive(Debug, Clone, Copy)]
pub struct Next {
    /// Log of the sum of all logits' exponentials: what a logit has to be lowered by.
    pub normaliser: f32,
    /// The likeliest token among those below the limit that was asked for, with its logit.
    pub likeliest: (Token, f32),
}

impl Projection {
    pub fn read(weights: &Weights) -> Result<Self, RecogniserError> {
        let tokens = weights.dimensions(EMBEDDING)?.first().copied().unwrap_or(0);
        let given = weights.halves(EMBEDDING, &[tokens, WIDTH])?;
        let blocks = given
            .chunks(BLOCK * WIDTH)
            .map(|rows| {
                let count = rows.len() / WIDTH;
                let mut block = Vec::with_capacity(rows.len());
                for channel in 0..WIDTH {
                    block.extend((0..count).map(|token| rows[token * WIDTH + channel]));
                }
                block
            })
            .collect();
        Ok(Self { blocks })
    }

    /// How many tokens there are, marks included.
    pub fn tokens(&self) -> usize {
        self.blocks.iter().map(|block| block.len() / WIDTH).sum()
    }

    /// Writes a token's embedding into `row`; zeros for a token that doesn't exist.
    pub fn embed(&self, token: Token, row: &mut [f32]) {
        for (value, channel) in row.iter_mut().zip(self.channels(token)) {
            *value = channel;
        }
    }

    /// The logit of a token after a state.
    pub fn logit(&self, state: &[f32], token: Token) -> f32 {
        state
            .iter()
            .zip(self.channels(token))
            .map(|(state, channel)| state * channel)
            .sum()
    }

    fn channels(&self, token: Token) -> impl Iterator<Item = f32> {
        let (block, at) = (token as usize / BLOCK, token as usize % BLOCK);
        let block: &[f16] = self.blocks.get(block).map_or(&[], Vec::as_slice);
        block
            .iter()
            .skip(at)
            .step_by((block.len() / WIDTH).max(1))
            .map(|half| half.to_f32())
    }

    /// What follows each of the states; the likeliest token is looked for among those below `limit`.
    pub fn next(&self, states: &[f32], limit: Token) -> Vec<Next> {
        let rows = states.len() / WIDTH;
        let nothing = Next {
            normaliser: f32::NEG_INFINITY,
            likeliest: (0, f32::NEG_INFINITY),
        };
        let by_block: Vec<Vec<Next>> = self
            .blocks
            .par_iter()
            .enumerate()
            .map_init(Buffers::default, |buffers, (number, block)| {
                let tokens = block.len() / WIDTH;
                let first = (number * BLOCK) as Token;
                buffers
                    .logits(block, states, rows)
                    .chunks_exact(tokens)
                    .map(|logits| Next::of(logits, first, limit))
                    .collect()
            })
            .collect();
        // Joined block after block, in their order: joined as threads happen to finish, the last digit of
        // the sum would differ from one run to the next.
        let mut found = vec![nothing; rows];
        for block in by_block {
            for (next, of_block) in found.iter_mut().zip(block) {
                *next = next.joined(of_block);
            }
        }
        found
    }
}

impl Next {
    fn of(logits: &[f32], first: Token, limit: Token) -> Self {
        let highest = greatest(logits);
        let normaliser = highest + sum_of_exp(logits, highest).ln();
        let below = (limit.saturating_sub(first) as usize).min(logits.len());
        let best = greatest(&logits[..below]);
        let at = logits[..below]
            .iter()
            .position(|logit| *logit == best)
            .unwrap_or(0);
        Self {
            normaliser,
            likeliest: (first + at as Token, best),
        }
    }

    fn joined(self, other: Self) -> Self {
        let (high, low) = if self.normaliser > other.normaliser {
            (self.normaliser, other.normaliser)
        } else {
            (other.normaliser, self.normaliser)
        };
        let normaliser = if low == f32::NEG_INFINITY {
            high
        } else {
            high + (low - high).exp().ln_1p()
        };
        let likeliest = if self.likeliest.1 >= other.likeliest.1 {
            self.likeliest
        } else {
            other.likeliest
        };
        Self {
            normaliser,
            likeliest,
        }
    }
}

/// Room that a thread uses again for each block.
#[derive(Default)]
struct Buffers {
    widened: Vec<f32>,
    logits: Vec<f32>,
}

impl Buffers {
    fn logits(&mut self, block: &[f16], states: &[f32], rows: usize) -> &[f32] {
        let tokens = block.len() / WIDTH;
        self.widened.resize(block.len(), 0.0);
        block.convert_to_f32_slice(&mut self.widened);
        self.logits.resize(rows * tokens, 0.0);
        multiply(
            (&mut self.logits, Shape::dense(rows, tokens)),
            (states, Shape::dense(rows, WIDTH)),
            (&self.widened, Shape::dense(WIDTH, tokens)),
            1.0,
            Onto::Nothing,
            1,
        );
        &self.logits
    }
}
