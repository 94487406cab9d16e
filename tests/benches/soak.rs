//! Long runs: eight hours of a shop's sound through canceller, end-pointer and ear without waiting for it, and ten minutes live.
//! Memory, threads and open files must not grow, and no frame may be lost.
//!
//! `cargo xtask bench soak`; `-- --minutes 2 --hours 1` for a shorter one. Writes `target/bench/soak.json`.

use ears::sound::echo::{EchoCanceller, FRAME};
use ears::sound::endpoint::{EndPointer, Event};
use ears::sound::file;
use ears::turn::Turn;
use ears::verdict::Bars;
use sayback::work::hearing::{Hearing, Meaning};
use sayback::work::live::Setup;
use sayback::work::technician::{Talk, heard_for_certain, place, take_for_good};
use serde::Serialize;
use std::path::PathBuf;
use std::process::{Command, ExitCode};
use std::time::{Duration, Instant};
use steps::{Input, Job, Language, Moment};
use whole_jobs::live::{Happened, Live};
use whole_jobs::room::{Recording, Room, is_inside, say_clip};
use whole_jobs::{default_ear, settings, shipped, speaker};

/// What is said, and what of it is a command.
const SAID: [(&str, bool); 6] = [
    ("where am i", true),
    ("did you see the game last night", false),
    ("what's next", true),
    ("hand me that other spanner when you come back", false),
    ("hold on", true),
    ("carry on", true),
];

/// How far memory may grow from the first third of a run to its last, as a share.
const MAX_GROWTH: f64 = 0.05;

/// What a process holds.
#[derive(Debug, Clone, Copy, Serialize)]
struct Held {
    seconds: f64,
    resident_mib: f64,
    threads: usize,
    files: usize,
}

fn held(since: Instant) -> Held {
    let count = |folder: &str| std::fs::read_dir(folder).map_or(0, Iterator::count);
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let resident = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let kib = resident.and_then(|it| it.split_whitespace().next()?.parse::<f64>().ok());
    Held {
        seconds: since.elapsed().as_secs_f64(),
        resident_mib: kib.unwrap_or(f64::NAN) / 1024.0,
        threads: count("/proc/self/task"),
        files: count("/proc/self/fd"),
    }
}

/// Whether memory, threads and files stayed what they were, by the medians of the first and last third.
fn is_flat(held: &[Held]) -> bool {
    let third = held.len() / 3;
    let median = |some: &[Held], of: fn(&Held) -> f64| {
        let mut all: Vec<f64> = some.iter().map(of).collect();
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
    };
    let (first, last) = (&held[..third], &held[held.len() - third..]);
    let memory = |some| median(some, |it| it.resident_mib);
    let threads = |some| median(some, |it| it.threads as f64);
    let files = |some| median(some, |it| it.files as f64);
    println!(
        "first and last third: {:.0} and {:.0} MiB, {} and {} threads, {} and {} files",
        memory(first),
        memory(last),
        threads(first),
        threads(last),
        files(first),
        files(last)
    );
    (memory(last) / memory(first) - 1.0).abs() <= MAX_GROWTH
        && threads(first) == threads(last)
        && files(first) == files(last)
}

#[derive(Debug, Serialize)]
struct Run {
    name: &'static str,
    hours: f64,
    commands_said: usize,
    commands_taken: usize,
    taken_of_talk: usize,
    frames_lost: u64,
    flat: bool,
    held: Vec<Held>,
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    let number = |name: &str, usual: f64| {
        let at = arguments.iter().position(|it| it == name);
        at.and_then(|at| arguments.get(at + 1)?.parse().ok())
            .unwrap_or(usual)
    };
    if is_inside() {
        let run = live(number("--minutes", 10.0));
        println!("{}", serde_json::to_string(&run).expect("numbers"));
        return ExitCode::SUCCESS;
    }
    let compressed = compressed(number("--hours", 8.0));
    let room = Room::new(None);
    let output = Command::new(std::env::current_exe().expect("this program"))
        .args(&arguments[1..])
        .envs(room.environment())
        .stderr(std::process::Stdio::inherit())
        .output()
        .expect("this program runs again");
    let told = String::from_utf8_lossy(&output.stdout);
    let last = told.lines().last().unwrap_or_default();
    let live: serde_json::Value = serde_json::from_str(last).expect("the live run tells its run");
    let is_live_flat = live["flat"] == true && live["frames_lost"] == 0;
    println!("live: {}", if is_live_flat { "flat" } else { "NOT flat" });
    let good = compressed.flat && is_live_flat;
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../target/bench");
    std::fs::create_dir_all(&folder).expect("target/bench");
    let runs = serde_json::json!([compressed, live]);
    std::fs::write(folder.join("soak.json"), runs.to_string()).expect("target/bench/soak.json");
    ExitCode::from(u8::from(!good))
}

/// Hours of noise in which something is said twice a minute, without waiting for them.
fn compressed(hours: f64) -> Run {
    let begun = Instant::now();
    let mut job = Job::new(std::sync::Arc::new(shipped("front-half-shaft")), settings());
    let mut now = Moment(0);
    job.take(Input::Begin, now);
    let mut talk = Talk::default();
    while place(&job) != "park" {
        let words = talk.says(&job).expect("the job goes on");
        let input = heard_for_certain(&job, &words).expect("the state can be listened for");
        take_for_good(&mut job, input, &mut now);
    }
    let mut hearing = Hearing::new(Language::English, vec![default_ear()], Bars::default())
        .expect("the ear listens");
    hearing.listen_for(&job.listen()).expect("the first state");
    let speaker = speaker();
    let clips: Vec<Vec<f32>> = SAID
        .iter()
        .map(|(words, _)| {
            let clip = speaker
                .wav("espeak-us-man", words)
                .expect("the voice speaks");
            file::read(&clip).expect("a clip is a WAV file").samples
        })
        .collect();
    let mut canceller = EchoCanceller::new().expect("the canceller takes its format");
    let mut end_pointer = EndPointer::default();
    let mut run = Run {
        name: "compressed",
        hours,
        commands_said: 0,
        commands_taken: 0,
        taken_of_talk: 0,
        frames_lost: 0,
        flat: false,
        held: Vec::new(),
    };
    let mut random = 1u32;
    let halves = (hours * 120.0) as usize;
    for half in 0..halves {
        let (_, command) = SAID[half % SAID.len()];
        let clip = &clips[half % SAID.len()];
        run.commands_said += usize::from(command);
        let mut taken = 0;
        for frame in 0..3_000 {
            let mut captured = [0.0; FRAME];
            for (n, sample) in captured.iter_mut().enumerate() {
                random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let noise = (random >> 8) as f32 / (1u32 << 23) as f32 - 1.0;
                let said = clip.get((frame * FRAME + n).wrapping_sub(16_000)).copied();
                *sample = 0.01 * noise + 0.3 * said.unwrap_or(0.0);
            }
            let cleaned = canceller.cancel(&[0.0; FRAME], &captured);
            for event in end_pointer.push(&cleaned.subtracted) {
                if let Event::Utterance(utterance) = event {
                    let understood = hearing
                        .hear(&Turn::alone(utterance))
                        .expect("the ear hears");
                    taken += usize::from(matches!(understood.meaning, Meaning::Told(_)));
                }
            }
        }
        match command {
            true => run.commands_taken += taken,
            false => run.taken_of_talk += taken,
        }
        if half % (halves / 60).max(1) == 0 {
            run.held.push(held(begun));
        }
    }
    run.flat = is_flat(&run.held);
    println!(
        "compressed: {hours} hours in {:.0} s, {} of {} commands taken, {} of talk",
        begun.elapsed().as_secs_f64(),
        run.commands_taken,
        run.commands_said,
        run.taken_of_talk
    );
    run
}

/// Minutes at the vehicle, in real time.
fn live(minutes: f64) -> Run {
    let patience = Duration::from_secs(60);
    let records = tempfile::tempdir().expect("a folder");
    let speaker = speaker();
    let loudspeaker = Recording::of_loudspeaker_lately();
    let mut live = Live::begin(
        shipped("front-half-shaft"),
        settings(),
        records.path(),
        Setup::default(),
        200,
    );
    live.until("the microphone opens", patience, |it| {
        matches!(it, Happened::Listens).then_some(())
    });
    let clip = |words: &str| {
        speaker
            .wav("espeak-us-man", words)
            .expect("the voice speaks")
    };
    live.works_to("park", &loudspeaker, |words| say_clip(&clip(words), 1.0));
    let begun = Instant::now();
    let mut run = Run {
        name: "live",
        hours: minutes / 60.0,
        commands_said: 0,
        commands_taken: 0,
        taken_of_talk: 0,
        frames_lost: 0,
        flat: false,
        held: Vec::new(),
    };
    for (words, command) in SAID.iter().cycle() {
        if begun.elapsed().as_secs_f64() > minutes * 60.0 {
            break;
        }
        live.until_silent(&loudspeaker, patience);
        live.catch_up();
        let from = live.minutes.len();
        say_clip(&clip(words), 1.0);
        std::thread::sleep(Duration::from_secs(2));
        live.catch_up();
        let taken = live.minutes[from..]
            .iter()
            .filter(|(_, it)| matches!(it, Happened::Heard(_, Meaning::Told(_))))
            .count();
        match command {
            true => run.commands_taken += taken,
            false => run.taken_of_talk += taken,
        }
        run.commands_said += usize::from(*command);
        run.held.push(held(begun));
    }
    let lost = live.minutes.iter().filter_map(|(_, it)| match it {
        Happened::Lost(frames) => Some(*frames),
        _other => None,
    });
    run.frames_lost = lost.sum();
    run.flat = is_flat(&run.held);
    run
}
