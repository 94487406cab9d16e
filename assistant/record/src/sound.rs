//! Sound as evidence.

use crate::{JobId, RecordError};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::{Cursor, Write};
use std::path::{Component, Path, PathBuf};

/// The folder of sounds, one folder a job in it.
pub(crate) const SOUNDS: &str = "sounds";

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
pub(crate) fn word(text: &str) -> String {
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
    let name = format!(
        "{place}/{}/{}-{:x}.{ending}",
        word(job.as_str()),
        word(what),
        Sha256::digest(bytes)
    );
    write_whole(folder, &name, bytes)?;
    Ok(name)
}

/// Writes a file of this name from the records' folder, whole or not at all; it is on disk when this returns. The name says
/// what is in the file, so one that is there is the same.
pub(crate) fn write_whole(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), RecordError> {
    let path = folder.join(name);
    let home = path.parent().unwrap_or(folder);
    let failed = |error: &dyn std::fmt::Display| RecordError::Sound {
        path: home.to_owned(),
        what: error.to_string(),
    };
    let new = !home.exists();
    crate::owner_only::make_folder(home).map_err(|error| failed(&error))?;
    if !path.exists() {
        // Under another name first: a file of this name is whole, whatever happens.
        let write = || {
            let mut file = tempfile::Builder::new().suffix(".part").tempfile_in(home)?;
            file.write_all(bytes)?;
            file.as_file().sync_all()?;
            file.persist(&path).map_err(|error| error.error)
        };
        write().map_err(|error| failed(&error))?;
    }
    crate::sqlite::sync_folder(home)?;
    let above = home
        .ancestors()
        .skip(1)
        .take_while(|it| it.starts_with(folder));
    for folder in above.filter(|_| new) {
        crate::sqlite::sync_folder(folder)?;
    }
    Ok(())
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

/// What lies beside a journal, by its name from the records' folder. Names that lead out of it have nothing.
pub(crate) trait Files {
    fn read(&self, name: &str) -> Option<Vec<u8>>;
}

impl Files for Path {
    fn read(&self, name: &str) -> Option<Vec<u8>> {
        let path = PathBuf::from(name);
        let within = path
            .components()
            .all(|part| matches!(part, Component::Normal(_)));
        within
            .then(|| std::fs::read(self.join(path)).ok())
            .flatten()
    }
}

impl Files for BTreeMap<String, Vec<u8>> {
    fn read(&self, name: &str) -> Option<Vec<u8>> {
        self.get(name).cloned()
    }
}

/// Whether a sound or photo is as it was when a record named it.
pub(crate) fn look_at(files: &(impl Files + ?Sized), named: &str) -> SoundState {
    let wanted = named
        .rsplit_once('.')
        .and_then(|(name, _)| name.rsplit('-').next());
    match (files.read(named), wanted) {
        (Some(bytes), Some(wanted)) if format!("{:x}", Sha256::digest(&bytes)) == wanted => {
            SoundState::Whole
        }
        (Some(_), _) => SoundState::Changed,
        (None, _) => SoundState::Gone,
    }
}
