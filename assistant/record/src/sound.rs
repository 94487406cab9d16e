//! Sound as evidence.

use crate::{JobId, RecordError};
use sha2::{Digest, Sha256};
use std::io::{Cursor, Write};
use std::path::{Component, Path, PathBuf};

/// The folder of sounds, one folder a job in it.
const SOUNDS: &str = "sounds";

/// Samples a second.
const RATE: u32 = 16_000;

/// How a sound or photo that a record names is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoundState {
    /// As it was kept.
    Whole,
    /// Not kept any more.
    Gone,
    /// Not as it was kept.
    Changed,
}

/// Lower-case letters, digits and hyphens only, and not too many.
fn word(text: &str) -> String {
    text.chars()
        .map(|it| match it.to_ascii_lowercase() {
            it if it.is_ascii_alphanumeric() => it,
            _ => '-',
        })
        .take(80)
        .collect()
}

pub(crate) fn keep(
    folder: &Path,
    job: &JobId,
    sound: &[f32],
    what: &str,
) -> Result<String, RecordError> {
    let bytes = wav(sound).map_err(|error| RecordError::Sound {
        path: folder.join(SOUNDS),
        what: error.to_string(),
    })?;
    keep_bytes(folder, SOUNDS, job, what, "wav", &bytes)
}

/// Keeps a file of a job's below `place`, and gives its path from the records' folder. Its SHA-256 stands in
/// its name.
pub(crate) fn keep_bytes(
    folder: &Path,
    place: &str,
    job: &JobId,
    what: &str,
    ending: &str,
    bytes: &[u8],
) -> Result<String, RecordError> {
    let inside = format!("{place}/{}", word(job.as_str()));
    let home = folder.join(&inside);
    let failed = |error: &dyn std::fmt::Display| RecordError::Sound {
        path: home.clone(),
        what: error.to_string(),
    };
    let name = format!("{}-{:x}.{ending}", word(what), Sha256::digest(bytes));
    let new = !home.exists();
    crate::owner_only::make_folder(&home).map_err(|error| failed(&error))?;
    let path = home.join(&name);
    // A name says what is in the file, so one that is there is the same.
    if !path.exists() {
        // Written under another name first: a file of this name is whole, whatever happens.
        let beside = home.join(format!("{name}.part"));
        let write = || {
            let mut file = crate::owner_only::file(&beside)?;
            file.set_len(0)?;
            file.write_all(bytes)?;
            file.sync_all()?;
            std::fs::rename(&beside, &path)
        };
        if let Err(error) = write() {
            let _ = std::fs::remove_file(&beside);
            return Err(failed(&error));
        }
    }
    crate::sqlite::sync_folder(&home)?;
    if new {
        crate::sqlite::sync_folder(&folder.join(place))?;
        crate::sqlite::sync_folder(folder)?;
    }
    Ok(format!("{inside}/{name}"))
}

fn wav(sound: &[f32]) -> Result<Vec<u8>, hound::Error> {
    let form = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, form)?;
    for sample in sound {
        // A number that is none becomes 0; larger ones are clipped.
        writer.write_sample((sample.clamp(-1.0, 1.0) * f32::from(i16::MAX)).round() as i16)?;
    }
    writer.finalize()?;
    Ok(bytes.into_inner())
}

/// Whether a sound or photo is as it was when a record named it.
pub(crate) fn look_at(folder: &Path, named: &str) -> SoundState {
    let path = PathBuf::from(named);
    let within = path
        .components()
        .all(|part| matches!(part, Component::Normal(_)));
    let wanted = named
        .rsplit_once('.')
        .and_then(|(name, _)| name.rsplit('-').next());
    match (within, wanted) {
        (true, Some(wanted)) => match std::fs::read(folder.join(path)) {
            Ok(bytes) if format!("{:x}", Sha256::digest(&bytes)) == wanted => SoundState::Whole,
            Ok(_) => SoundState::Changed,
            Err(_) => SoundState::Gone,
        },
        // Not a name that `keep` gave.
        _ => SoundState::Gone,
    }
}
