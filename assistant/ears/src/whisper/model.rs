//! The model as a whole: sound in, log-probabilities of token sequences out.

use super::decoder::{Decoder, Heard, Tree};
use super::encoder::{Encoder, POSITIONS};
use super::layers::WIDTH;
use super::mel::{FrontEnd, STEP};
use super::tokens::{Token, Vocabulary};
use super::weights::{Precision, Weights};
use crate::RecogniserError;
use std::path::Path;

/// Layers of encoder and decoder each.
const LAYERS: usize = 4;

/// Vocabulary, front end, encoder and decoder, with the threads they compute on.
pub struct Model {
    pub vocabulary: Vocabulary,
    pub decoder: Decoder,
    pub threads: usize,
    pub sha256: String,
    front_end: FrontEnd,
    encoder: Encoder,
    pool: rayon::ThreadPool,
}

impl Model {
    /// Reads `model.bin` and `vocabulary.txt` from a folder.
    pub fn read(
        folder: &Path,
        threads: usize,
        precision: Precision,
    ) -> Result<Self, RecogniserError> {
        let weights = Weights::open(&folder.join("model.bin"), precision)?;
        let vocabulary = Vocabulary::read(&folder.join("vocabulary.txt"))?;
        let threads = threads.max(1);
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let model = Self {
            encoder: Encoder::read(&weights, LAYERS)?,
            decoder: Decoder::read(&weights, LAYERS)?,
            sha256: weights.sha256()?,
            front_end: FrontEnd::new(),
            pool: pool
                .map_err(|error| weights.unusable(format!("no threads to be had: {error}")))?,
            vocabulary,
            threads,
        };
        if model.decoder.projection.tokens() != 51_864 {
            return Err(weights.unusable("it isn't the English tiny model"));
        }
        Ok(model)
    }

    /// Runs `work` on the model's own threads.
    pub fn on_threads<T: Send>(&self, work: impl FnOnce() -> T + Send) -> T {
        self.pool.install(work)
    }

    /// Encodes 16 kHz sound over a context of so many seconds (at most 30).
    pub fn encode(&self, samples: &[f32], seconds: f32) -> Vec<f32> {
        let frames = ((seconds * 100.0).ceil().max(2.0) as usize).min(2 * POSITIONS);
        let length = samples.len().min(frames * STEP);
        let features = self.front_end.features(&samples[..length], frames);
        self.encoder.encode(&features, self.threads)
    }

    /// What the decoder needs of an encoded utterance.
    pub fn listen(&self, encoded: &[f32]) -> Heard {
        self.decoder.listen(encoded, self.threads)
    }

    /// Starts a tree with the tokens that every transcript starts with; returns the state after them.
    pub fn root(&self, heard: &Heard, tree: &mut Tree) -> (usize, Vec<f32>) {
        let [first, second] = self.vocabulary.start;
        let number = tree.len();
        let batch = [(None, first), (Some(number), second)];
        let states = self.decoder.extend(heard, tree, &batch, self.threads);
        (number + 1, states[WIDTH..].to_vec())
    }

    /// Log-probability of each of `tokens` after those before it, and last of the transcript's end.
    pub fn forced(&self, heard: &Heard, tokens: &[Token]) -> Vec<f32> {
        let mut tree = Tree::default();
        let (root, mut states) = self.root(heard, &mut tree);
        let batch: Vec<_> = tokens
            .iter()
            .enumerate()
            .map(|(n, t)| (Some(root + n), *t))
            .collect();
        states.extend(self.decoder.extend(heard, &mut tree, &batch, self.threads));
        let projection = &self.decoder.projection;
        let next = projection.next(&states, 0);
        let following = tokens.iter().copied().chain([self.vocabulary.end]);
        following
            .zip(states.chunks_exact(WIDTH).zip(next))
            .map(|(token, (state, next))| projection.logit(state, token) - next.normaliser)
            .collect()
    }
}
