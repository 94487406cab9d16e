//! How soon an answer sounds, from the end of the technician's last word, and where the time goes; live, in a room without
//! hardware, with several end-pointings.
//!
//! `cargo xtask bench answer`. The parts are the program's own (`sayback::work::live`, events of the target `answer`); the
//! whole is measured on recordings of the microphone and of the loudspeaker, so it holds the way through the sound
//! system, too.

use ears::sound::endpoint;
use plotters::prelude::*;
use sayback::work::live::Setup;
use serde::Serialize;
use std::path::PathBuf;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tracing::field::{Field, Visit};
use tracing_subscriber::layer::{Context, Layer, SubscriberExt};
use whole_jobs::live::{Happened, Live};
use whole_jobs::room::{Recording, Room, is_inside, is_sound, say_clip};
use whole_jobs::{settings, shipped, speaker};

/// Silence after which what was said is listened to, in milliseconds; nought: only when it is certain that it was all.
const EARLY_MS: [u64; 4] = [0, 160, 208, 304];

/// What is said, by whom: each is answered at once, whatever the state.
const SAID: [(&str, &str); 8] = [
    ("espeak-us-man", "where am i"),
    ("flite-man-fast", "what's next"),
    ("neural-man", "say again"),
    ("espeak-us-man", "what tool"),
    ("flite-man-fast", "why"),
    ("neural-man", "what is still off"),
    ("espeak-us-man", "help"),
    ("flite-man-fast", "how long is left"),
];

/// How often each is said with each setting.
const ROUNDS: usize = 3;

const PATIENCE: Duration = Duration::from_secs(60);

const STAGES: [&str; 7] = [
    "end_pointing",
    "decoding",
    "engine",
    "voice",
    "whole",
    // From the end-point of a "stop" over the assistant's own voice until no more is given to the loudspeaker, and until
    // the recording is silent.
    "hushed",
    "silent",
];

/// How many of them are parts of an answer; those that are measured otherwise stand at these places.
const PARTS: usize = 4;
const WHOLE: usize = 4;
const SILENT: usize = 6;

fn main() {
    if is_inside() {
        return measure();
    }
    // `cargo test --benches` runs it too; it measures nothing then.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    for early in EARLY_MS {
        let room = Room::new(None);
        let status = Command::new(std::env::current_exe().expect("this program"))
            .arg(early.to_string())
            .envs(room.environment())
            .status();
        assert!(status.expect("this program runs again").success());
    }
    report();
}

/// One value: milliseconds of a stage.
#[derive(Debug, Serialize)]
struct Figure {
    early_ms: u64,
    stage: &'static str,
    metric: &'static str,
    value_ms: f64,
    n: usize,
}

fn folder() -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../target/bench");
    std::fs::create_dir_all(&folder).expect("target/bench");
    folder
}

fn kept(early: u64) -> PathBuf {
    folder().join(format!("answer-{early}.json"))
}

/// What the program tells, stage by stage.
#[derive(Default, Clone)]
struct Told(Arc<Mutex<Stages>>);

type Stages = [Vec<f64>; STAGES.len()];

impl<S: tracing::Subscriber> Layer<S> for Told {
    fn on_event(&self, event: &tracing::Event<'_>, _context: Context<'_, S>) {
        struct Fields<'a>(&'a mut Stages);
        impl Visit for Fields<'_> {
            fn record_f64(&mut self, field: &Field, value: f64) {
                let place = STAGES.iter().position(|stage| *stage == field.name());
                if let Some(place) = place {
                    self.0[place].push(value);
                }
            }
            fn record_debug(&mut self, _field: &Field, _value: &dyn std::fmt::Debug) {}
        }
        if event.metadata().target() == "answer" {
            let mut stages = self.0.lock().expect("nobody panics with it");
            event.record(&mut Fields(&mut stages));
        }
    }
}

fn measure() {
    let argument = std::env::args().nth(1).unwrap_or_default();
    let early: u64 = argument.parse().expect("milliseconds");
    let told = Told::default();
    let subscriber = tracing_subscriber::registry().with(told.clone());
    tracing::subscriber::set_global_default(subscriber).expect("it is the only one");
    let records = tempfile::tempdir().expect("a folder");
    let speaker = speaker();
    speaker.prepare(&SAID).expect("the voices speak");
    let loudspeaker = Recording::of_loudspeaker();
    let microphone = Recording::of_microphone();
    let end_pointing = match early {
        0 => endpoint::Settings::default().hang_over,
        early => Duration::from_millis(early),
    };
    let setup = Setup {
        early: (early > 0).then(|| Duration::from_millis(early)),
        ..Setup::default()
    };
    let mut live = Live::begin(
        shipped("front-half-shaft"),
        settings(),
        records.path(),
        setup,
        200,
    );
    live.until("the microphone opens", PATIENCE, |it| {
        matches!(it, Happened::Listens).then_some(())
    });
    let clip = |voice: &str, words: &str| speaker.wav(voice, words).expect("the voices speak");
    // To the first step, past the questions and lists.
    live.works_to("park", &loudspeaker, |words| {
        say_clip(&clip("espeak-us-man", words), 1.0);
    });
    // What was told on the way isn't measured.
    *told.0.lock().expect("as above") = Stages::default();
    let (mut whole, mut silent) = (Vec::new(), Vec::new());
    let mut missed = 0;
    for _ in 0..ROUNDS {
        for (voice, words) in SAID {
            live.until_silent(&loudspeaker, PATIENCE);
            live.catch_up();
            let from = (microphone.len(), loudspeaker.len());
            let began = Instant::now();
            say_clip(&clip(voice, words), 1.0);
            // Until the answer sounds, or it is clear that there is none.
            let answered = loop {
                let sound = loudspeaker.since(from.1);
                if let Some(first) = sound.iter().position(|it| is_sound(*it)) {
                    break Some(from.1 + first);
                }
                if began.elapsed() > Duration::from_secs(6) {
                    break None;
                }
                std::thread::sleep(Duration::from_millis(10));
            };
            let said = microphone.since(from.0);
            let last = said.iter().rposition(|it| is_sound(*it));
            match (answered, last) {
                (Some(answered), Some(last)) => {
                    let ended = microphone.time_of(from.0 + last);
                    let sounded = loudspeaker.time_of(answered);
                    let milliseconds = sounded.saturating_duration_since(ended);
                    whole.push(milliseconds.as_secs_f64() * 1_000.0);
                }
                (None, _) | (_, None) => missed += 1,
            }
            let from = (microphone.len(), loudspeaker.len());
            say_clip(&clip("espeak-us-man", "stop"), 1.0);
            live.until_silent(&loudspeaker, PATIENCE);
            let ended = |recording: &Recording, from: usize| {
                let samples = recording.since(from);
                let last = samples.iter().rposition(|it| is_sound(*it))?;
                Some(recording.time_of(from + last))
            };
            let said = ended(&microphone, from.0).expect("\"stop\" was played");
            let judged = said + end_pointing;
            // An answer that was over before is none that was stopped.
            if let Some(last) = ended(&loudspeaker, from.1).filter(|last| *last > judged) {
                silent.push((last - judged).as_secs_f64() * 1_000.0);
            }
        }
    }
    std::thread::sleep(Duration::from_millis(500));
    let mut stages = told.0.lock().expect("as above").clone();
    stages[WHOLE] = whole;
    stages[SILENT] = silent;
    println!("{early} ms: {} answers, {missed} without", stages[0].len());
    std::fs::write(kept(early), serde_json::to_vec(&stages).expect("numbers")).expect("a file");
}

fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = (share * (sorted.len().max(1) - 1) as f64).round() as usize;
    sorted.get(place).copied().unwrap_or(f64::NAN)
}

fn report() {
    let mut figures = Vec::new();
    println!(
        "{:>9}  {:>14} {:>9} {:>9} {:>9}",
        "early", "stage", "median", "p95", "n"
    );
    for early in EARLY_MS {
        let text = std::fs::read(kept(early)).expect("it was measured");
        let stages: Stages = serde_json::from_slice(&text).expect("numbers");
        for (stage, values) in STAGES.into_iter().zip(&stages) {
            let n = values.len();
            let [median, high] = [0.5, 0.95].map(|share| quantile(values, share));
            println!("{early:>6} ms  {stage:>14} {median:>9.0} {high:>9.0} {n:>9}");
            for (metric, value_ms) in [("median", median), ("p95", high)] {
                figures.push(Figure {
                    early_ms: early,
                    stage,
                    metric,
                    value_ms,
                    n,
                });
            }
        }
    }
    let json = serde_json::to_string_pretty(&figures).expect("numbers");
    std::fs::write(folder().join("answer.json"), json).expect("target/bench/answer.json");
    draw(&figures).expect("target/bench/answer.svg");
    println!("{}", folder().join("answer.json").display());
}

/// Stacked medians of the parts for each setting, with the whole's median and 95th percentile.
fn draw(figures: &[Figure]) -> Result<(), Box<dyn std::error::Error>> {
    let path = folder().join("answer.svg");
    let root = SVGBackend::new(&path, (900, 500)).into_drawing_area();
    root.fill(&WHITE)?;
    let value = |early: u64, stage: &str, metric: &str| {
        let mut of_it = figures.iter();
        of_it
            .find(|it| it.early_ms == early && it.stage == stage && it.metric == metric)
            .map_or(0.0, |it| it.value_ms)
    };
    let mut chart = ChartBuilder::on(&root)
        .caption("From the last word to the answer", ("sans-serif", 22))
        .margin(12)
        .x_label_area_size(40)
        .y_label_area_size(60)
        .build_cartesian_2d(0.0..EARLY_MS.len() as f64, 0.0..1_200.0)?;
    chart
        .configure_mesh()
        .disable_x_mesh()
        .x_labels(EARLY_MS.len() + 1)
        .x_label_formatter(&|at| {
            let early = EARLY_MS.get(*at as usize);
            early.map_or_else(String::new, |early| format!("{early} ms early"))
        })
        .y_desc("milliseconds")
        .draw()?;
    let colours = [
        RGBColor(120, 144, 156),
        RGBColor(67, 133, 190),
        RGBColor(208, 135, 60),
        RGBColor(92, 148, 88),
    ];
    for (number, stage) in STAGES[..PARTS].iter().enumerate() {
        let bars = EARLY_MS.iter().enumerate().map(|(place, early)| {
            let below: f64 = STAGES[..number]
                .iter()
                .map(|stage| value(*early, stage, "median"))
                .sum();
            let top = below + value(*early, stage, "median");
            let (left, right) = (place as f64 + 0.2, place as f64 + 0.7);
            Rectangle::new([(left, below), (right, top)], colours[number].filled())
        });
        chart
            .draw_series(bars)?
            .label(stage.replace('_', "-"))
            .legend(move |(x, y)| {
                Rectangle::new([(x, y - 5), (x + 10, y + 5)], colours[number].filled())
            });
    }
    for (metric, size) in [("median", 6), ("p95", 3)] {
        let points = EARLY_MS.iter().enumerate().map(|(place, early)| {
            Circle::new(
                (place as f64 + 0.8, value(*early, "whole", metric)),
                size,
                BLACK.filled(),
            )
        });
        chart
            .draw_series(points)?
            .label(format!("whole, {metric}"))
            .legend(move |(x, y)| Circle::new((x + 5, y), size, BLACK.filled()));
    }
    chart
        .configure_series_labels()
        .background_style(WHITE.mix(0.8))
        .border_style(BLACK)
        .draw()?;
    root.present()?;
    Ok(())
}
