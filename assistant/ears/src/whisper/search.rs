//! A beam over the tree of what may be said now, level by level, with a free transcription beside it that
//! shares each level's arithmetic.

use super::decoder::{Heard, Tree};
use super::layers::WIDTH;
use super::model::Model;
use super::tokens::Token;
use super::trie::Trie;

/// How far a search goes.
#[derive(Debug, Clone, Copy)]
pub struct Width {
    /// How many beginnings are carried from one token to the next.
    pub beam: usize,
    /// A beginning so much less likely (natural logarithm) than its level's best is dropped.
    pub below_best: f32,
}

impl Width {
    /// Every phrase is scored in full.
    pub const ALL: Self = Self {
        beam: usize::MAX,
        below_best: f32::INFINITY,
    };
}

/// Most rows computed at once when the beam has no bound: limits memory, not results.
const BATCH: usize = 64;

/// What is known of a phrase's log-likelihood.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// Log-sum over the variants that were scored to their end.
    pub scored: f32,
    /// Tokens of the likeliest variant, the end among them.
    pub tokens: usize,
    /// Log-likelihood of the least likely token of that variant.
    pub weakest: f32,
    best: f32,
    /// Log-likelihood of its words, before anything says that they end.
    body: f32,
    /// The likeliest of its beginnings of one token, of two, and so on, dropped ones included.
    beginnings: Vec<f32>,
}

impl Default for Score {
    fn default() -> Self {
        let none = f32::NEG_INFINITY;
        Self {
            scored: none,
            tokens: 1,
            weakest: none,
            best: none,
            body: none,
            beginnings: Vec::new(),
        }
    }
}

impl Score {
    /// How far this phrase stood above one that was dropped on the way, when it was last seen.
    pub fn above_dropped(&self, other: &Self) -> f32 {
        let Some(last) = other.beginnings.last() else {
            return f32::INFINITY;
        };
        self.beginnings
            .get(other.beginnings.len() - 1)
            .map_or(self.best, |own| own.max(self.best))
            - last
    }

    /// How likely it is that nothing follows its words; a full stop is nothing.
    pub fn ending(&self) -> f32 {
        (self.scored - self.body).min(0.0)
    }

    fn begins(&mut self, level: usize, log_likelihood: f32) {
        if self.beginnings.len() < level {
            self.beginnings.resize(level, f32::NEG_INFINITY);
        }
        if let Some(best) = self.beginnings.get_mut(level - 1) {
            *best = best.max(log_likelihood);
        }
    }
}

/// What was heard without any grammar.
#[derive(Debug, Clone, Default)]
pub struct Free {
    /// The tokens, without marks.
    pub tokens: Vec<Token>,
    /// Log-likelihood, the end's included where it was reached.
    pub log_likelihood: f32,
}

/// The free transcription on its way.
struct Transcription {
    found: Free,
    most_tokens: usize,
    next: Option<Token>,
    node: usize,
}

impl Transcription {
    fn take(&mut self, (token, log_probability): (Token, f32), end: Token) {
        self.found.log_likelihood += log_probability;
        if token == end {
            return;
        }
        self.found.tokens.push(token);
        let goes_on = self.found.tokens.len() < self.most_tokens && !repeats(&self.found.tokens);
        self.next = goes_on.then_some(token);
    }
}

/// Whether the transcription has fallen into saying the same again and again, as it does over a short
/// context: its last two tokens or more stand there twice, or its last token three times.
fn repeats(tokens: &[Token]) -> bool {
    let length = tokens.len();
    let thrice = tokens
        .last_chunk::<3>()
        .is_some_and(|[a, b, c]| a == b && b == c);
    let twice = |part: usize| tokens[length - part..] == tokens[length - 2 * part..length - part];
    thrice || (2..=length / 2).any(twice)
}

/// A beginning that is carried on: its branch in the trie, its node in the decoder's tree, and its
/// log-likelihood.
#[derive(Clone, Copy)]
struct Beginning {
    branch: usize,
    parent: usize,
    token: Token,
    log_likelihood: f32,
    /// That of its least likely token alone.
    weakest: f32,
}

/// Scores of the trie's phrases by number, and a free transcription of at most so many tokens.
pub fn search(
    model: &Model,
    heard: &Heard,
    trie: &Trie,
    width: Width,
    free_tokens: usize,
) -> (Vec<Score>, Free) {
    let (decoder, end) = (&model.decoder, model.vocabulary.end);
    let mut scores = vec![Score::default(); trie.phrases];
    let mut tree = Tree::default();
    let (root, state) = model.root(heard, &mut tree);
    let next = decoder.projection.next(&state, end)[0];
    let mut free = Transcription {
        found: Free::default(),
        most_tokens: free_tokens,
        next: None,
        node: root,
    };
    free.take((next.likeliest.0, next.likeliest.1 - next.normaliser), end);

    let start = Beginning {
        branch: 0,
        parent: root,
        token: 0,
        log_likelihood: 0.0,
        weakest: 0.0,
    };
    let reached = Reached {
        node: root,
        state: &state,
        normaliser: next.normaliser,
        level: 0,
    };
    let mut candidates = follow(model, trie, start, reached, &mut scores);
    let mut level = 1;
    while !candidates.is_empty() || free.next.is_some() {
        let beam = narrow(candidates, trie, width, level, &mut scores);
        candidates = Vec::new();
        let mut batch: Vec<(Option<usize>, Token)> = Vec::with_capacity(BATCH);
        let mut rows = beam.chunks(BATCH);
        loop {
            let chunk = rows.next().unwrap_or_default();
            batch.clear();
            let free_token = free.next.take();
            batch.extend(free_token.map(|token| (Some(free.node), token)));
            batch.extend(
                chunk
                    .iter()
                    .map(|beginning| (Some(beginning.parent), beginning.token)),
            );
            if batch.is_empty() {
                break;
            }
            let mut node = tree.len();
            let states = decoder.extend(heard, &mut tree, &batch, model.threads);
            let next = decoder.projection.next(&states, end + 1);
            let mut results = states.chunks_exact(WIDTH).zip(next);
            if let Some((_, next)) = free_token.and_then(|_| results.next()) {
                free.node = node;
                node += 1;
                free.take((next.likeliest.0, next.likeliest.1 - next.normaliser), end);
            }
            for (beginning, (state, next)) in chunk.iter().zip(results) {
                let reached = Reached {
                    node,
                    state,
                    normaliser: next.normaliser,
                    level,
                };
                candidates.extend(follow(model, trie, *beginning, reached, &mut scores));
                node += 1;
            }
            if chunk.len() < BATCH {
                break;
            }
        }
        level += 1;
    }
    (scores, free.found)
}

/// What the decoder made of a beginning: its node, the state there, the log-sum of all logits, and how many
/// tokens lead there.
struct Reached<'a> {
    node: usize,
    state: &'a [f32],
    normaliser: f32,
    level: usize,
}

/// Scores what may end after a beginning and returns what may follow.
fn follow(
    model: &Model,
    trie: &Trie,
    beginning: Beginning,
    reached: Reached<'_>,
    scores: &mut [Score],
) -> Vec<Beginning> {
    let Reached {
        node,
        state,
        normaliser,
        level,
    } = reached;
    let branch = &trie.branches[beginning.branch];
    let log_probability = |token: Token| model.decoder.projection.logit(state, token) - normaliser;
    if !branch.ends.is_empty() {
        let last = log_probability(model.vocabulary.end);
        let ended = beginning.log_likelihood + last;
        for phrase in &branch.ends {
            let score = &mut scores[*phrase as usize];
            score.scored = log_sum(score.scored, ended);
            score.body = score.body.max(beginning.log_likelihood);
            if ended > score.best {
                (score.best, score.tokens) = (ended, level + 1);
                score.weakest = beginning.weakest.min(last);
            }
        }
    }
    let after = |(token, branch): &(Token, usize)| {
        let own = log_probability(*token);
        Beginning {
            branch: *branch,
            parent: node,
            token: *token,
            log_likelihood: beginning.log_likelihood + own,
            weakest: beginning.weakest.min(own),
        }
    };
    branch.children.iter().map(after).collect()
}

/// Keeps the likeliest beginnings of one level, after noting for each phrase how far it has come.
fn narrow(
    mut candidates: Vec<Beginning>,
    trie: &Trie,
    width: Width,
    level: usize,
    scores: &mut [Score],
) -> Vec<Beginning> {
    for beginning in &candidates {
        let mut before = None;
        for phrase in &trie.branches[beginning.branch].phrases {
            if before.replace(phrase) != Some(phrase) {
                scores[*phrase as usize].begins(level, beginning.log_likelihood);
            }
        }
    }
    candidates.sort_by(|one, other| other.log_likelihood.total_cmp(&one.log_likelihood));
    let bar = candidates
        .first()
        .map_or(0.0, |best| best.log_likelihood - width.below_best);
    let kept = candidates.partition_point(|beginning| beginning.log_likelihood >= bar);
    candidates.truncate(kept.min(width.beam));
    candidates
}

/// ln(eᵃ + eᵇ)
pub fn log_sum(a: f32, b: f32) -> f32 {
    let (high, low) = if a > b { (a, b) } else { (b, a) };
    if low == f32::NEG_INFINITY {
        high
    } else {
        high + (low - high).exp().ln_1p()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn repetition_is_seen() {
        assert!(repeats(&[7, 1, 2, 1, 2]));
        assert!(repeats(&[5, 5, 5]));
        assert!(!repeats(&[5, 5, 6]) && !repeats(&[1, 2, 3, 1, 2]) && !repeats(&[]));
    }

    #[test]
    fn logs_are_summed() {
        assert!((log_sum(0.5f32.ln(), 0.25f32.ln()) - 0.75f32.ln()).abs() < 1e-6);
        assert_eq!(log_sum(f32::NEG_INFINITY, -3.0), -3.0);
    }
}
