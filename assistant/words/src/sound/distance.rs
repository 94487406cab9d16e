//! How far two phrases are apart: the least that must be left out, put in or changed.

use super::phones::Segment;

/// A phrase's sound, with all the ways to say each of its words.
#[derive(Debug, Clone, PartialEq)]
pub struct Sound {
    /// For each place between sounds the ways there: from which place, by which sound. Always from an earlier one.
    into: Vec<Vec<(usize, Segment)>>,
    /// What the phrase agrees with itself, its words said in the usual way.
    weight: f64,
}

impl Default for Sound {
    fn default() -> Self {
        Self {
            into: vec![Vec::new()],
            weight: 0.0,
        }
    }
}

impl Sound {
    /// Adds a word that is said in any of these ways, the first being usual.
    pub(super) fn add(&mut self, ways: &[Vec<Segment>]) {
        let begin = self.into.len() - 1;
        let mut last = Vec::new();
        for way in ways {
            let mut at = begin;
            let Some((end, before)) = way.split_last() else {
                continue;
            };
            for segment in before {
                self.into.push(vec![(at, *segment)]);
                at = self.into.len() - 1;
            }
            last.push((at, *end));
        }
        self.into.push(last);
        let usual = ways.first().into_iter().flatten();
        self.weight += usual.map(|segment| segment.weight()).sum::<f64>();
    }

    /// What must be left out, put in or changed to make the other of it, in the nearest ways to say both. A consonant
    /// left out is 27.5, a vowel 17.5; N for F is 34, S for Z 10.
    pub fn change(&self, other: &Self) -> f64 {
        let width = other.into.len();
        let mut costs = vec![f64::INFINITY; self.into.len() * width];
        costs[0] = 0.0;
        for (row, ours) in self.into.iter().enumerate() {
            for (column, theirs) in other.into.iter().enumerate() {
                let mut least = costs[row * width + column];
                for (from, segment) in ours {
                    least = least.min(costs[from * width + column] + segment.left_out());
                    for (other_from, other_segment) in theirs {
                        if let Some(cost) = segment.taken_for(*other_segment) {
                            least = least.min(costs[from * width + other_from] + cost);
                        }
                    }
                }
                for (from, segment) in theirs {
                    least = least.min(costs[row * width + from] + segment.left_out());
                }
                costs[row * width + column] = least;
            }
        }
        costs.last().copied().unwrap_or(0.0)
    }

    /// The same as a share of both: 0 for what sounds alike, 1 for what has nothing in common.
    ///
    /// It is 1 − 2·s(A, B) / (s(A, A) + s(B, B)) over Kondrak's similarity s, after S. S. Downey and others,
    /// “Computational Feature-Sensitive Reconstruction of Language Relationships”, Journal of Quantitative Linguistics
    /// 15 (2008).
    pub fn distance(&self, other: &Self) -> f64 {
        let both = self.weight + other.weight;
        match both > 0.0 {
            true => (2.0 * self.change(other) / both).min(1.0),
            false => 0.0,
        }
    }
}
