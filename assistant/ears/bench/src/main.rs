//! Measures how well the ear hears, and fits what its evidence is worth.
//!
//! `cargo xtask bench ears` runs it after set-up. What it hears is kept take by take in `target/bench/ears`, so
//! that a run that was broken off goes on where it was.
//!
//! # How is hearing measured?
//!
//! Voices, readbacks and noises that weights or bars are chosen on never report figures. `--kept --fit` finds new
//! weights in seconds from what was heard before. `--second` counts once more with voices that nothing was chosen on,
//! so it gives a clean figure exactly once after each new model.
//!
//! A small fixed set (`promises.rs`) is heard in every test run. `--rival 10` has PocketSphinx hear every tenth take.
//! `--before all` compares what could be put in front of the ear against noise, on the development set.

mod before;
mod cost;
mod fit;
mod gates;
mod hear;
mod kept;
mod listening;
mod material;
mod measure;
mod own;
mod people;
mod pictures;
mod place;
#[cfg(test)]
mod promises;
mod rivals;
mod scene;
mod tables;
mod talk;

use before::Before;
use hearing_bench::shop;
use kept::{Kept, Share};
use material::{Amounts, Side, Take};
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use voice::fixtures::{Speaker, cache_folder};

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{}", steps::with_causes(error.as_ref()));
            ExitCode::FAILURE
        }
    }
}

/// What may be asked for; the README tells what each does.
const OPTIONS: [&str; 15] = [
    "--quick",
    "--kept",
    "--sets",
    "--side",
    "--noises",
    "--share",
    "--second",
    "--near-human",
    "--fit",
    "--rival",
    "--vosk",
    "--before",
    "--folder",
    "--manifest",
    "--phrases",
];

/// A rival hears one take of so many where nobody says otherwise.
const RIVALS: usize = 16;

fn run() -> Result<(), Box<dyn Error + Send + Sync>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let unknown =
        |argument: &&String| argument.starts_with('-') && !OPTIONS.contains(&argument.as_str());
    if let Some(unknown) = arguments.iter().find(unknown) {
        let known = OPTIONS.join(" ");
        return Err(format!("{unknown} is no option of this bench; they are {known}").into());
    }
    let value = |name: &str| {
        let at = arguments.iter().position(|argument| argument == name)?;
        arguments.get(at + 1).cloned()
    };
    let target = PathBuf::from(std::env::var_os("CARGO_TARGET_DIR").unwrap_or("target".into()))
        .join("bench");
    if let Some(folder) = value("--folder") {
        let named = |name: &str| value(name).ok_or(format!("--folder needs {name} as well"));
        let (manifest, phrases) = (named("--manifest")?, named("--phrases")?);
        let figures = own::figures(
            Path::new(&folder),
            Path::new(&manifest),
            Path::new(&phrases),
            value("--vosk").as_ref().map(Path::new),
        )?;
        tables::write(&figures, &target)?;
        println!("{}", tables::table(&figures));
        return Ok(());
    }
    let workspace = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../..");
    let gates = gates::shipped(&workspace.join("procedures"))?;
    let cache = cache_folder().ok_or("no cache folder: set SAYBACK_CACHE or HOME")?;
    let speaker = Speaker::open(&cache, &workspace.join("audio-fixtures/bench-voices.toml"))?;
    let ids = |first: char| {
        let ids = speaker.voices().iter().map(|voice| voice.id.clone());
        ids.filter(|id| id.starts_with(first)).collect::<Vec<_>>()
    };
    // A second report, by voices that no decision has seen: each new model's figures can be counted once more.
    let second = arguments.iter().any(|argument| argument == "--second");
    let near_human = arguments.iter().any(|argument| argument == "--near-human");
    let (development, report) = match (near_human, second) {
        (false, false) => (ids('d'), ids('r')),
        (false, true) => (ids('d'), ids('s')),
        (true, false) => (ids('h'), ids('n')),
        (true, true) => (ids('h'), ids('q')),
    };
    let (commands, denials) = (listening::commands()?, listening::denials()?);
    let quick = arguments.iter().any(|argument| argument == "--quick");
    let amounts = |usual: Amounts| if quick { usual.tenth() } else { usual };
    let mut takes = material::takes(
        &gates,
        &commands,
        &denials,
        &development,
        Side::Development,
        amounts(Amounts::DEVELOPMENT),
    );
    takes.extend(material::takes(
        &gates,
        &commands,
        &denials,
        &report,
        if second { Side::Second } else { Side::Report },
        amounts(Amounts::REPORT),
    ));
    match people::takes(&people::folder(&workspace)) {
        Ok(people) => takes.extend(people),
        Err(error) => {
            eprintln!("no recordings of people ({error}): set SAYBACK_SPEECH to their folder")
        }
    }
    let names = |option: &str| {
        let names = value(option)?;
        Some(names.split(',').map(str::to_owned).collect::<Vec<_>>())
    };
    let (sets, noises) = (names("--sets"), names("--noises"));
    let side = value("--side");
    let share = value("--share").map(|it| Share::parse(&it)).transpose()?;
    takes.retain(|take| {
        let set = measure::name_of(take.set);
        let noise = measure::name_of(take.noise);
        sets.as_ref().is_none_or(|wanted| wanted.contains(&set))
            && noises.as_ref().is_none_or(|wanted| wanted.contains(&noise))
            && side
                .as_ref()
                .is_none_or(|side| (side == "development") == take.development)
            && share.is_none_or(|share| share.holds(take))
    });
    let mut room = hear::Room {
        background: [
            background(&speaker, &development)?,
            background(&speaker, &report)?,
        ],
        gates: &gates,
        speaker: &speaker,
        at_once: std::thread::available_parallelism().map_or(2, usize::from),
        priors: cache.join("priors"),
        before: Before::Nothing,
    };
    let only_kept = arguments.iter().any(|argument| argument == "--kept");
    if let Some(names) = value("--before") {
        return compare(&mut room, takes, &names, only_kept, &target);
    }
    let mut kept = Kept::open(&target.join("ears"), "heard", share)?;
    let (heard, listenings) = hear::hear(&room, &takes, &mut kept, only_kept)?;
    std::fs::write(target.join("ears/evidence.csv"), tables::evidence(&heard))?;
    if arguments.iter().any(|argument| argument == "--fit") {
        let development: Vec<_> = heard
            .into_iter()
            .filter(|one| one.take.development)
            .collect();
        println!("{}", toml::to_string(&fit::model(&development))?);
        return Ok(());
    }
    let bars = ears::verdict::Bars::default();
    let mut figures = measure::figures(&heard, &bars);
    // Only the figures of tries are about what was said again.
    let heard: Vec<_> = heard
        .into_iter()
        .filter(|one| one.take.said_before == 0)
        .collect();
    figures.extend(rivals::free_transcription(&heard, &listenings));
    if !only_kept {
        figures.extend(cost::figures(&room, &takes)?);
    }
    if let Some(every) = value("--rival") {
        let python = cache.join("venv/bin/python");
        let folder = target.join("ears/rivals");
        figures.extend(rivals::pocketsphinx(
            &room,
            &heard,
            &listenings,
            &python,
            &folder,
            every.parse()?,
        )?);
    }
    if let Some(model) = value("--vosk") {
        let every = value("--rival").map_or(Ok(RIVALS), |every| every.parse())?;
        let model = Path::new(&model);
        figures.extend(rivals::vosk(&room, &heard, &listenings, model, every)?);
    }
    tables::write(&figures, &target)?;
    let folder = target.join("ears");
    pictures::against_noise(&figures, &folder.join("against-noise.svg"))?;
    pictures::trade_off(&heard, &folder.join("trade-off.svg"))?;
    pictures::calibration(
        &measure::calibration(&heard),
        &folder.join("calibration.svg"),
    )?;
    println!("{}", tables::table(&figures));
    for one in measure::openings(&heard, &bars) {
        println!("{}", tables::opening(one));
    }
    println!("Written to {}", target.display());
    Ok(())
}

/// Hears the same takes in each way, and tells what came of it side by side.
fn compare(
    room: &mut hear::Room<'_>,
    takes: Vec<Take>,
    names: &str,
    only_kept: bool,
    target: &Path,
) -> Result<(), Box<dyn Error + Send + Sync>> {
    let takes = before::share(takes);
    let mut ways = Vec::new();
    for way in Before::list(names)? {
        room.before = way;
        let mut kept = Kept::open(
            &target.join("ears"),
            &format!("before-{}", way.name()),
            None,
        )?;
        ways.push((way, hear::hear(room, &takes, &mut kept, only_kept)?.0));
    }
    let tried = before::Tried::all(ways);
    let lines = before::lines(&tried, &ears::verdict::Bars::default());
    let table = before::table(&lines, &tried);
    std::fs::write(target.join("ears/before.csv"), before::csv(&lines))?;
    std::fs::write(target.join("ears/before.txt"), &table)?;
    println!("{table}");
    Ok(())
}

/// Talk of several voices to make a background of.
fn background(
    speaker: &Speaker,
    voices: &[String],
) -> Result<Vec<Vec<f32>>, Box<dyn Error + Send + Sync>> {
    let sentences: Vec<String> = (0..24).map(|n| talk::sentence(2_000_000 + n)).collect();
    let said: Vec<(&str, &str)> = sentences
        .iter()
        .zip(voices.iter().cycle())
        .map(|(words, voice)| (voice.as_str(), words.as_str()))
        .collect();
    speaker.prepare(&said)?;
    said.iter()
        .map(|(voice, words)| Ok(ears::sound::file::read(&speaker.wav(voice, words)?)?.samples))
        .collect()
}
