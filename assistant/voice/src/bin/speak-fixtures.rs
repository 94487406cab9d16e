//! Speaks the fixtures of `audio-fixtures`, or the rows of a table. `cargo xtask fixtures` calls it after
//! set-up.

use std::error::Error;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use indicatif::{ProgressBar, ProgressStyle};
use voice::VoiceError;
use voice::fixtures::{Manifest, Script, cache_folder};

const USAGE: &str = "\
Speaks the phrases of audio-fixtures that aren't spoken yet.
  --text FILE.tsv --out DIR   speaks the rows (id, voice, words; tabs between) of a table into DIR instead";

enum Task {
    Fixtures,
    Table { text: PathBuf, out: PathBuf },
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some(task) = task(&arguments) else {
        eprintln!("{USAGE}");
        return ExitCode::from(2);
    };
    let Some(cache) = cache_folder() else {
        eprintln!("No cache folder: set SAYBACK_CACHE, XDG_CACHE_HOME or HOME.");
        return ExitCode::FAILURE;
    };
    match carry_out(&task, &cache) {
        Ok((manifest, place)) => {
            eprintln!("{} spoken clips: {}", manifest.clips.len(), place.display());
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprint!("{error}");
            if let Some(cause) = error.source() {
                eprint!(": {cause}");
            }
            eprintln!();
            ExitCode::FAILURE
        }
    }
}

fn task(arguments: &[String]) -> Option<Task> {
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words.as_slice() {
        [] => Some(Task::Fixtures),
        ["--text", text, "--out", out] | ["--out", out, "--text", text] => Some(Task::Table {
            text: text.into(),
            out: out.into(),
        }),
        _ => None,
    }
}

fn carry_out(task: &Task, cache: &Path) -> Result<(Manifest, PathBuf), VoiceError> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../audio-fixtures");
    let script = Script::open(cache, &folder)?;
    let bar = bar();
    let watched = std::io::stderr().is_terminal();
    let tell = |done: usize, of: usize| {
        bar.set_length(of as u64);
        bar.set_position(done as u64);
        if !watched && (done == of || done.is_multiple_of(200)) {
            eprintln!("Spoke {done} of {of} clips");
        }
    };
    let made = match task {
        Task::Fixtures => (script.make(&tell)?, script.manifest_path().to_owned()),
        Task::Table { text, out } => (
            script.speaker().speak_table(text, out, &tell)?,
            out.join("manifest.json"),
        ),
    };
    bar.finish_and_clear();
    Ok(made)
}

fn bar() -> ProgressBar {
    let bar = ProgressBar::new(0).with_message("Speaking fixtures");
    // The template is a constant of this file and is well formed.
    if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {pos}/{len} {eta}") {
        bar.set_style(style);
    }
    bar
}
