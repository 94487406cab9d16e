//! Microphones and recordings.

use super::terminal;
use ears::sound::microphone::devices;
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
            .map(|it| json!({ "name": it.name, "description": it.description, "usual": it.usual }))
            .collect();
        terminal::tell_json(&list)?;
    } else if list.is_empty() {
        tell!("No microphone was found.");
    } else {
        for it in list {
            tell!(
                "{}{}  {}",
                it.name,
                if it.usual { " (usual)" } else { "" },
                it.description
            );
        }
    }
    Ok(ExitCode::SUCCESS)
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
