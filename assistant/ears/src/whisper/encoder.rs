//! Sound features to states, once per utterance.

use super::layers::{FeedForward, HEAD, HEADS, LayerNorm, Linear, WIDTH, add, gelu, softmax_rows};
use super::matrix::{Onto, Shape, multiply};
use super::mel::BANDS;
use super::weights::Weights;
use crate::RecogniserError;
use rayon::prelude::*;

/// Positions that the model knows: 30 s at 50 a second.
pub const POSITIONS: usize = 1500;

struct Layer {
    norm: LayerNorm,
    query_key_value: Linear,
    output: Linear,
    feed_forward: FeedForward,
}

/// The encoder.
pub struct Encoder {
    first: Linear,
    second: Linear,
    positions: Vec<f32>,
    layers: Vec<Layer>,
    norm: LayerNorm,
}

impl Encoder {
    pub fn read(weights: &Weights, layers: usize) -> Result<Self, RecogniserError> {
        let layer = |n: usize| {
            let attention = format!("encoder/layer_{n}/self_attention");
            Ok(Layer {
                norm: LayerNorm::read(weights, &format!("{attention}/layer_norm"))?,
                query_key_value: Linear::read(
                    weights,
                    &format!("{attention}/linear_0"),
                    WIDTH,
                    3 * WIDTH,
                )?,
                output: Linear::read(weights, &format!("{attention}/linear_1"), WIDTH, WIDTH)?,
                feed_forward: FeedForward::read(weights, &format!("encoder/layer_{n}/ffn"))?,
            })
        };
        Ok(Self {
            first: Linear::read_convolution(weights, "encoder/conv1", BANDS, WIDTH)?,
            second: Linear::read_convolution(weights, "encoder/conv2", WIDTH, WIDTH)?,
            positions: weights
                .array("encoder/position_encodings/encodings", &[POSITIONS, WIDTH])?,
            layers: (0..layers)
                .map(layer)
                .collect::<Result<_, RecogniserError>>()?,
            norm: LayerNorm::read(weights, "encoder/layer_norm")?,
        })
    }

    /// One state of [`WIDTH`] for every two frames of `features`, at most [`POSITIONS`].
    pub fn encode(&self, features: &[f32], threads: usize) -> Vec<f32> {
        let frames = (features.len() / BANDS).min(2 * POSITIONS) & !1;
        let padded = with_silent_frames(&features[..frames * BANDS], BANDS);
        let mut state = self.first.apply_strided(&padded, frames, BANDS, threads);
        gelu(&mut state);
        let padded = with_silent_frames(&state, WIDTH);
        let mut state = self
            .second
            .apply_strided(&padded, frames / 2, 2 * WIDTH, threads);
        gelu(&mut state);
        add(&mut state, &self.positions);
        for layer in &self.layers {
            let qkv = layer
                .query_key_value
                .apply(&layer.norm.apply(&state), threads);
            add(&mut state, &layer.output.apply(&attend(&qkv), threads));
            layer.feed_forward.add_to(&mut state, threads);
        }
        self.norm.apply(&state)
    }
}

/// A row of zeros before the first and after the last, for the convolutions' edges.
fn with_silent_frames(rows: &[f32], width: usize) -> Vec<f32> {
    let mut padded = vec![0.0; rows.len() + 2 * width];
    padded[width..width + rows.len()].copy_from_slice(rows);
    padded
}

/// Every position attends to every position; the heads are spread over the pool's threads.
fn attend(qkv: &[f32]) -> Vec<f32> {
    let rows = qkv.len() / (3 * WIDTH);
    let view = Shape::strided(rows, HEAD, 3 * WIDTH);
    let heads: Vec<Vec<f32>> = (0..HEADS)
        .into_par_iter()
        .map(|head| {
            let (query, key, value) = (
                &qkv[head * HEAD..],
                &qkv[WIDTH + head * HEAD..],
                &qkv[2 * WIDTH + head * HEAD..],
            );
            let mut scores = vec![0.0; rows * rows];
            multiply(
                (&mut scores, Shape::dense(rows, rows)),
                (query, view),
                (key, view.transposed()),
                1.0 / (HEAD as f32).sqrt(),
                Onto::Nothing,
                1,
            );
            softmax_rows(&mut scores, rows);
            let mut mixed = vec![0.0; rows * HEAD];
            multiply(
                (&mut mixed, Shape::dense(rows, HEAD)),
                (&scores, Shape::dense(rows, rows)),
                (value, view),
                1.0,
                Onto::Nothing,
                1,
            );
            mixed
        })
        .collect();
    let mut output = Vec::with_capacity(rows * WIDTH);
    for row in 0..rows {
        for head in &heads {
            output.extend_from_slice(&head[row * HEAD..(row + 1) * HEAD]);
        }
    }
    output
}
