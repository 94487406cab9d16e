//! A job worked live: the loop, the ear and the voice as at the vehicle, in a [`room`](crate::room) without hardware.

use crate::default_ear;
use crate::room::Recording;
use crossbeam_channel::{Receiver, Sender, unbounded};
use ears::verdict::Bars;
use record::{Archive, JournaledJob};
use sayback::work::conversation::{Conversation, Line, now};
use sayback::work::hearing::{Hearing, Meaning};
use sayback::work::live::{self, Notice, Setup};
use sayback::work::technician::{Talk, place};
use sayback::work::viewers::ViewerRequests;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use steps::{Entry, Job, Language, Procedure, Settings};
use voice::{Loudspeaker, Voice, WordsPerMinute};

/// Something that happened.
#[derive(Debug, Clone)]
pub enum Happened {
    /// The assistant says this.
    Said(String),
    /// It heard these words, and took them for this.
    Heard(String, Meaning),
    /// This went onto the record.
    Recorded(Entry),
    /// It listens to a microphone.
    Listens,
    /// The microphone is gone.
    Deaf(String),
    /// So many frames of sound were lost.
    Lost(u64),
    /// Something is wrong.
    Trouble(String),
    /// The loop ended.
    Ended(Result<(), String>),
}

/// A job that is being worked in a thread of its own, until the process ends.
pub struct Live {
    happened: Receiver<(Instant, Happened)>,
    job: Arc<Mutex<Option<Job>>>,
    /// All that happened until now.
    pub minutes: Vec<(Instant, Happened)>,
}

impl Live {
    /// Begins a job with records below `folder`, with a voice that speaks so fast.
    pub fn begin(
        procedure: Procedure,
        settings: Settings,
        folder: &Path,
        setup: Setup<'static>,
        words_per_minute: u16,
    ) -> Self {
        let (send, happened) = unbounded();
        let job = Arc::new(Mutex::new(None));
        let (shown, folder) = (Arc::clone(&job), folder.to_owned());
        std::thread::spawn(move || {
            let voice = voice::Settings {
                rate: WordsPerMinute::new(words_per_minute),
                ..voice::Settings::default()
            };
            let ended = work(procedure, settings, &folder, setup, voice, &send, &shown);
            let _ = send.send((Instant::now(), Happened::Ended(ended)));
        });
        Self {
            happened,
            job,
            minutes: Vec::new(),
        }
    }

    /// The job as it was shown last.
    pub fn job(&self) -> Option<Job> {
        self.job.lock().expect("nobody panics with it").clone()
    }

    /// Waits until something happens, and gives what came of it.
    ///
    /// # Panics
    /// When it doesn't within `patience`.
    pub fn until<T>(
        &mut self,
        what: &str,
        patience: Duration,
        is_it: impl FnMut(&Happened) -> Option<T>,
    ) -> T {
        let found = self.happens(patience, is_it);
        found.unwrap_or_else(|| panic!("{what} doesn't happen within {patience:?}"))
    }

    /// Waits until something happens, and gives what came of it; `None` if it doesn't within `patience`.
    pub fn happens<T>(
        &mut self,
        patience: Duration,
        mut is_it: impl FnMut(&Happened) -> Option<T>,
    ) -> Option<T> {
        let end = Instant::now() + patience;
        while let Ok((at, happened)) = self.happened.recv_deadline(end) {
            let found = is_it(&happened);
            println!("{happened:?}");
            self.minutes.push((at, happened));
            if found.is_some() {
                return found;
            }
        }
        None
    }

    /// Waits until nothing was to be heard for a while.
    ///
    /// # Panics
    /// When it is never silent.
    pub fn until_silent(&self, loudspeaker: &Recording, patience: Duration) {
        let end = Instant::now() + patience;
        while loudspeaker.silent_for() < Duration::from_millis(900) {
            assert!(Instant::now() < end, "it speaks for ever");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Waits until the assistant has said all it has to say and waits for the technician: a gate that has just opened goes
    /// on by itself.
    ///
    /// # Panics
    /// When it is never silent, or never goes on.
    pub fn until_it_waits(&mut self, loudspeaker: &Recording, patience: Duration) -> Job {
        let end = Instant::now() + patience;
        loop {
            self.until_silent(loudspeaker, patience);
            self.catch_up();
            let job = self.job().expect("the job is shown");
            if job.holding().is_none() || !job.may_take_back() {
                return job;
            }
            assert!(Instant::now() < end, "it doesn't go on behind its gate");
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Says what leads on, and listens to each answer to its end, until the job is at this place.
    ///
    /// # Panics
    /// When it isn't answered, or never silent.
    pub fn works_to(&mut self, wanted: &str, loudspeaker: &Recording, say: impl Fn(&str)) {
        const PATIENCE: Duration = Duration::from_secs(60);
        let mut talk = Talk::default();
        loop {
            let job = self.until_it_waits(loudspeaker, PATIENCE);
            if place(&job) == wanted {
                break;
            }
            say(&talk.says(&job).expect("the job goes on"));
            self.until("an answer", PATIENCE, |it| {
                matches!(it, Happened::Heard(..)).then_some(())
            });
        }
    }

    /// Takes down what happened until now.
    pub fn catch_up(&mut self) {
        for (at, happened) in self.happened.try_iter() {
            println!("{happened:?}");
            self.minutes.push((at, happened));
        }
    }
}

fn work(
    procedure: Procedure,
    settings: Settings,
    folder: &Path,
    setup: Setup<'_>,
    speaks: voice::Settings,
    send: &Sender<(Instant, Happened)>,
    shown: &Arc<Mutex<Option<Job>>>,
) -> Result<(), String> {
    let told = |happened| {
        // Whoever listened is gone: then nobody wants to know.
        let _ = send.send((Instant::now(), happened));
    };
    let words = steps::with_causes;
    let archive = Archive::open(folder).map_err(|error| words(&error))?;
    let (worked, first) = JournaledJob::begin(&archive, Arc::new(procedure), settings, now())
        .map_err(|error| words(&error))?;
    let hearing = Hearing::new(Language::English, vec![default_ear()], Bars::default())
        .map_err(|error| words(&error))?;
    let voice: Box<dyn Voice> =
        Box::new(Loudspeaker::open("en-us", speaks).map_err(|error| words(&error))?);
    let mut show = |line: Line<'_>| match line {
        Line::Said(sentence) => told(Happened::Said(sentence.text.clone())),
        Line::Heard(heard) => told(Happened::Heard(
            heard.heard.words.clone(),
            heard.meaning.clone(),
        )),
        Line::Recorded(entry) => told(Happened::Recorded(entry.clone())),
        Line::Stands(job) => *shown.lock().expect("as above") = Some(job.clone()),
        Line::Trouble(trouble) => told(Happened::Trouble(trouble.to_owned())),
        Line::Muted(_) | Line::Manner(..) => {}
    };
    let mut conversation = Conversation::new(worked, Some(hearing), voice, &mut show)
        .map_err(|error| words(&error))?;
    conversation.act_on(&first).map_err(|error| words(&error))?;
    let mut tell = |notice: Notice<'_>| match notice {
        Notice::Listening(_) => told(Happened::Listens),
        Notice::Lost(reason) => told(Happened::Deaf(reason.to_owned())),
        Notice::Overrun(frames) => told(Happened::Lost(frames)),
        Notice::Level(_) | Notice::Heard(_) => {}
    };
    live::work(
        &mut conversation,
        &setup,
        &ViewerRequests::default(),
        &mut tell,
    )
    .map_err(|error| words(&error))
}
