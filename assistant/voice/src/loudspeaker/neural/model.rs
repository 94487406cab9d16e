//! The model's files, run by ONNX Runtime, which is loaded at run time.
//!
//! A model of the VITS kind (J. Kim, J. Kong, J. Son, 2021, <https://arxiv.org/abs/2106.06103>): symbols in, samples out.
//! How many frames of sound each symbol gets is worked out inside it; it is asked for that as well, so when a symbol sounds
//! is known to the frame.
//!
//! # How does the voice know its words?
//!
//! The model works out how many frames each sound gets; this module makes that tensor an output of the file in
//! memory. libespeak-ng says which sound a word begins with. It runs words into one another, so the answer may be a
//! few sounds off; `words_within` allows that much more at both ends (`Synthesiser::doubt`).

use std::collections::HashMap;
use std::fmt::Display;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use ort::environment::Environment;
use ort::logging::LogLevel;
use ort::session::Session;
use ort::value::Tensor;
use serde::Deserialize;

use super::failed;
use crate::VoiceError;

/// The tensor inside the model that holds the frames of each symbol.
const FRAMES: &str = "/Ceil_output_0";

/// The symbols that begin and end what is spoken, and the one between all others.
const BEGIN: &str = "^";
const END: &str = "$";
const BETWEEN: &str = "_";

/// The model may begin with a third of a second of silence. So much is left before the first symbol, whose sound
/// rises before it begins: by up to 35 ms in ten pieces that were looked at.
const LEAD_SECONDS: f64 = 0.04;

/// A model that is ready to speak.
pub struct Model {
    session: Session,
    description: Description,
}

/// The file beside the model that describes it.
#[derive(Deserialize)]
struct Description {
    audio: Audio,
    espeak: Espeak,
    phoneme_id_map: HashMap<String, Vec<i64>>,
}

#[derive(Deserialize)]
struct Audio {
    sample_rate: u32,
}

#[derive(Deserialize)]
struct Espeak {
    voice: String,
}

/// What was spoken.
pub struct Spoken {
    /// −1 to 1.
    pub samples: Vec<f32>,
    /// With which sample each symbol begins, and behind them all where the last one ends.
    pub begins: Vec<usize>,
}

impl Model {
    /// Loads a model from its `.onnx` file, with the runtime of this file.
    pub fn load(weights: &Path, library: &Path) -> Result<Self, VoiceError> {
        let mut beside = weights.as_os_str().to_owned();
        beside.push(".json");
        let beside = PathBuf::from(beside);
        let description =
            serde_json::from_slice(&read(&beside)?).map_err(|error| unusable(&beside, &error))?;
        let mut model = read(weights)?;
        model.extend(with_output(FRAMES));
        let environment = environment(library)?;
        let session = session(&model, &environment).map_err(|error| unusable(weights, &error))?;
        Ok(Self {
            session,
            description,
        })
    }

    /// Samples a second.
    pub fn rate_hz(&self) -> u32 {
        self.description.audio.sample_rate
    }

    /// The voice of espeak-ng whose sounds it knows.
    pub fn sounds_of(&self) -> &str {
        &self.description.espeak.voice
    }

    /// Speaks the symbols, so many times as long as they are when the model is left alone. Without the noise that the
    /// model could add the same symbols always sound the same.
    pub fn speak(&mut self, symbols: &[char], length: f32) -> Result<Spoken, VoiceError> {
        let (ids, begins) = self.ids(symbols);
        let (mut samples, frames) = self
            .run(ids, length)
            .map_err(|error| failed(&error.to_string()))?;
        let all: f64 = frames.iter().sum();
        let sample = |frames: f64| (frames / all.max(1.0) * samples.len() as f64) as usize;
        let begins = begins
            .iter()
            .map(|at| sample(frames.iter().take(*at).sum()));
        let mut begins: Vec<usize> = begins.collect();
        let lead = (LEAD_SECONDS * f64::from(self.rate_hz())) as usize;
        let silent = begins.first().map_or(0, |first| first.saturating_sub(lead));
        samples.drain(..silent);
        for at in &mut begins {
            *at -= silent;
        }
        Ok(Spoken { samples, begins })
    }

    /// The model's numbers for the symbols, and at which of them each symbol begins. A symbol that it doesn't know is silent.
    fn ids(&self, symbols: &[char]) -> (Vec<i64>, Vec<usize>) {
        let known = |symbol: &str| {
            let ids = self.description.phoneme_id_map.get(symbol);
            ids.map_or(&[][..], Vec::as_slice)
        };
        let mut ids = [known(BEGIN), known(BETWEEN)].concat();
        let mut begins = Vec::with_capacity(symbols.len() + 1);
        for symbol in symbols {
            begins.push(ids.len());
            let own = known(symbol.encode_utf8(&mut [0; 4]));
            if !own.is_empty() {
                ids.extend(own);
                ids.extend(known(BETWEEN));
            }
        }
        begins.push(ids.len());
        ids.extend(known(END));
        (ids, begins)
    }

    fn run(&mut self, ids: Vec<i64>, length: f32) -> ort::Result<(Vec<f32>, Vec<f64>)> {
        let count = ids.len();
        let outputs = self.session.run(ort::inputs! {
            "input" => Tensor::from_array(([1, count], ids))?,
            "input_lengths" => Tensor::from_array(([1], vec![count as i64]))?,
            "scales" => Tensor::from_array(([3], vec![0.0, length, 0.0]))?,
        })?;
        let (_, samples) = outputs["output"].try_extract_tensor::<f32>()?;
        let (_, frames) = outputs[FRAMES].try_extract_tensor::<f32>()?;
        Ok((
            samples.to_vec(),
            frames.iter().map(|it| f64::from(*it)).collect(),
        ))
    }
}

/// What makes a tensor inside an ONNX model one more of its outputs when it is appended to the file: messages of Protocol
/// Buffers merge where they are joined. `ModelProto.graph` is field 7, `GraphProto.output` 12, `ValueInfoProto.name` 1
/// (`onnx.proto`).
fn with_output(name: &str) -> Vec<u8> {
    let field = |number: u8, value: &[u8]| {
        // Shorter than 128 bytes, so a length is one byte.
        [&[number << 3 | 2, value.len() as u8], value].concat()
    };
    field(7, &field(12, &field(1, name.as_bytes())))
}

/// One thread, so that an ear keeps the other core.
fn session(model: &[u8], environment: &Environment) -> ort::Result<Session> {
    Session::builder(environment)?
        .with_log_level(LogLevel::Fatal)?
        .with_intra_threads(1)?
        .commit_from_memory(model)
}

/// There can be one in a process.
fn environment(library: &Path) -> Result<Environment, VoiceError> {
    static ENVIRONMENT: Mutex<Option<Environment>> = Mutex::new(None);
    let mut environment = ENVIRONMENT.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(environment) = &*environment {
        return Ok(environment.clone());
    }
    // Before the library is there nothing else of `ort` can be called, not even its error made.
    let loaded = ort::init_from(library).map_err(|error| unusable(library, &error))?;
    let loaded = loaded.with_telemetry(false).build();
    let loaded = loaded.map_err(|error| unusable(library, &error))?;
    Ok(environment.insert(loaded).clone())
}

fn read(path: &Path) -> Result<Vec<u8>, VoiceError> {
    std::fs::read(path).map_err(|source| {
        VoiceError::io(
            format!(
                "the neural voice {} (run `cargo xtask setup`)",
                path.display()
            ),
            source,
        )
    })
}

fn unusable(file: &Path, reason: &dyn Display) -> VoiceError {
    failed(&format!(
        "{} can't be used ({reason}): run `cargo xtask setup`",
        file.display()
    ))
}
