//! Recognisers that are not the program's own, all sentences in one process.

use super::rivals::{self, Piece, Wording};
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use steps::Language;
use voice::Sound;
use voice::fixtures::cache_folder;

/// What was heard of a sentence.
#[derive(Debug, serde::Deserialize)]
pub struct Heard {
    /// The words that fitted best for PocketSphinx.
    pub first: String,
    /// Where those aren't what was said: which of the two Whisper takes it for.
    pub second: Option<String>,
}

impl Heard {
    /// The words that were heard in the end.
    pub fn words(&self) -> &str {
        self.second.as_ref().unwrap_or(&self.first)
    }
}

#[derive(serde::Serialize)]
struct Question {
    wav: std::path::PathBuf,
    pieces: Vec<Piece>,
}

/// Speaks every sentence with a voice of the program and has it listened to.
pub fn listen_to(
    sentences: &[&str],
    wording: Wording,
    voice: &dyn Fn(&str) -> Sound,
) -> Vec<Heard> {
    let folder = tempfile::tempdir().unwrap();
    let questions: Vec<Question> = sentences
        .iter()
        .enumerate()
        .map(|(number, sentence)| {
            let wav = folder.path().join(format!("{number}.wav"));
            write(voice(&wording(Language::English, sentence)), &wav);
            Question {
                wav,
                pieces: rivals::pieces(sentence, wording),
            }
        })
        .collect();
    let heard: Vec<Heard> = serde_json::from_slice(&listen(&questions)).unwrap();
    assert_eq!(heard.len(), sentences.len());
    heard
}

fn write(sound: Sound, wav: &Path) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: sound.rate_hz,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(wav, spec).unwrap();
    for sample in sound.samples {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
}

fn listen(questions: &[Question]) -> Vec<u8> {
    let cache = cache_folder().expect("a home folder or SAYBACK_CACHE");
    let python = cache.join("venv/bin/python");
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("told/listen.py");
    let mut child = Command::new(&python)
        .arg(&script)
        .arg(cache.join("ear-en"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{}: {error}; run `cargo xtask setup`", python.display()));
    let asked = serde_json::to_vec(questions).unwrap();
    // The script reads everything before it answers, so this can't block for ever.
    child.stdin.take().unwrap().write_all(&asked).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{} failed", script.display());
    output.stdout
}
