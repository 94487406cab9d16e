//! A bay with a loudspeaker and a microphone, computed.

use ears::sound::echo::{EchoCanceller, FRAME};
use ears::sound::endpoint::{EndPointer, Event, Settings};
use ears::sound::{Utterance, file};
use ears::turn::Turn;
use ears::verdict::Bars;
use sayback::work::hearing::{Hearing, Meaning};
use sayback::work::live::{Allowed, EARLY, trust_over_playback};
use sayback::work::technician::{Talk, heard_for_certain};
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};
use steps::{Certainty, Command, Effect, Input, Job, Language, Listen, Moment};
use voice::Word;
use voice::fixtures::Speaker;
use whole_jobs::{default_ear, settings, shipped, speaker};
use words::now::{Stake, StateGrammar, stake};

/// The jobs whose prompts are played.
pub const JOBS: [&str; 3] = ["front-half-shaft", "front-brakes", "trailer-hub"];

/// What is said in a state of a job, how it sounds, and what may be said to it.
pub struct Prompt {
    pub said: Vec<String>,
    sounds: Vec<(Vec<f32>, Vec<Word>)>,
    listen: Listen,
}

impl Prompt {
    /// Whether all these may be said in its state.
    pub fn listens_for(&self, words: &[&str]) -> bool {
        let grammar = StateGrammar::compile(&self.listen).unwrap();
        !grammar.takes_dictation() && words.iter().all(|words| grammar.parse(words).is_ok())
    }
}

impl Prompt {
    /// What these words mean in its state.
    pub fn means(&self, words: &str) -> Command {
        let grammar = StateGrammar::compile(&self.listen).unwrap();
        grammar.parse(words).unwrap()
    }
}

/// All prompts of the straight way through each job. They are spoken once, one after the other: the voice's hissing is
/// random and goes on from sentence to sentence, so that in another order they would sound otherwise.
static PROMPTS: LazyLock<[(&str, Vec<Prompt>); 3]> =
    LazyLock::new(|| JOBS.map(|name| (name, on_the_straight_way(name))));

/// All prompts of the straight way through one of the jobs.
pub fn prompts(name: &str) -> &'static [Prompt] {
    let job = PROMPTS.iter().find(|(job, _)| *job == name);
    &job.unwrap().1
}

fn on_the_straight_way(name: &str) -> Vec<Prompt> {
    let mut job = Job::new(Arc::new(shipped(name)), settings());
    let mut talk = Talk::default();
    let mut prompts = Vec::new();
    let mut now = Moment(0);
    let mut effects = job.take(Input::Begin, now);
    loop {
        let said = effects.iter().filter_map(|effect| match effect {
            Effect::Say(sentence) => {
                Some(words::wording::spoken(Language::English, &sentence.text))
            }
            _other => None,
        });
        let said: Vec<String> = said.collect();
        if job.outcome().is_none() {
            prompts.push(Prompt {
                sounds: said.iter().map(|sentence| spoken(sentence)).collect(),
                said,
                listen: job.listen(),
            });
        }
        let Some(words) = talk.says(&job) else { break };
        let input = heard_for_certain(&job, &words).unwrap();
        now = Moment(now.0 + 60_000);
        effects = job.take(input, now);
    }
    prompts
}

/// What an utterance causes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Caused {
    /// A command is taken.
    Command(Command),
    /// It is asked whether that was said.
    Question(Command),
    /// The assistant falls silent: a "stop" does no more.
    Silence,
}

impl Caused {
    /// What this command causes.
    pub fn by(command: Command) -> Self {
        match command {
            Command::Stop => Self::Silence,
            command => Self::Command(command),
        }
    }

    /// Whether it was understood as what was meant.
    pub fn is(&self, meant: &Self) -> bool {
        match self {
            Self::Question(command) => *meant == Self::Command(command.clone()),
            caused => caused == meant,
        }
    }

    /// Whether nothing comes of it but silence, a question, or an answer that nobody asked for.
    pub fn is_harmless(&self) -> bool {
        match self {
            Self::Silence | Self::Question(_) => true,
            Self::Command(command) => stake(command) == Stake::Ask,
        }
    }
}

/// The bay.
pub struct Bay {
    canceller: EchoCanceller,
    end_pointer: EndPointer,
    hearing: Hearing,
    speaker: Speaker,
    /// How loud the loudspeaker comes back: a share.
    echo: f32,
    /// What the room makes of a click.
    response: Vec<f32>,
    /// The end of what the room still sounds of.
    before: Vec<f32>,
    random: u32,
    /// Which word began at which sample.
    words: Vec<(usize, String)>,
    samples: usize,
    judged: usize,
}

/// The root mean square that a technician's speech and, at nought decibel, the loudspeaker's have.
const SPEECH: f32 = 0.08;

/// Samples a second.
const RATE: f32 = 16_000.0;

impl Bay {
    /// A bay in which the loudspeaker comes back at this level against a technician, in decibels.
    pub fn new(level_db: f32) -> Self {
        let mut random = 1;
        Self {
            canceller: EchoCanceller::new().unwrap(),
            end_pointer: EndPointer::new(Settings {
                early: Some(EARLY),
                ..Settings::default()
            }),
            hearing: Hearing::new(Language::English, vec![default_ear()], Bars::default()).unwrap(),
            speaker: speaker(),
            echo: 10f32.powf(level_db / 20.0),
            response: response(&mut random),
            before: Vec::new(),
            random,
            words: Vec::new(),
            samples: 0,
            judged: 0,
        }
    }

    /// Seconds of sound that went through it.
    pub fn seconds(&self) -> f32 {
        self.samples as f32 / RATE
    }

    /// Stretches of speech that the ear judged.
    pub fn judged(&self) -> usize {
        self.judged
    }

    /// Says a prompt, and somebody's words over it from its second second on. What was taken as a command.
    pub fn hears(&mut self, prompt: &Prompt, over: Option<(&str, &str)>) -> Vec<Caused> {
        self.hearing.listen_for(&prompt.listen).unwrap();
        let mut played = Vec::new();
        for (samples, words) in &prompt.sounds {
            let begins = |word: &Word| self.samples + played.len() + 16 * word.at_ms as usize;
            let words = words.iter().map(|word| (begins(word), word.text.clone()));
            self.words.extend(words);
            played.extend(samples);
            played.extend([0.0; 3_200]);
        }
        let near = over.map(|(voice, words)| {
            let clip = self.speaker.wav(voice, words).unwrap();
            loud(file::read(&clip).unwrap().samples, SPEECH)
        });
        let near = near.unwrap_or_default();
        let from = RATE as usize;
        let spoken = played.len().max(from + near.len());
        // Then the room has time to fall silent, and the end-pointer to notice.
        played.resize(spoken + 24_000, 0.0);
        let mut captured = self.comes_back(&played);
        for (sample, near) in captured[from..].iter_mut().zip(&near) {
            *sample += near;
        }
        for sample in &mut captured {
            *sample += 0.001 * noise(&mut self.random);
        }
        self.listens(&played, &captured)
    }

    /// What the loudspeaker's sound is in the microphone.
    fn comes_back(&mut self, played: &[f32]) -> Vec<f32> {
        let length = self.response.len();
        let mut captured = vec![0.0; played.len() + length];
        for (sample, before) in captured.iter_mut().zip(&self.before) {
            *sample = *before;
        }
        // Most taps are nought or tiny: only those that matter are kept.
        let taps = self.response.iter().enumerate();
        for (at, tap) in taps.filter(|(_, tap)| tap.abs() > 0.002) {
            for (sample, played) in captured[at..].iter_mut().zip(played) {
                *sample += self.echo * tap * played;
            }
        }
        self.before = captured.split_off(played.len());
        captured
    }

    fn listens(&mut self, played: &[f32], captured: &[f32]) -> Vec<Caused> {
        let mut taken = Vec::new();
        let frames = played.chunks_exact(FRAME).zip(captured.chunks_exact(FRAME));
        for (played, captured) in frames {
            self.samples += FRAME;
            let (played, captured) = (played.try_into().unwrap(), captured.try_into().unwrap());
            let cleaned = self.canceller.cancel(played, captured);
            self.end_pointer.playing(cleaned.playback);
            self.end_pointer.set_patience(self.hearing.patience());
            let events = self
                .end_pointer
                .push_beside(&cleaned.suppressed, &cleaned.subtracted);
            for event in events {
                match event {
                    // What is taken early is taken as it is at last, too: one of the two is enough.
                    Event::Pause {
                        said: utterance, ..
                    }
                    | Event::Utterance(utterance) => {
                        taken.extend(self.judges(&utterance));
                    }
                    Event::CutShort(_)
                    | Event::SpeechBegan
                    | Event::Resumed
                    | Event::Discarded(_) => {}
                }
            }
        }
        taken.dedup();
        taken
    }

    fn judges(&mut self, utterance: &Utterance) -> Option<Caused> {
        self.judged += 1;
        let understood = self.hearing.hear(&Turn::alone(utterance.clone())).unwrap();
        let trust = trust_over_playback(utterance, |within| {
            let from = self
                .samples
                .saturating_sub((within.as_secs_f32() * RATE) as usize);
            let words = self.words.iter();
            let within = words.filter(|(at, _)| (from..self.samples).contains(at));
            Some(within.map(|(_, word)| word.clone()).collect())
        });
        let Meaning::Told(command) = understood.meaning.clone() else {
            return None;
        };
        let asks = understood.heard.certainty == Certainty::Doubtful && command != Command::Stop;
        match trust.allows(&understood, false, &BTreeMap::new()) {
            Allowed::Counts if asks => Some(Caused::Question(command)),
            Allowed::Counts => Some(Caused::by(command)),
            Allowed::Hushes => Some(Caused::Silence),
            Allowed::Nothing => None,
        }
    }
}

/// A sentence as the assistant's voice says it, at the level of a technician.
fn spoken(sentence: &str) -> (Vec<f32>, Vec<Word>) {
    let (sound, words) = voice::timed(sentence, "en-us", voice::Settings::default()).unwrap();
    let samples: Vec<f32> = sound
        .samples
        .iter()
        .map(|sample| f32::from(*sample) / 32_768.0)
        .collect();
    // To 16 kHz by the nearest two; the sound is played, not judged.
    let step = sound.rate_hz as f32 / RATE;
    let count = (samples.len() as f32 / step) as usize;
    let resampled = (0..count).map(|n| {
        let at = n as f32 * step;
        let (low, part) = (at as usize, at.fract());
        let next = samples.get(low + 1).copied().unwrap_or(0.0);
        samples[low] * (1.0 - part) + next * part
    });
    (loud(resampled.collect(), SPEECH), words)
}

/// The same, with this root mean square where there is sound.
fn loud(samples: Vec<f32>, rms: f32) -> Vec<f32> {
    let sounding: Vec<f32> = samples
        .iter()
        .copied()
        .filter(|sample| sample.abs() > 0.01)
        .collect();
    let power = sounding.iter().map(|it| it * it).sum::<f32>() / sounding.len().max(1) as f32;
    let gain = rms / power.sqrt().max(1e-6);
    samples.into_iter().map(|it| it * gain).collect()
}

/// The way from the loudspeaker to the microphone: 40 ms through the devices and the air, then reflections that
/// fall by 60 dB in 0.4 s, as in a workshop's bay with hard walls (common practice, no source).
fn response(random: &mut u32) -> Vec<f32> {
    let mut response = vec![0.0; (0.44 * RATE) as usize];
    let direct = (0.04 * RATE) as usize;
    for (n, tap) in response.iter_mut().enumerate().skip(direct) {
        let seconds = (n - direct) as f32 / RATE;
        // A reflection every 2 ms or so.
        if noise(random).abs() < 0.03 {
            *tap = 0.4 * noise(random) * 10f32.powf(-3.0 * seconds / 0.4);
        }
    }
    response[direct] = 1.0;
    // What comes back in all has the loudness of what was played.
    let power = response.iter().map(|tap| tap * tap).sum::<f32>();
    response.iter().map(|tap| tap / power.sqrt()).collect()
}

/// Even noise from −1 to 1, the same in each run.
fn noise(state: &mut u32) -> f32 {
    *state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
    (*state >> 8) as f32 / (1u32 << 23) as f32 - 1.0
}
