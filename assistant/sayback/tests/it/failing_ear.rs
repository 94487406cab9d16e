//! An ear that fails now and then doesn't end the job; one that is broken does.

use ears::sound::Utterance;
use ears::turn::Turn;
use ears::verdict::Bars;
use ears::{Description, Hypothesis, PhraseSet, Recogniser, RecogniserError};
use record::{Archive, JournaledJob};
use sayback::library::Shelf;
use sayback::work::conversation::{Conversation, ConversationError, Line, now};
use sayback::work::hearing::{Hearing, HearingError, Meaning};
use sayback::work::live::Trust;
use std::cell::RefCell;
use std::sync::Arc;
use steps::{Language, Settings};
use voice::PrintOnly;

/// Fails at the utterances of these numbers and hears nothing in the others.
struct Failing {
    at: Vec<usize>,
    heard: usize,
}

impl Recogniser for Failing {
    fn description(&self) -> Description {
        Description {
            recogniser: "failing".into(),
            model: "none".into(),
            model_sha256: String::new(),
        }
    }

    fn listen_for(&mut self, _: &PhraseSet) -> Result<Vec<String>, RecogniserError> {
        Ok(Vec::new())
    }

    fn hear(&mut self, _: &Utterance) -> Result<Option<Hypothesis>, RecogniserError> {
        self.heard += 1;
        if self.at.contains(&self.heard) {
            return Err(RecogniserError::Phrases("a bad moment".into()));
        }
        Ok(None)
    }
}

fn hears(
    at: &[usize],
    utterances: usize,
) -> (Vec<Result<Meaning, ConversationError>>, Vec<String>) {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let procedure = Arc::new(Shelf::Shipped.load("front-brakes").unwrap());
    let (worked, first) =
        JournaledJob::begin(&archive, procedure, Settings::default(), now()).unwrap();
    let ear = Failing {
        at: at.to_vec(),
        heard: 0,
    };
    let hearing = Hearing::new(Language::English, vec![Box::new(ear)], Bars::default()).unwrap();
    let voice = PrintOnly::new(std::io::sink(), voice::Settings::default());
    let told = RefCell::new(Vec::new());
    let mut show = |line: Line<'_>| {
        if let Line::Said(sentence) = line {
            told.borrow_mut().push(sentence.text.clone());
        }
    };
    let mut talk = Conversation::new(worked, Some(hearing), Box::new(voice), &mut show).unwrap();
    talk.act_on(&first).unwrap();
    let turn = Turn::alone(Utterance::whole(vec![0.0; 16_000]));
    let meanings = (0..utterances)
        .map(|_| talk.hear(&turn, &Trust::Whole))
        .collect();
    drop(talk);
    (meanings, told.into_inner())
}

#[test]
fn a_failure_now_and_then_is_told_and_the_job_goes_on() {
    let (meanings, told) = hears(&[1, 2, 4, 5, 7], 8);
    assert!(meanings.iter().all(|it| matches!(it, Ok(Meaning::Ignored))));
    let asked = told.iter().filter(|said| said.contains("Say it again"));
    assert_eq!(asked.count(), 5);
}

#[test]
fn an_ear_that_keeps_failing_ends_the_conversation() {
    let (meanings, _) = hears(&[2, 3, 4], 4);
    assert!(matches!(
        meanings.last(),
        Some(Err(ConversationError::Hearing(HearingError::Recogniser(_))))
    ));
    assert!(meanings[..3].iter().all(Result::is_ok));
}
