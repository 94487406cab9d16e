//! From states to how likely each token is next, over the whole vocabulary.
//!
//! The embedding is half of the model. It stays in half precision for the tokens that are asked for; of all
//! others only their part in the log-sum matters, and that is taken from weights rounded to eight bits. The
//! likeliest token of each block is computed again as exactly as those that are asked for, so that what makes
//! up most of the sum is exact.

use super::layers::{WIDTH, dot, greatest, sum_of_exp, widely};
use super::matrix::{Onto, Shape, multiply};
use super::quantized::{LANES, Quantized, States};
use super::tokens::Token;
use super::weights::{Precision, Weights};
use crate::RecogniserError;
use half::f16;
use half::slice::HalfFloatSliceExt;
use rayon::prelude::*;

/// Tokens in a block: what a thread computes at once, a whole number of groups of the rounded weights.
const BLOCK: usize = 512;

/// A block's likeliest token this far (natural logarithm) below the sum of all is left as it was rounded.
const NEGLIGIBLE: f32 = 9.0;

const EMBEDDING: &str = "decoder/embeddings/weight";

/// The embedding of the tokens.
pub struct Projection {
    /// Token after token.
    embedding: Vec<f16>,
    rounded: Option<Quantized>,
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
        let embedding = weights.halves(EMBEDDING, &[tokens, WIDTH])?;
        let rounded = match weights.precision {
            Precision::Single => None,
            Precision::Quantized => Some(Quantized::new(tokens, WIDTH, |token, row| {
                embedding[token * WIDTH..][..WIDTH].convert_to_f32_slice(row);
            })),
        };
        Ok(Self { embedding, rounded })
    }

    /// How many tokens there are, marks included.
    pub fn tokens(&self) -> usize {
        self.embedding.len() / WIDTH
    }

    /// Writes a token's embedding into `row`; zeros for a token that doesn't exist.
    pub fn embed(&self, token: Token, row: &mut [f32]) {
        let start = token as usize * WIDTH;
        match self.embedding.get(start..start + WIDTH) {
            Some(halves) => halves.convert_to_f32_slice(row),
            None => row.fill(0.0),
        }
    }

    /// The logit of a token after a state.
    pub fn logit(&self, state: &[f32], token: Token) -> f32 {
        let mut row = [0.0; WIDTH];
        self.embed(token, &mut row);
        widely(
            #[inline(always)]
            || dot(state, &row),
        )
    }

    /// What follows each of the states; the likeliest token is looked for among those below `limit`.
    pub fn next(&self, states: &[f32], limit: Token) -> Vec<Next> {
        let rows = states.len() / WIDTH;
        let nothing = Next {
            normaliser: f32::NEG_INFINITY,
            likeliest: (0, f32::NEG_INFINITY),
        };
        let small = States::new(states, WIDTH, rows, WIDTH);
        let tokens = self.tokens();
        let by_block: Vec<Vec<OfBlock>> = (0..tokens.div_ceil(BLOCK))
            .into_par_iter()
            .map_init(Buffers::default, |buffers, number| {
                let first = number * BLOCK;
                let count = BLOCK.min(tokens - first);
                let logits = match &self.rounded {
                    Some(rounded) => buffers.rounded(rounded, &small, rows, first, count),
                    None => {
                        let block = &self.embedding[first * WIDTH..][..count * WIDTH];
                        buffers.single(block, states, rows)
                    }
                };
                let mut found = Vec::with_capacity(rows);
                widely(
                    #[inline(always)]
                    || {
                        for logits in logits.chunks_exact(count) {
                            found.push(OfBlock::new(logits, first as Token, limit));
                        }
                    },
                );
                found
            })
            .collect();
        // Joined block after block, in their order: joined as threads happen to finish, the last digit of
        // the sum would differ from one run to the next.
        let mut found = vec![nothing; rows];
        for (row, (next, state)) in found.iter_mut().zip(states.chunks_exact(WIDTH)).enumerate() {
            let own = by_block.iter().filter_map(|block| block.get(row));
            for block in own.clone() {
                *next = next.joined(block.next);
            }
            if self.rounded.is_some() {
                *next = self.sharpened(*next, own, state, limit);
            }
        }
        found
    }

    /// The same with the blocks' likeliest tokens computed exactly.
    fn sharpened<'a>(
        &self,
        next: Next,
        blocks: impl Iterator<Item = &'a OfBlock>,
        state: &[f32],
        limit: Token,
    ) -> Next {
        let mut correction = 0.0;
        let mut likeliest = (next.likeliest.0, f32::NEG_INFINITY);
        for block in blocks {
            let (token, rounded) = block.highest;
            if rounded < next.normaliser - NEGLIGIBLE {
                continue;
            }
            let exact = self.logit(state, token);
            correction += (exact - next.normaliser).exp() - (rounded - next.normaliser).exp();
            if token < limit && exact > likeliest.1 {
                likeliest = (token, exact);
            }
        }
        if likeliest.1 == f32::NEG_INFINITY {
            likeliest.1 = self.logit(state, likeliest.0);
        }
        Next {
            normaliser: next.normaliser + correction.max(-0.5).ln_1p(),
            likeliest,
        }
    }
}

/// What one block of tokens adds for one state.
struct OfBlock {
    next: Next,
    /// The likeliest token of all in the block.
    highest: (Token, f32),
}

impl OfBlock {
    #[inline(always)]
    fn new(logits: &[f32], first: Token, limit: Token) -> Self {
        let of = |logits: &[f32], best: f32| {
            let at = logits.iter().position(|logit| *logit == best);
            (first + at.unwrap_or(0) as Token, best)
        };
        let best = greatest(logits);
        let highest = of(logits, best);
        let below = (limit.saturating_sub(first) as usize).min(logits.len());
        let likeliest = if highest.0 < limit {
            highest
        } else {
            of(&logits[..below], greatest(&logits[..below]))
        };
        Self {
            next: Next {
                normaliser: best + sum_of_exp(logits, best).ln(),
                likeliest,
            },
            highest,
        }
    }
}

impl Next {
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
    fn rounded(
        &mut self,
        weights: &Quantized,
        states: &States,
        rows: usize,
        first: usize,
        count: usize,
    ) -> &[f32] {
        self.logits.resize(rows * count, 0.0);
        let groups = first / LANES..(first + count).div_ceil(LANES);
        weights.multiply(states, 0..rows, groups, &mut self.logits, count);
        &self.logits
    }

    fn single(&mut self, block: &[f16], states: &[f32], rows: usize) -> &[f32] {
        let tokens = block.len() / WIDTH;
        self.widened.resize(block.len(), 0.0);
        block.convert_to_f32_slice(&mut self.widened);
        self.logits.resize(rows * tokens, 0.0);
        multiply(
            (&mut self.logits, Shape::dense(rows, tokens)),
            (states, Shape::dense(rows, WIDTH)),
            (&self.widened, Shape::dense(tokens, WIDTH).transposed()),
            1.0,
            Onto::Nothing,
            1,
        );
        &self.logits
    }
}
