//! The program espeak-ng, sentence by sentence: into memory, or one after the other into a WAV file.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use files::{IfThere, Output};

use crate::{Settings, Voice, VoiceError, speakable};

/// Silence between two sentences in a file, in milliseconds.
const GAP_MS: u32 = 300;

/// What espeak-ng makes; known before the first sentence so that the file can be begun empty.
const ESPEAK_RATE_HZ: u32 = 22_050;

/// Mono sound in 16-bit samples.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sound {
    pub samples: Vec<i16>,
    /// Samples per second.
    pub rate_hz: u32,
}

/// Speaks `text` with espeak-ng's American English voice into memory.
///
/// Fails when the program isn't installed or answers with something that isn't sound.
pub fn synthesise(text: &str, settings: &Settings) -> Result<Sound, VoiceError> {
    speak(text, settings, crate::ENGLISH)
}

fn speak(text: &str, settings: &Settings, voice: &str) -> Result<Sound, VoiceError> {
    // Full volume is espeak-ng's own default amplitude, 100 of 200: above it, it clips.
    let rate = settings.rate.words().to_string();
    let amplitude = settings.volume.percent().to_string();
    let voice = settings.timbre.of_espeak(voice);
    run(text, &["-v", &voice, "-s", &rate, "-a", &amplitude])
}

/// Speaks `text` with the arguments that choose and shape the voice.
pub(crate) fn run(text: &str, arguments: &[&str]) -> Result<Sound, VoiceError> {
    let text = speakable(text);
    if text.is_empty() {
        return Ok(Sound {
            samples: Vec::new(),
            rate_hz: ESPEAK_RATE_HZ,
        });
    }
    let mut child = Command::new("espeak-ng")
        .args(arguments)
        // UTF-8 text on standard input, so that no text is taken for an option.
        .args(["-b", "1", "--stdin", "--stdout"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|source| VoiceError::NotStarted {
            program: "espeak-ng",
            source,
        })?;
    let stdin = child.stdin.take();
    let output = std::thread::scope(|scope| {
        // It speaks while it reads: writing and reading must go on together.
        scope.spawn(move || stdin.map(|mut stdin| stdin.write_all(text.as_bytes())));
        child.wait_with_output()
    })
    .map_err(|source| VoiceError::io("espeak-ng", source))?;
    let failed = |reason: String| VoiceError::Failed {
        program: "espeak-ng".to_owned(),
        reason,
    };
    if !output.status.success() {
        return Err(failed(
            String::from_utf8_lossy(&output.stderr).trim().to_owned(),
        ));
    }
    parse(&output.stdout).ok_or_else(|| failed("it answered with something else than sound".into()))
}

/// Reads the WAV that espeak-ng streams: its lengths are placeholders, so the data goes to the end.
fn parse(wav: &[u8]) -> Option<Sound> {
    let (header, data) = wav.split_at_checked(44)?;
    if !header.starts_with(b"RIFF") || &header[36..40] != b"data" {
        return None;
    }
    let rate_hz = u32::from_le_bytes(header[24..28].try_into().ok()?);
    let samples = data
        .chunks_exact(2)
        .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
        .collect();
    Some(Sound { samples, rate_hz })
}

/// Appends each sentence to one WAV file, with a gap between.
///
/// The file is whole after every sentence. Nothing is played, so it never speaks and is never stopped.
pub struct EspeakWav {
    path: PathBuf,
    /// The name of espeak-ng's voice.
    voice: String,
    writer: hound::WavWriter<BufWriter<File>>,
    settings: Settings,
    empty: bool,
}

impl EspeakWav {
    /// Begins a new file (mono, 16 bit, 22 050 Hz), with one of espeak-ng's voices, by its name.
    ///
    /// Fails when one is there and mustn't be replaced, when it can't be written, when espeak-ng isn't installed or has no
    /// such voice.
    pub fn create(
        path: &Path,
        settings: Settings,
        voice: &str,
        if_there: IfThere,
    ) -> Result<Self, VoiceError> {
        files::check_place(path, if_there)?;
        speak("ready", &settings, voice)?;
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: ESPEAK_RATE_HZ,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let told = |source| VoiceError::Sound {
            path: path.to_owned(),
            source,
        };
        // It is in its place from the first sentence on, so that whoever waits for one can hear it.
        let file = Output::begin(path, if_there)?.put()?;
        let mut writer = hound::WavWriter::new(BufWriter::new(file), spec).map_err(told)?;
        writer.flush().map_err(told)?;
        Ok(EspeakWav {
            path: path.to_owned(),
            voice: voice.to_owned(),
            writer,
            settings,
            empty: true,
        })
    }

    fn append(&mut self, sound: &Sound) -> Result<(), hound::Error> {
        if !self.empty {
            for _ in 0..ESPEAK_RATE_HZ * GAP_MS / 1_000 {
                self.writer.write_sample(0_i16)?;
            }
        }
        for &sample in &sound.samples {
            self.writer.write_sample(sample)?;
        }
        self.empty = false;
        self.writer.flush()
    }
}

impl Voice for EspeakWav {
    fn name(&self) -> String {
        format!("espeak-ng into {}", self.path.display())
    }

    fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
        let sound = speak(sentence, &self.settings, &self.voice)?;
        if sound.samples.is_empty() {
            return Ok(());
        }
        if sound.rate_hz != ESPEAK_RATE_HZ {
            return Err(VoiceError::Failed {
                program: "espeak-ng".to_owned(),
                reason: format!("it speaks at {} Hz, not {ESPEAK_RATE_HZ} Hz", sound.rate_hz),
            });
        }
        self.append(&sound).map_err(|source| VoiceError::Sound {
            path: self.path.clone(),
            source,
        })
    }

    fn stop(&mut self) {}

    fn is_speaking(&self) -> bool {
        false
    }

    fn set(&mut self, settings: Settings) -> Result<(), VoiceError> {
        self.settings = settings;
        Ok(())
    }

    fn settings(&self) -> Settings {
        self.settings
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_sound_is_refused() {
        assert_eq!(parse(b""), None);
        assert_eq!(parse(&[0; 43]), None);
        assert_eq!(parse(&[b'x'; 100]), None);
    }
}
