//! When the assistant listens: all the time, or only after it was called or a key was pressed.
//!
//! Where people talk beside the vehicle, it reacts only to its name, "carry on" and "stop" until somebody calls it, and
//! then for a while to whatever may be said in the job's state. A question of its own keeps it listening, too.
//!
//! # What is listened for before anybody has called?
//!
//! Everything that may be said stays in the set, as decoys. With only “carry on”, “stop” and the name in it, “go
//! back” was taken for “carry on”.

use std::time::{Duration, Instant};
use steps::{Command, Language, SystemNotice};
use words::sound::Sounds;

/// How long it listens after it was called, was answered, or has finished speaking.
const AWAKE: Duration = Duration::from_secs(10);

/// Two phrases this near in sound can't be told apart in a loud bay: the bar between a readback and whatever else may be said
/// (`words::sound`).
const NEAR: f64 = 0.35;

/// The least letters of a name.
const SHORTEST_NAME: usize = 5;

/// The longest name, in words.
const MAX_WORDS: usize = 3;

/// When it listens.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Attention {
    /// Always.
    #[default]
    Open,
    /// After its name.
    ByName(String),
    /// After a key was pressed.
    OnPress,
}

/// Why a name can't be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NameRefused {
    /// It can't be told from noise.
    #[error("“{0}” is too short to be told from noise: give at least {SHORTEST_NAME} letters")]
    TooShort(String),
    /// It is a sentence.
    #[error("“{0}” is too long to be called: give at most {MAX_WORDS} words")]
    TooLong(String),
    /// It holds something else than words.
    #[error("“{0}” holds something else than letters: write it as it is said")]
    NoWords(String),
    /// The ear may not know it.
    #[error("nobody knows how “{word}” sounds: take words of the dictionary")]
    Unknown { word: String },
    /// It sounds like something that may be said in a job.
    #[error("“{name}” sounds like “{like}”, which means something: take another name")]
    SoundsLike {
        name: String,
        /// What it sounds like.
        like: String,
    },
}

/// A name as it is listened for, where it can be heard and told from all commands and from what else may be said in the job.
/// Without a dictionary only its form is looked at.
///
/// # Errors
/// When it can't.
pub fn name(
    wanted: &str,
    sounds: Option<Sounds<'_>>,
    in_the_job: &[String],
) -> Result<String, NameRefused> {
    let words: Vec<String> = wanted.split_whitespace().map(str::to_lowercase).collect();
    let name = words.join(" ");
    let letter = |it: char| it.is_alphabetic() || it == '\'';
    if !words.iter().all(|word| word.chars().all(letter)) {
        return Err(NameRefused::NoWords(name));
    }
    if name.chars().filter(|it| it.is_alphabetic()).count() < SHORTEST_NAME {
        return Err(NameRefused::TooShort(name));
    }
    if words.len() > MAX_WORDS {
        return Err(NameRefused::TooLong(name));
    }
    let Some(sounds) = sounds else {
        return Ok(name);
    };
    if let Some(word) = sounds.unknown(&name).into_iter().next() {
        return Err(NameRefused::Unknown { word });
    }
    let own = sounds.of(&name);
    let near = |like: &String| match (&own, sounds.of(like)) {
        (Some(own), Some(other)) => own.distance(&other) < NEAR,
        (None, _) | (_, None) => name == *like,
    };
    let commands = Command::ALL_PLAIN
        .iter()
        .flat_map(|it| words::now::all_words(Language::English, it));
    match commands.chain(in_the_job.iter().cloned()).find(near) {
        Some(like) => Err(NameRefused::SoundsLike { name, like }),
        None => Ok(name),
    }
}

/// Whether it listens now.
#[derive(Debug, Default)]
pub struct Listening {
    attention: Attention,
    /// The name, also while it isn't needed.
    name: Option<String>,
    /// Whether somebody can press a key.
    key: bool,
    awake_until: Option<Instant>,
}

impl Listening {
    /// As it is wanted at the start. With a name, or a key, it can be changed by voice later.
    pub fn new(attention: Attention, name: Option<String>, key: bool) -> Self {
        Self {
            attention,
            name,
            key,
            awake_until: None,
        }
    }

    /// When it listens.
    pub fn attention(&self) -> &Attention {
        &self.attention
    }

    /// The name, where it has one.
    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// Whether what may be said in the job is listened for now.
    pub fn is_awake(&self) -> bool {
        match self.attention {
            Attention::Open => true,
            Attention::ByName(_) | Attention::OnPress => {
                self.awake_until.is_some_and(|until| Instant::now() < until)
            }
        }
    }

    /// Somebody called it, pressed the key, or talks with it.
    pub fn wake(&mut self) {
        self.awake_until = Some(Instant::now() + AWAKE);
    }

    /// From now on to everything.
    pub fn open(&mut self) -> SystemNotice {
        self.attention = Attention::Open;
        SystemNotice::ListensToAll
    }

    /// From now on only after its name.
    pub fn by_name(&mut self) -> SystemNotice {
        match &self.name {
            Some(name) => {
                self.attention = Attention::ByName(name.clone());
                SystemNotice::CallFirst
            }
            None => SystemNotice::HasNoName,
        }
    }

    /// From now on only after a key.
    pub fn on_press(&mut self) -> SystemNotice {
        match self.key {
            true => {
                self.attention = Attention::OnPress;
                SystemNotice::PressFirst
            }
            false => SystemNotice::HasNoKey,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;
    use words::sound::Lexicon;

    /// Lines of the CMU pronouncing dictionary, from memory.
    const DICTIONARY: &str = "foreman F AO R M AH N\ncarry K EH R IY\non AA N\nkerry K EH R IY\n\
                              men M EH N\nfour F AO R\nmorgan M AO R G AH N\n";

    fn named(wanted: &str) -> Result<String, NameRefused> {
        let lexicon = Lexicon::read(DICTIONARY);
        let own = BTreeMap::new();
        let in_the_job = ["four men".to_owned()];
        name(wanted, Some(Sounds::new(&lexicon, &own)), &in_the_job)
    }

    #[test]
    fn a_name_that_stands_alone_is_taken_as_it_is_said() {
        assert_eq!(named("Morgan"), Ok("morgan".to_owned()));
        assert_eq!(
            name("Hey  Foreman", None, &[]),
            Ok("hey foreman".to_owned())
        );
    }

    #[test]
    fn a_name_that_sounds_like_a_command_or_that_nobody_knows_is_refused() {
        assert!(matches!(
            named("kerry on"),
            Err(NameRefused::SoundsLike { like, .. }) if like == "carry on"
        ));
        assert!(matches!(
            named("foreman"),
            Err(NameRefused::SoundsLike { like, .. }) if like == "four men"
        ));
        assert!(matches!(named("zorblax"), Err(NameRefused::Unknown { .. })));
        assert!(matches!(named("bo"), Err(NameRefused::TooShort(_))));
        assert!(matches!(named("r2d2 unit"), Err(NameRefused::NoWords(_))));
        assert!(matches!(
            named("foreman foreman foreman foreman"),
            Err(NameRefused::TooLong(_))
        ));
    }

    #[test]
    fn it_listens_only_after_it_was_called_and_says_what_it_has_not() {
        let mut listening = Listening::new(Attention::Open, None, false);
        assert!(listening.is_awake());
        assert_eq!(listening.by_name(), SystemNotice::HasNoName);
        assert!(listening.is_awake(), "nothing has changed");
        let mut listening = Listening::new(Attention::Open, Some("foreman".to_owned()), false);
        listening.by_name();
        assert!(!listening.is_awake());
        listening.wake();
        assert!(listening.is_awake());
    }
}
