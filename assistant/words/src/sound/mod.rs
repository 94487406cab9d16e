//! How phrases sound, and how far apart: from a pronouncing dictionary, without sound.
//!
//! The dictionary is the recogniser's, in the form of the CMU dictionary: a word and its phones in ARPAbet a line
//! (`cap K AE P`), another pronunciation as `cap(2)`. Whoever calls reads the file. A word that it lacks has the
//! pronunciation that a procedure gives in plain words (`[sounds_like]`), or none: then nothing is said of the phrase.
//!
//! ```
//! use std::collections::BTreeMap;
//! use words::sound::{Lexicon, Sounds};
//!
//! let lexicon = Lexicon::read("called K AO L D\ncold K OW L D\ngear G IH R\nbox B AA K S\n");
//! let own = BTreeMap::from([("gearbox".to_owned(), "gear-box".to_owned())]);
//! let sounds = Sounds::new(&lexicon, &own);
//! let (called, cold) = (sounds.of("called").unwrap(), sounds.of("cold").unwrap());
//! assert!(called.distance(&cold) < 0.1);
//! assert!(sounds.of("gearbox").is_some());
//! assert_eq!(sounds.unknown("the gearbox called"), ["the"]);
//! ```
//!
//! # How is the distance measured?
//!
//! Phones are aligned by the features and weights of G. Kondrak (2000), and the distance is that of S. S. Downey and
//! others (2008). Both are published, and another program's figures are in the tests.
//!
//! The dictionary is PocketSphinx's, which set-up fetches. `sayback::author` reads it and reports what is found
//! through `Examined::add`, since `steps` reads no files.
//!
//! What the tables can't weigh is stress: a denial that differs by one weak syllable of three phones (“disagrees”)
//! passes. `sayback check --heard` asks the ear instead.

mod confusability;
mod distance;
mod heard;
mod phones;

pub use confusability::{Near, Nearness, near};
pub use distance::Sound;
pub use heard::{Phrase, phrases};

use crate::said;
use phones::Segment;
use std::collections::{BTreeMap, HashMap};

/// A pronouncing dictionary.
#[derive(Debug, Default)]
pub struct Lexicon<'t> {
    /// The phones as the file gives them, one entry for each way in which a word is said.
    words: HashMap<&'t str, Vec<&'t str>>,
}

impl<'t> Lexicon<'t> {
    /// Reads a dictionary in the form of the CMU's. Lines that aren't a word and its phones are passed over.
    pub fn read(text: &'t str) -> Self {
        let mut words: HashMap<&str, Vec<&str>> = HashMap::new();
        for line in text.lines() {
            if let Some((word, phones)) = line.split_once(' ') {
                let word = word.split('(').next().unwrap_or(word);
                words.entry(word).or_default().push(phones);
            }
        }
        Self { words }
    }

    /// Whether the word is in it.
    pub fn knows(&self, word: &str) -> bool {
        self.words.contains_key(word)
    }
}

/// How words sound: by the dictionary, and for words that it lacks by what the procedure says.
#[derive(Debug, Clone, Copy)]
pub struct Sounds<'a> {
    lexicon: &'a Lexicon<'a>,
    own: &'a BTreeMap<String, String>,
}

impl<'a> Sounds<'a> {
    /// With the procedure's own words and what they sound like.
    pub fn new(lexicon: &'a Lexicon<'a>, own: &'a BTreeMap<String, String>) -> Self {
        Self { lexicon, own }
    }

    /// The words of a phrase of which nobody knows how they sound, each once.
    pub fn unknown(&self, phrase: &str) -> Vec<String> {
        self.words(phrase, |word| !self.lexicon.knows(word))
    }

    /// The words of a phrase for which this holds, each once. It is asked of what a word sounds like, where that is
    /// given.
    pub fn words(&self, phrase: &str, mut holds: impl FnMut(&str) -> bool) -> Vec<String> {
        let mut words: Vec<String> = Vec::new();
        for word in said::plain(phrase).split_whitespace() {
            let like = self.own.get(word).map(|it| said::plain(it));
            let mut sounds = like.as_deref().unwrap_or(word).split(' ');
            if sounds.any(&mut holds) && !words.iter().any(|it| it == word) {
                words.push(word.to_owned());
            }
        }
        words
    }

    /// How a phrase sounds; none for one with a word that is unknown, or without words.
    pub fn of(&self, phrase: &str) -> Option<Sound> {
        let mut sound = Sound::default();
        for word in said::plain(phrase).split(' ') {
            for ways in self.ways(word)? {
                sound.add(&ways);
            }
        }
        Some(sound)
    }

    /// The ways to say each of the words that a word sounds like.
    fn ways(&self, word: &str) -> Option<Vec<Vec<Vec<Segment>>>> {
        let contrary = || {
            let un = vec![phones::segments("AH N")?];
            let rest = self.known(word.strip_prefix("un")?)?;
            Some(std::iter::once(un).chain(rest).collect())
        };
        self.known(word).or_else(contrary)
    }

    fn known(&self, word: &str) -> Option<Vec<Vec<Vec<Segment>>>> {
        match self.own.get(word) {
            Some(like) => said::plain(like)
                .split(' ')
                .map(|word| self.listed(word))
                .collect(),
            None => Some(vec![self.listed(word)?]),
        }
    }

    fn listed(&self, word: &str) -> Option<Vec<Vec<Segment>>> {
        let ways = self.lexicon.words.get(word)?;
        ways.iter().map(|phones| phones::segments(phones)).collect()
    }
}
