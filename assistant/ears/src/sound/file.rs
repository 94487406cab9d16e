//! A recording from a WAV file.

use super::resample::{RATES, ToSixteenKilohertz};
use super::{clipped_share, mix_to_mono};
use std::io::Cursor;
use std::path::{Path, PathBuf};

/// Largest file that is read, in bytes (512 MiB). It is held in memory while it is converted.
pub const MAXIMUM_BYTES: u64 = 512 << 20;

/// Longest recording that is read, in seconds (one hour).
pub const MAXIMUM_SECONDS: u64 = 3_600;

/// Frames (a sample of every channel) converted at a time.
const BLOCK: usize = 4_096;

/// A recording as 16 kHz mono, and what it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// 16 kHz mono, −1 to 1.
    pub samples: Vec<f32>,
    /// Samples a second in the file.
    pub rate: u32,
    /// Channels in the file; they were averaged.
    pub channels: u16,
    /// Share of the file's own samples that were clipped, 0 to 1, before mixing and resampling.
    pub clipped: f32,
    /// Set where the file ends before its header says: `samples` is what was there.
    pub truncated: Option<Truncation>,
}

impl Recording {
    /// Length of what was read, in seconds.
    pub fn seconds(&self) -> f32 {
        self.samples.len() as f32 / super::SAMPLE_RATE as f32
    }
}

/// How much of a recording is missing at its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Truncation {
    /// Bytes of sound that the header promises.
    pub promised: u32,
    /// Bytes of sound that are there.
    pub present: u32,
}

impl std::fmt::Display for Truncation {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { promised, present } = self;
        write!(
            out,
            "the recording is cut short: {present} of {promised} bytes of sound are there"
        )
    }
}

/// Why a file gave no sound.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FileError {
    /// There is no such file.
    #[error("there is no file {0}: check the name")]
    Missing(PathBuf),
    /// The file is there but can't be read.
    #[error("{path} can't be read")]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// It is no plain file.
    #[error(transparent)]
    NotAFile(files::FileError),
    /// Not a single sample is in it.
    #[error("{0} holds no sound: record it again")]
    Empty(PathBuf),
    /// It isn't a WAV file, whatever its name says.
    #[error("{path} isn't a WAV file ({reason}): give a recording in WAV format")]
    NotWav {
        /// The file.
        path: PathBuf,
        /// What was found wrong.
        reason: String,
    },
    /// A WAV file in an encoding that isn't read.
    #[error(
        "{path} is a WAV file of a kind that can't be read ({reason}): convert it to 16-bit PCM"
    )]
    Unsupported {
        /// The file.
        path: PathBuf,
        /// What was found.
        reason: String,
    },
    /// Its header gives a rate that no sound has.
    #[error(
        "{path} says it has {rate} samples a second, but sound has {} to {}: its header is damaged",
        RATES.start(),
        RATES.end()
    )]
    Rate {
        /// The file.
        path: PathBuf,
        /// The rate in its header.
        rate: u32,
    },
    /// More than [`MAXIMUM_BYTES`] or [`MAXIMUM_SECONDS`].
    #[error(
        "{path} is too large ({size}): at most {} MiB and {} minutes are read; cut it into pieces",
        MAXIMUM_BYTES >> 20,
        MAXIMUM_SECONDS / 60
    )]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size or length, with the unit.
        size: String,
    },
}

/// Reads a WAV file of any rate from 4 to 384 kHz, any number of channels and integer samples of 8,
/// 16, 24 or 32 bits or float samples of 32 bits, and makes 16 kHz mono of it.
///
/// A file that ends early, or whose header leaves the length open, is read as far as it goes; see
/// [`Recording::truncated`].
pub fn read(path: &Path) -> Result<Recording, FileError> {
    decode(bytes(path)?, path)
}

fn bytes(path: &Path) -> Result<Vec<u8>, FileError> {
    let bytes = files::read(path, MAXIMUM_BYTES).map_err(|error| match error {
        files::FileError::Missing(path) => FileError::Missing(path),
        files::FileError::System { path, source, .. } => FileError::Unreadable { path, source },
        files::FileError::TooLarge { path, .. } => FileError::TooLarge {
            path,
            size: format!("more than {} MiB", MAXIMUM_BYTES >> 20),
        },
        error => FileError::NotAFile(error),
    })?;
    if bytes.is_empty() {
        return Err(FileError::Empty(path.to_owned()));
    }
    Ok(bytes)
}

fn decode(mut bytes: Vec<u8>, path: &Path) -> Result<Recording, FileError> {
    let truncated = mend(&mut bytes);
    let reader = hound::WavReader::new(Cursor::new(bytes)).map_err(|error| refusal(error, path))?;
    let spec = reader.spec();
    let channels = usize::from(spec.channels);
    let frames = u64::from(reader.len()) / channels.max(1) as u64;
    let Some(mut converter) = ToSixteenKilohertz::from_rate(spec.sample_rate) else {
        return Err(FileError::Rate {
            path: path.to_owned(),
            rate: spec.sample_rate,
        });
    };
    let seconds = frames / u64::from(spec.sample_rate);
    if seconds > MAXIMUM_SECONDS {
        let size = format!("{} minutes", seconds / 60);
        return Err(FileError::TooLarge {
            path: path.to_owned(),
            size,
        });
    }

    let mut out = Vec::with_capacity((seconds as usize + 1) * super::SAMPLE_RATE as usize);
    let (mut clipped, mut total) = (0.0, 0.0);
    let mut block = Vec::with_capacity(BLOCK * channels);
    let mut take = |block: &mut Vec<f32>| {
        clipped += f64::from(clipped_share(block)) * block.len() as f64;
        total += block.len() as f64;
        converter.push(mix_to_mono(block, channels), &mut out);
        block.clear();
    };
    for sample in samples(reader) {
        block.push(sample.map_err(|error| refusal(error, path))?);
        if block.len() == BLOCK * channels {
            take(&mut block);
        }
    }
    take(&mut block);
    if total == 0.0 {
        return Err(FileError::Empty(path.to_owned()));
    }
    converter.finish(&mut out);
    Ok(Recording {
        samples: out,
        rate: spec.sample_rate,
        channels: spec.channels,
        clipped: (clipped / total) as f32,
        truncated,
    })
}

type Samples = Box<dyn Iterator<Item = Result<f32, hound::Error>>>;

/// The file's samples, −1 to 1, channels interleaved.
fn samples(reader: hound::WavReader<Cursor<Vec<u8>>>) -> Samples {
    let spec = reader.spec();
    match spec.sample_format {
        hound::SampleFormat::Float => Box::new(reader.into_samples::<f32>()),
        hound::SampleFormat::Int => {
            let full_scale = 2f32.powi(i32::from(spec.bits_per_sample) - 1);
            Box::new(
                reader
                    .into_samples::<i32>()
                    .map(move |s| s.map(|s| s as f32 / full_scale)),
            )
        }
    }
}

fn refusal(error: hound::Error, path: &Path) -> FileError {
    let path = path.to_owned();
    match error {
        hound::Error::FormatError(reason) => FileError::NotWav {
            path,
            reason: reason.to_owned(),
        },
        // The bytes are in memory: reading on can only fail because they end.
        hound::Error::IoError(_) => FileError::NotWav {
            path,
            reason: "it ends within its header".to_owned(),
        },
        error @ (hound::Error::TooWide
        | hound::Error::UnfinishedSample
        | hound::Error::Unsupported
        | hound::Error::InvalidSampleFormat) => FileError::Unsupported {
            path,
            reason: error.to_string(),
        },
    }
}

/// Cuts everything but the format and the sound out of a WAV file, and puts the length of the sound that
/// is there into its header where the header promises more, so that what is there can be read.
/// Recorders that stream leave the length at its largest value: that is no truncation. A file without
/// both chunks is left as it is, for the reader to refuse.
fn mend(bytes: &mut Vec<u8>) -> Option<Truncation> {
    if bytes.get(..4) != Some(b"RIFF") || bytes.get(8..12) != Some(b"WAVE") {
        return None;
    }
    let (mut at, mut format) = (12, None);
    loop {
        let body = at + 8;
        let length = u32::from_le_bytes(bytes.get(at + 4..body)?.try_into().ok()?);
        let end = body.checked_add(length as usize)?;
        match &bytes[at..at + 4] {
            b"fmt " => format = Some(bytes.get(at..end)?.to_vec()),
            b"data" => {
                let mut header = format?;
                // Bytes of a frame, in the format chunk after eight bytes of its head and twelve of it.
                let frame = u16::from_le_bytes(header.get(20..22)?.try_into().ok()?).max(1);
                let there = (bytes.len() - body) as u64;
                let present = u64::from(length).min(there) as u32;
                let whole = present - present % u32::from(frame);
                header.extend_from_slice(b"data");
                header.extend_from_slice(&whole.to_le_bytes());
                bytes.splice(12..body, header);
                // 0xFFFF_FFFF by convention, 0x7FFF_F000 and the like by habit.
                let open = length >= 0x7FFF_0000;
                return (whole < length && !open).then_some(Truncation {
                    promised: length,
                    present: whole,
                });
            }
            _ => {}
        }
        // A chunk of odd length is followed by a byte of padding (RIFF).
        at = end.checked_add(length as usize % 2)?;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn wav(seconds: f32) -> Vec<u8> {
        let spec = hound::WavSpec {
            channels: 2,
            sample_rate: 8_000,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut bytes = Cursor::new(Vec::new());
        let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
        for n in 0..(seconds * 16_000.0) as i32 {
            writer.write_sample((n * 37 % 20_000) as i16).unwrap();
        }
        writer.finalize().unwrap();
        bytes.into_inner()
    }

    fn decoded(bytes: Vec<u8>) -> Result<Recording, FileError> {
        decode(bytes, Path::new("test.wav"))
    }

    #[test]
    fn a_length_left_open_by_a_streaming_recorder_is_no_truncation() {
        let mut bytes = wav(0.5);
        bytes[40..44].copy_from_slice(&u32::MAX.to_le_bytes());
        let recording = decoded(bytes).unwrap();
        assert_eq!(recording.truncated, None);
        assert_eq!(recording.samples.len(), 8_000);
    }

    #[test]
    fn a_promise_that_the_file_does_not_keep_is_reported() {
        let mut bytes = wav(0.5);
        bytes.truncate(44 + 4_001);
        let recording = decoded(bytes).unwrap();
        assert_eq!(
            recording.truncated,
            Some(Truncation {
                promised: 16_000,
                present: 4_000
            })
        );
        assert_eq!(recording.samples.len(), 2_000);
    }

    proptest! {
        #[test]
        fn damage_is_an_error_or_sound_but_never_a_panic(
            damage in prop::collection::vec((0usize..64, any::<u8>()), 1..6),
            length in 0usize..600,
        ) {
            let mut bytes = wav(0.02);
            for (at, value) in damage {
                bytes[at] = value;
            }
            bytes.truncate(length);
            if let Ok(recording) = decoded(bytes) {
                prop_assert!(recording.samples.iter().all(|s| s.abs() <= 1.0));
            }
        }
    }
}
