//! What may be said now, as a tree of tokens: beginnings that phrases share stand in it once.

use super::tokens::Token;
use std::collections::HashMap;
use std::sync::Arc;

/// The number of a phrase in its set.
pub type PhraseNumber = u32;

/// All token sequences of a phrase, one for each way to write it.
pub type Sequences = Arc<Vec<Vec<Token>>>;

/// A place in the tree.
#[derive(Default)]
pub struct Branch {
    /// What may follow.
    pub children: Vec<(Token, usize)>,
    /// The phrase that may end here.
    pub ends: Vec<PhraseNumber>,
    /// The phrases that go through here, each as often as it does.
    pub phrases: Vec<PhraseNumber>,
}

/// The tree. Its root is branch 0.
pub struct Trie {
    pub branches: Vec<Branch>,
    /// One more than the greatest phrase number.
    pub phrases: usize,
}

impl Trie {
    pub fn new<'a>(phrases: impl IntoIterator<Item = (PhraseNumber, &'a [Vec<Token>])>) -> Self {
        let mut trie = Self {
            branches: vec![Branch::default()],
            phrases: 0,
        };
        let mut places: HashMap<(usize, Token), usize> = HashMap::new();
        for (phrase, sequences) in phrases {
            trie.phrases = trie.phrases.max(phrase as usize + 1);
            for sequence in sequences {
                let mut at = 0;
                for token in sequence {
                    let next = *places.entry((at, *token)).or_insert(trie.branches.len());
                    if next == trie.branches.len() {
                        trie.branches.push(Branch::default());
                        trie.branches[at].children.push((*token, next));
                    }
                    at = next;
                    trie.branches[at].phrases.push(phrase);
                }
                trie.branches[at].ends.push(phrase);
            }
        }
        trie
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shared_beginnings_stand_once() {
        let (one, two) = ([vec![1, 2], vec![1, 2, 3]], [vec![1, 4]]);
        let trie = Trie::new([(0, &one[..]), (1, &two[..])]);
        assert_eq!(trie.branches.len(), 5);
        assert_eq!(trie.branches[1].phrases, [0, 0, 1]);
        assert_eq!(trie.branches[2].ends, [0]);
        assert_eq!(trie.branches[1].children, [(2, 2), (4, 4)]);
    }
}
