//! The decoder over a tree of token sequences: each node continues its parent, so that what sequences
//! share is computed once.

use super::layers::{
    FeedForward, HEAD, HEADS, LayerNorm, Linear, WIDTH, add, dot, softmax, softmax_rows, widely,
};
use super::matrix::{Onto, Shape, multiply};
use super::projection::Projection;
use super::tokens::Token;
use super::weights::Weights;
use crate::RecogniserError;
use rayon::prelude::*;

/// Tokens that the model can have in one sequence.
pub const POSITIONS: usize = 448;

struct Layer {
    self_norm: LayerNorm,
    query_key_value: Linear,
    self_output: Linear,
    cross_norm: LayerNorm,
    cross_query: Linear,
    cross_key_value: Linear,
    cross_output: Linear,
    feed_forward: FeedForward,
}

/// The decoder.
pub struct Decoder {
    positions: Vec<f32>,
    layers: Vec<Layer>,
    norm: LayerNorm,
    /// Embeds tokens and tells how likely each is next.
    pub projection: Projection,
}

/// Keys and values of one utterance, by layer: computed once, used by every node.
pub struct Heard {
    key_values: Vec<Vec<f32>>,
    positions: usize,
}

impl Heard {
    /// How many positions of the encoder it covers.
    pub fn positions(&self) -> usize {
        self.positions
    }
}

/// A token in its sequence, computed.
struct Node {
    parent: Option<usize>,
    depth: usize,
    /// Keys and values of each layer.
    key_values: Vec<[f32; 2 * WIDTH]>,
}

/// The nodes computed for one utterance.
#[derive(Default)]
pub struct Tree {
    nodes: Vec<Node>,
}

impl Tree {
    /// How many nodes there are: the number of the next.
    pub fn len(&self) -> usize {
        self.nodes.len()
    }
}

impl Decoder {
    pub fn read(weights: &Weights, layers: usize) -> Result<Self, RecogniserError> {
        let layer = |n: usize| {
            let linear = |part: &str, outputs: usize| {
                Linear::read(
                    weights,
                    &format!("decoder/layer_{n}/{part}"),
                    WIDTH,
                    outputs,
                )
            };
            let norm = |part: &str| {
                LayerNorm::read(weights, &format!("decoder/layer_{n}/{part}/layer_norm"))
            };
            Ok(Layer {
                self_norm: norm("self_attention")?,
                query_key_value: linear("self_attention/linear_0", 3 * WIDTH)?,
                self_output: linear("self_attention/linear_1", WIDTH)?,
                cross_norm: norm("attention")?,
                cross_query: linear("attention/linear_0", WIDTH)?,
                cross_key_value: linear("attention/linear_1", 2 * WIDTH)?,
                cross_output: linear("attention/linear_2", WIDTH)?,
                feed_forward: FeedForward::read(weights, &format!("decoder/layer_{n}/ffn"))?,
            })
        };
        Ok(Self {
            positions: weights
                .array("decoder/position_encodings/encodings", &[POSITIONS, WIDTH])?,
            layers: (0..layers)
                .map(layer)
                .collect::<Result<_, RecogniserError>>()?,
            norm: LayerNorm::read(weights, "decoder/layer_norm")?,
            projection: Projection::read(weights)?,
        })
    }

    /// Keys and values of an encoded utterance.
    pub fn listen(&self, encoded: &[f32], threads: usize) -> Heard {
        let key_values = self
            .layers
            .iter()
            .map(|layer| layer.cross_key_value.apply(encoded, threads))
            .collect();
        Heard {
            key_values,
            positions: encoded.len() / WIDTH,
        }
    }

    /// Adds nodes to the tree, each a token after its parent, and returns their states, one row a node.
    /// A parent stands in the tree or earlier in the same batch, whose first node has the number
    /// [`Tree::len`] at the time of the call.
    pub fn extend(
        &self,
        heard: &Heard,
        tree: &mut Tree,
        batch: &[(Option<usize>, Token)],
        threads: usize,
    ) -> Vec<f32> {
        let first = tree.len();
        let mut state = vec![0.0; batch.len() * WIDTH];
        for (row, (parent, token)) in state.chunks_exact_mut(WIDTH).zip(batch) {
            let depth = parent
                .map_or(0, |parent| tree.nodes[parent].depth + 1)
                .min(POSITIONS - 1);
            self.projection.embed(*token, row);
            add(row, &self.positions[depth * WIDTH..]);
            let key_values = vec![[0.0; 2 * WIDTH]; self.layers.len()];
            tree.nodes.push(Node {
                parent: *parent,
                depth,
                key_values,
            });
        }
        for (number, layer) in self.layers.iter().enumerate() {
            let qkv = layer
                .query_key_value
                .apply(&layer.self_norm.apply(&state), threads);
            for (row, node) in qkv.chunks_exact(3 * WIDTH).zip(&mut tree.nodes[first..]) {
                node.key_values[number].copy_from_slice(&row[WIDTH..]);
            }
            let mut mixed = vec![0.0; state.len()];
            widely(
                #[inline(always)]
                || {
                    for (n, row) in mixed.chunks_exact_mut(WIDTH).enumerate() {
                        let query = &qkv[n * 3 * WIDTH..][..WIDTH];
                        attend_to_ancestors(tree, first + n, number, query, row);
                    }
                },
            );
            add(&mut state, &layer.self_output.apply(&mixed, threads));

            let query = layer
                .cross_query
                .apply(&layer.cross_norm.apply(&state), threads);
            let mixed = attend_to_sound(&query, &heard.key_values[number], heard.positions);
            add(&mut state, &layer.cross_output.apply(&mixed, threads));

            layer.feed_forward.add_to(&mut state, threads);
        }
        self.norm.apply(&state)
    }
}

/// A node attends to itself and those that it continues.
#[inline(always)]
fn attend_to_ancestors(tree: &Tree, node: usize, layer: usize, query: &[f32], mixed: &mut [f32]) {
    let chain: Vec<&[f32; 2 * WIDTH]> =
        std::iter::successors(Some(node), |node| tree.nodes[*node].parent)
            .map(|node| &tree.nodes[node].key_values[layer])
            .collect();
    let mut weights = vec![0.0; chain.len()];
    for head in 0..HEADS {
        let span = head * HEAD..(head + 1) * HEAD;
        for (weight, key_value) in weights.iter_mut().zip(&chain) {
            *weight = dot(&query[span.clone()], &key_value[span.clone()]) / (HEAD as f32).sqrt();
        }
        softmax(&mut weights);
        for (weight, key_value) in weights.iter().zip(&chain) {
            let value = &key_value[WIDTH + span.start..WIDTH + span.end];
            for (mixed, value) in mixed[span.clone()].iter_mut().zip(value) {
                *mixed += weight * value;
            }
        }
    }
}

/// Every node attends to the whole utterance; the heads are spread over the pool's threads.
fn attend_to_sound(query: &[f32], key_values: &[f32], positions: usize) -> Vec<f32> {
    let rows = query.len() / WIDTH;
    let sound = Shape::strided(positions, HEAD, 2 * WIDTH);
    let heads: Vec<Vec<f32>> = (0..HEADS)
        .into_par_iter()
        .map(|head| {
            let mut weights = vec![0.0; rows * positions];
            multiply(
                (&mut weights, Shape::dense(rows, positions)),
                (&query[head * HEAD..], Shape::strided(rows, HEAD, WIDTH)),
                (&key_values[head * HEAD..], sound.transposed()),
                1.0 / (HEAD as f32).sqrt(),
                Onto::Nothing,
                1,
            );
            softmax_rows(&mut weights, positions);
            let mut mixed = vec![0.0; rows * HEAD];
            multiply(
                (&mut mixed, Shape::dense(rows, HEAD)),
                (&weights, Shape::dense(rows, positions)),
                (&key_values[WIDTH + head * HEAD..], sound),
                1.0,
                Onto::Nothing,
                1,
            );
            mixed
        })
        .collect();
    let mut output = Vec::with_capacity(query.len());
    for row in 0..rows {
        for head in &heads {
            output.extend_from_slice(&head[row * HEAD..(row + 1) * HEAD]);
        }
    }
    output
}
