//! Hears files with the default ear and prints the evidence, one JSON object a line: what the bars in
//! `data/bars.toml` are chosen from.
//!
//! `cargo bench -p ears --bench evidence -- JOBS`: each line of the file JOBS is a JSON object with `set`
//! (a phrase set) and `files` (a list of paths).

use ears::whisper::{ClosedSet, default_model_dir};
use ears::{PhraseSet, Recogniser, sound};
use std::error::Error;
use std::path::PathBuf;
use std::time::Instant;

#[derive(serde::Deserialize)]
struct Job {
    set: PhraseSet,
    files: Vec<PathBuf>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let Some(jobs) = std::env::args()
        .nth(1)
        .filter(|argument| !argument.starts_with("--"))
    else {
        eprintln!("evidence: skipped; it needs a file of jobs, see its head");
        return Ok(());
    };
    let mut ear = ClosedSet::load(&default_model_dir(), 2)?;
    let bars = ears::verdict::Bars::default();
    for line in std::fs::read_to_string(jobs)?.lines() {
        let job: Job = serde_json::from_str(line)?;
        let start = Instant::now();
        ear.listen_for(&job.set)?;
        let prepared = start.elapsed().as_secs_f64();
        for file in job.files {
            let utterance = sound::Utterance::whole(sound::file::read(&file)?.samples);
            let start = Instant::now();
            let hypothesis = ear.hear(&utterance)?;
            let seconds = start.elapsed().as_secs_f64();
            let verdict = hypothesis.as_ref().map(|hypothesis| bars.judge(hypothesis));
            let told = serde_json::json!({
                "file": file, "hypothesis": hypothesis, "verdict": verdict,
                "prepared": prepared, "seconds": seconds,
            });
            println!("{told}");
        }
    }
    Ok(())
}
