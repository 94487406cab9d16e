//! A workshop for the whole-job tests: a technician who speaks with a fixture's voice, the real ear, the
//! real record in a folder of its own, and a voice that keeps what it was given to say.

pub mod live;

pub use room;

use ears::sound::file;
use ears::verdict::Bars;
use ears::{Recogniser, whisper};
use record::{Archive, JournaledJob};
use sayback::library::Shelf;
use sayback::work::attention::Listening;
use sayback::work::conversation::{Conversation, Line, now};
use sayback::work::hearing::{Hearing, Meaning};
use sayback::work::live::{Notice, Recordings, play};
use sayback::work::viewers::ViewerRequests;
use std::cell::RefCell;
use std::path::Path;
use std::sync::Arc;
use steps::{Entry, Job, Language, Procedure, Settings};
use voice::fixtures::{Speaker, cache_folder};
use voice::{PrintOnly, Voice};

/// A shipped procedure.
pub fn shipped(name: &str) -> Procedure {
    Shelf::Shipped
        .load(name)
        .unwrap_or_else(|problems| panic!("{name}: {problems:?}"))
}

/// The same with the values of one of the depot's vehicles.
pub fn shipped_on(name: &str, vehicle: Option<&str>) -> Procedure {
    Shelf::Shipped
        .load_with(name, vehicle)
        .unwrap_or_else(|problems| panic!("{name}, {vehicle:?}: {problems:?}"))
}

/// What a job is opened with at the shell without any option.
pub fn settings() -> Settings {
    Settings {
        colours: true,
        corrections: true,
        in_fives: true,
        ..Settings::default()
    }
}

/// The fixtures' voices.
pub fn speaker() -> Speaker {
    speaker_of("voices.toml")
}

/// The voices that the hearing bench is spoken with, the near-human ones among them.
pub fn bench_speaker() -> Speaker {
    speaker_of("bench-voices.toml")
}

fn speaker_of(list: &str) -> Speaker {
    let voices = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../audio-fixtures")
        .join(list);
    let cache = cache_folder().expect("a home folder or SAYBACK_CACHE");
    Speaker::open(&cache, &voices).expect("the fixtures' voices; run `cargo xtask setup`")
}

/// The default ear, as set-up installed it.
pub fn default_ear() -> Box<dyn Recogniser> {
    let folder = whisper::default_model_dir();
    let ear = whisper::ClosedSet::load(&folder, 1);
    Box::new(ear.unwrap_or_else(|error| panic!("{error}; run `cargo xtask setup`")))
}

/// One job being talked through in a folder of its own.
pub struct Workshop<'a> {
    conversation: Conversation<'a>,
    speaker: Speaker,
    voice_id: String,
}

/// What came of the talk.
#[derive(Default)]
pub struct Minutes {
    /// What the assistant said.
    pub said: RefCell<Vec<String>>,
    /// What went onto the record.
    pub written: RefCell<Vec<Entry>>,
}

impl Minutes {
    /// Takes down a line of the talk.
    pub fn take_down(&self, line: Line<'_>) {
        match line {
            Line::Said(sentence) => self.said.borrow_mut().push(sentence.text.clone()),
            Line::Recorded(entry) => self.written.borrow_mut().push(entry.clone()),
            Line::Heard(_) | Line::Stands(_) | Line::Muted(_) | Line::Manner(..) => {}
            Line::Trouble(told) => panic!("{told}"),
        }
    }
}

/// Opens a shipped job with records in a folder of its own, spoken to by one of the fixtures' voices.
pub fn in_a_workshop(name: &str, voice_id: &str, work: impl FnOnce(&mut Workshop<'_>, &Path)) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let minutes = Minutes::default();
    let mut show = |line: Line<'_>| minutes.take_down(line);
    let mut shop = Workshop::open(shipped(name), folder.path(), voice_id, &mut show);
    work(&mut shop, folder.path());
}

impl<'a> Workshop<'a> {
    /// Opens a job with records below `folder`, spoken to by one of the fixtures' voices.
    pub fn open(
        procedure: Procedure,
        folder: &Path,
        voice_id: &str,
        show: &'a mut dyn FnMut(Line<'_>),
    ) -> Self {
        Self::open_with(procedure, settings(), folder, voice_id, show)
    }

    /// The same, with these settings.
    pub fn open_with(
        procedure: Procedure,
        settings: Settings,
        folder: &Path,
        voice_id: &str,
        show: &'a mut dyn FnMut(Line<'_>),
    ) -> Self {
        let archive = Archive::open(folder).expect("a new folder takes records");
        let (worked, first) = JournaledJob::begin(&archive, Arc::new(procedure), settings, now())
            .expect("a new record opens");
        let hearing = Hearing::new(Language::English, vec![default_ear()], Bars::default())
            .expect("the ear listens");
        let voice: Box<dyn Voice> =
            Box::new(PrintOnly::new(std::io::sink(), voice::Settings::default()));
        let mut conversation = Conversation::new(worked, Some(hearing), voice, show)
            .expect("the state can be listened for");
        conversation
            .act_on(&first)
            .expect("the first state can be listened for");
        Self {
            conversation,
            speaker: speaker(),
            voice_id: voice_id.to_owned(),
        }
    }

    /// Has sentences spoken beforehand, all at once.
    pub fn prepare(&self, sentences: &[String]) {
        let wanted: Vec<(&str, &str)> = sentences
            .iter()
            .map(|words| (self.voice_id.as_str(), words.as_str()))
            .collect();
        self.speaker
            .prepare(&wanted)
            .expect("the voice speaks; run `cargo xtask setup`");
    }

    /// The job as it stands.
    pub fn job(&self) -> &Job {
        self.conversation.job()
    }

    /// Listens so from now on.
    pub fn set_attention(&mut self, listening: Listening) {
        self.conversation
            .set_attention(listening)
            .expect("the state can be listened for");
    }

    /// From now on keeps the sound of what is said to it.
    pub fn keeps_what_is_heard(&mut self) {
        self.conversation.keep_what_is_heard();
    }

    /// Speaks words, and has them heard. What each turn in the sound was taken for.
    pub fn say(&mut self, words: &str) -> Vec<Meaning> {
        let voice_id = self.voice_id.clone();
        self.say_as(&voice_id, words)
    }

    /// The same in another voice: a recording says it the same way each time, and a person doesn't.
    pub fn say_as(&mut self, voice_id: &str, words: &str) -> Vec<Meaning> {
        let clip = self.speaker.wav(voice_id, words).expect("the voice speaks");
        let recording = file::read(&clip).expect("a clip is a WAV file");
        let meanings = self.play(recording.samples);
        assert!(!meanings.is_empty(), "“{words}” has no speech in it");
        meanings
    }

    /// The sound of words in the voice that speaks to it.
    pub fn clip(&self, words: &str) -> Vec<f32> {
        let clip = self
            .speaker
            .wav(&self.voice_id, words)
            .expect("the voice speaks");
        file::read(&clip).expect("a clip is a WAV file").samples
    }

    /// Plays a recording, 16 kHz mono, and waits for the answer as somebody would. What each turn in it was taken for.
    pub fn play(&mut self, samples: Vec<f32>) -> Vec<Meaning> {
        let mut meanings = Vec::new();
        // The turns are the same without the early look, which only shortens the wait for an answer.
        let mut recordings = Recordings::new([samples], None);
        let mut tell = |notice: Notice<'_>| {
            if let Notice::Heard(meaning) = notice {
                meanings.push(meaning.clone());
            }
        };
        play(
            &mut self.conversation,
            &mut recordings,
            &ViewerRequests::default(),
            &mut tell,
        )
        .expect("the ear hears");
        meanings
    }
}
