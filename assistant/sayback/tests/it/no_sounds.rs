//! A voice without short sounds tells in a word that a gate has opened.

use record::{Archive, JournaledJob};
use sayback::library::Shelf;
use sayback::work::conversation::{Conversation, Line, now};
use sayback::work::technician::{Talk, heard_for_certain};
use std::cell::RefCell;
use std::sync::Arc;
use steps::{Settings, SystemNotice};
use voice::{PrintOnly, Voice, VoiceError};

/// Says what is printed, and may be heard without short sounds.
struct Plain {
    printed: PrintOnly<std::io::Sink>,
    lacks_sounds: bool,
}

impl Voice for Plain {
    fn name(&self) -> String {
        self.printed.name()
    }

    fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
        self.printed.say(sentence)
    }

    fn stop(&mut self) {
        self.printed.stop();
    }

    fn is_speaking(&self) -> bool {
        self.printed.is_speaking()
    }

    fn set(&mut self, settings: voice::Settings) -> Result<(), VoiceError> {
        self.printed.set(settings)
    }

    fn settings(&self) -> voice::Settings {
        self.printed.settings()
    }

    fn lacks_sounds(&self) -> bool {
        self.lacks_sounds
    }
}

/// What is said to the readback that opens a job's first gate.
fn said_at_the_first_gate(lacks_sounds: bool) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let procedure = Arc::new(Shelf::Shipped.load("front-brakes").unwrap());
    let settings = Settings {
        corrections: true,
        ..Settings::default()
    };
    let (worked, first) = JournaledJob::begin(&archive, procedure, settings, now()).unwrap();
    let voice = Plain {
        printed: PrintOnly::new(std::io::sink(), voice::Settings::default()),
        lacks_sounds,
    };
    let told = RefCell::new(Vec::new());
    let mut show = |line: Line<'_>| {
        if let Line::Said(sentence) = line {
            told.borrow_mut().push(sentence.text.clone());
        }
    };
    let mut conversation = Conversation::new(worked, None, Box::new(voice), &mut show).unwrap();
    conversation.act_on(&first).unwrap();
    let mut talk = Talk::default();
    while conversation.job().facts().next().is_none() {
        told.borrow_mut().clear();
        let words = talk.says(conversation.job()).expect("there is a gate");
        let input = heard_for_certain(conversation.job(), &words).unwrap();
        conversation.take(input).unwrap();
    }
    drop(conversation);
    told.into_inner()
}

#[test]
fn that_a_gate_has_opened_is_said_where_no_sound_tells_it() {
    let heard = SystemNotice::Heard.told_in(steps::Language::English);
    assert_eq!(said_at_the_first_gate(true), [heard]);
    assert!(said_at_the_first_gate(false).is_empty());
}
