//! Microphones and recordings.

use super::terminal;
use ears::sound::microphone::{DeviceListing, devices};
use ears::sound::{file, folder};
use miette::IntoDiagnostic;
use serde_json::json;
use std::path::Path;
use std::process::ExitCode;

pub fn microphones(as_json: bool) -> miette::Result<ExitCode> {
    let list = devices().into_diagnostic()?;
    if as_json {
        let list: Vec<_> = list
            .iter()
            .map(|it| {
                json!({
                    "name": it.name,
                    "description": it.description,
                    "usual": it.usual,
                    "real": it.real,
                })
            })
            .collect();
        terminal::tell_json(&list)?;
        return Ok(ExitCode::SUCCESS);
    }
    let (real, others): (Vec<_>, Vec<_>) = list.into_iter().partition(|it| it.real);
    if real.is_empty() {
        tell!("No microphone was found. Plug one in and try again.");
    }
    real.iter().for_each(device);
    if !others.is_empty() {
        tell!("\nNames that the sound system knows, with no microphone behind them now:");
    }
    others.iter().for_each(device);
    Ok(ExitCode::SUCCESS)
}

fn device(it: &DeviceListing) {
    let usual = if it.usual { " (usual)" } else { "" };
    tell!("{}{usual}  {}", it.name, it.description);
}

/// A recording, or all recordings in a folder in name order, at 16 kHz mono.
pub fn recordings(path: &Path) -> miette::Result<Vec<Vec<f32>>> {
    let files = if path.is_dir() {
        folder::wav_files(path).into_diagnostic()?
    } else {
        vec![path.to_owned()]
    };
    let mut all = Vec::new();
    for path in files {
        let recording = file::read(&path).into_diagnostic()?;
        if let Some(truncation) = &recording.truncated {
            warn!("{}: {truncation}; what is there is used", path.display());
        }
        all.push(recording.samples);
    }
    Ok(all)
}
