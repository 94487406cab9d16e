//! The C library, loaded at run time: the only module here with `unsafe` in it.
//!
//! Signatures from the library's public header `vosk_api.h`, version 0.3.45.
//!
//! # Why at run time?
//!
//! The `-sys` crate needs the library when it is built. Loaded at run time, the program builds and tests without it,
//! and can say that it is missing.

use super::model::Model;
use crate::RecogniserError;
use crate::sound::{SAMPLE_RATE, tame};
use serde::Deserialize;
use std::ffi::{CStr, CString, c_char, c_float, c_int, c_void};
use std::path::{Path, PathBuf};
use std::ptr::NonNull;
use std::sync::Arc;

/// Silence fed after an utterance: the decoder needs 0.3 s after the last word to finish it.
const TAIL: usize = SAMPLE_RATE as usize * 3 / 10;

/// No message at all, not even warnings.
const SILENT: c_int = -3;

pub(super) fn cache() -> PathBuf {
    let variable = |name: &str| {
        std::env::var_os(name)
            .filter(|v| !v.is_empty())
            .map(PathBuf::from)
    };
    variable("SAYBACK_CACHE")
        .or_else(|| variable("XDG_CACHE_HOME").map(|cache| cache.join("sayback")))
        .or_else(|| variable("HOME").map(|home| home.join(".cache/sayback")))
        .unwrap_or_else(|| PathBuf::from(".cache/sayback"))
}

/// Where the library is looked for first: `$SAYBACK_VOSK_LIB`, or `vosk/libvosk.so` in the cache. If
/// it isn't there and the variable isn't set, the system's library path is searched as well.
pub fn library_path() -> PathBuf {
    std::env::var_os("SAYBACK_VOSK_LIB")
        .filter(|path| !path.is_empty())
        .map_or_else(|| cache().join("vosk/libvosk.so"), PathBuf::from)
}

type Opaque = c_void;

/// The functions that are used.
pub(super) struct Library {
    set_log_level: unsafe extern "C" fn(c_int),
    model_new: unsafe extern "C" fn(*const c_char) -> *mut Opaque,
    model_free: unsafe extern "C" fn(*mut Opaque),
    model_find_word: unsafe extern "C" fn(*mut Opaque, *const c_char) -> c_int,
    recognizer_new: unsafe extern "C" fn(*mut Opaque, c_float) -> *mut Opaque,
    recognizer_new_grm: unsafe extern "C" fn(*mut Opaque, c_float, *const c_char) -> *mut Opaque,
    recognizer_set_words: unsafe extern "C" fn(*mut Opaque, c_int),
    recognizer_accept_waveform_f: unsafe extern "C" fn(*mut Opaque, *const c_float, c_int) -> c_int,
    recognizer_final_result: unsafe extern "C" fn(*mut Opaque) -> *const c_char,
    recognizer_reset: unsafe extern "C" fn(*mut Opaque),
    recognizer_free: unsafe extern "C" fn(*mut Opaque),
    /// Keeps what the pointers above point to.
    _loaded: libloading::Library,
}

impl Library {
    pub(super) fn load() -> Result<Self, RecogniserError> {
        let path = library_path();
        let named = std::env::var_os("SAYBACK_VOSK_LIB").is_some_and(|v| !v.is_empty());
        let file = if named || path.exists() {
            path.clone()
        } else {
            PathBuf::from("libvosk.so")
        };
        // SAFETY: loading runs the library's initialisers. The file is the one that set-up placed, that the
        // user named or that the system offers under the library's own name: it is trusted as any
        // library that a program links to.
        let loaded = unsafe { libloading::Library::new(&file) };
        let loaded = loaded.map_err(|error| {
            if path.exists() {
                RecogniserError::Unusable {
                    path: path.clone(),
                    reason: error.to_string(),
                }
            } else {
                RecogniserError::Missing {
                    what: "the Vosk library".to_owned(),
                    path: path.clone(),
                    remedy: "run `cargo xtask setup`, put libvosk.so there, or name it in \
                             SAYBACK_VOSK_LIB; without it the other recogniser still works"
                        .to_owned(),
                }
            }
        })?;
        let library = Self::bind(loaded).map_err(|error| RecogniserError::Unusable {
            path: file,
            reason: format!("it isn't the Vosk library 0.3.45 or newer: {error}"),
        })?;
        // SAFETY: takes any number and only sets a global level.
        unsafe { (library.set_log_level)(SILENT) };
        Ok(library)
    }

    fn bind(loaded: libloading::Library) -> Result<Self, libloading::Error> {
        // SAFETY: each symbol is given the type that the header declares for it; the pointers live in the
        // same struct as the library, which is unloaded only when the struct goes.
        unsafe {
            Ok(Self {
                set_log_level: *loaded.get(c"vosk_set_log_level")?,
                model_new: *loaded.get(c"vosk_model_new")?,
                model_free: *loaded.get(c"vosk_model_free")?,
                model_find_word: *loaded.get(c"vosk_model_find_word")?,
                recognizer_new: *loaded.get(c"vosk_recognizer_new")?,
                recognizer_new_grm: *loaded.get(c"vosk_recognizer_new_grm")?,
                recognizer_set_words: *loaded.get(c"vosk_recognizer_set_words")?,
                recognizer_accept_waveform_f: *loaded.get(c"vosk_recognizer_accept_waveform_f")?,
                recognizer_final_result: *loaded.get(c"vosk_recognizer_final_result")?,
                recognizer_reset: *loaded.get(c"vosk_recognizer_reset")?,
                recognizer_free: *loaded.get(c"vosk_recognizer_free")?,
                _loaded: loaded,
            })
        }
    }
}

/// A model in the library.
pub(super) struct RawModel {
    pointer: NonNull<Opaque>,
    library: Arc<Library>,
}

// SAFETY: the header promises that a model may be shared by recognisers on several threads; it isn't
// changed after loading.
unsafe impl Send for RawModel {}
// SAFETY: as above; looking a word up only reads the symbol table.
unsafe impl Sync for RawModel {}

impl RawModel {
    /// `None`: the library can't read it. The files that it would crash without were checked before.
    pub(super) fn load(library: Arc<Library>, folder: &Path) -> Option<Self> {
        let path = CString::new(folder.to_str()?).ok()?;
        // SAFETY: the path is a C string that lives through the call.
        let pointer = NonNull::new(unsafe { (library.model_new)(path.as_ptr()) })?;
        Some(Self { pointer, library })
    }

    pub(super) fn has_word(&self, word: &str) -> bool {
        let Ok(word) = CString::new(word) else {
            return false;
        };
        // SAFETY: the model lives as long as `self`, the C string through the call.
        unsafe { (self.library.model_find_word)(self.pointer.as_ptr(), word.as_ptr()) >= 0 }
    }
}

impl Drop for RawModel {
    fn drop(&mut self) {
        // SAFETY: made by `model_new` and freed only here; decoders hold the model's `Arc`.
        unsafe { (self.library.model_free)(self.pointer.as_ptr()) };
    }
}

/// A recogniser in the library.
pub(super) struct Decoder {
    pointer: NonNull<Opaque>,
    model: Arc<Model>,
}

// SAFETY: a recogniser is bound to no thread, only not to be used by two at once, and all of its
// methods that do anything take `&mut self`.
unsafe impl Send for Decoder {}

impl Decoder {
    /// Decodes anything that the model knows.
    pub(super) fn free(model: Arc<Model>) -> Result<Self, RecogniserError> {
        let raw = model.raw();
        // SAFETY: the model is alive, the rate positive and finite.
        let made =
            unsafe { (raw.library.recognizer_new)(raw.pointer.as_ptr(), SAMPLE_RATE as c_float) };
        Self::made(made, model)
    }

    /// Decodes within a grammar: a JSON list of at least one string, of words that the model knows.
    pub(super) fn with_grammar(model: Arc<Model>, grammar: &str) -> Result<Self, RecogniserError> {
        let raw = model.raw();
        let grammar = CString::new(grammar)
            .map_err(|_| RecogniserError::Phrases("one holds a zero character".to_owned()))?;
        // SAFETY: the model is alive, the rate positive and finite, the grammar a C string that lives through
        // the call and a JSON list as the caller promises.
        let made = unsafe {
            (raw.library.recognizer_new_grm)(
                raw.pointer.as_ptr(),
                SAMPLE_RATE as c_float,
                grammar.as_ptr(),
            )
        };
        Self::made(made, model)
    }

    fn made(pointer: *mut Opaque, model: Arc<Model>) -> Result<Self, RecogniserError> {
        let Some(pointer) = NonNull::new(pointer) else {
            return Err(RecogniserError::Phrases(
                "the library makes no grammar of them".to_owned(),
            ));
        };
        // SAFETY: just made; asks for each word's confidence.
        unsafe { (model.raw().library.recognizer_set_words)(pointer.as_ptr(), 1) };
        Ok(Self { pointer, model })
    }

    /// Decodes one utterance, 16 kHz mono, −1 to 1.
    pub(super) fn decode(&mut self, samples: &[f32]) -> Decoded {
        let scaled: Vec<c_float> = samples
            .iter()
            // A sample that isn't a number aborts the library.
            .map(|sample| tame(*sample) * 32_768.0)
            .chain(std::iter::repeat_n(0.0, TAIL))
            .collect();
        // An hour has 58 million samples; what doesn't fit is no utterance.
        let Ok(count) = c_int::try_from(scaled.len()) else {
            return Decoded::default();
        };
        let library = &self.model.raw().library;
        // SAFETY: the recogniser is alive and used by this thread alone (`&mut self`); the samples
        // live through the call and `count` is their number; the result is a C string owned by the
        // recogniser until its next call, and is copied before that.
        let json = unsafe {
            (library.recognizer_accept_waveform_f)(self.pointer.as_ptr(), scaled.as_ptr(), count);
            let result = (library.recognizer_final_result)(self.pointer.as_ptr());
            if result.is_null() {
                return Decoded::default();
            }
            let json = CStr::from_ptr(result).to_string_lossy().into_owned();
            (library.recognizer_reset)(self.pointer.as_ptr());
            json
        };
        // Without words the library leaves the list out, or gives another form of result: nothing heard.
        serde_json::from_str(&json).unwrap_or_default()
    }
}

impl Drop for Decoder {
    fn drop(&mut self) {
        // SAFETY: made by the library and freed only here, while the model is still held.
        unsafe { (self.model.raw().library.recognizer_free)(self.pointer.as_ptr()) };
    }
}

/// What the library heard.
#[derive(Debug, Default, Deserialize)]
pub(super) struct Decoded {
    #[serde(default, rename = "result")]
    words: Vec<Word>,
}

#[derive(Debug, Deserialize)]
struct Word {
    word: String,
    conf: f32,
}

impl Decoded {
    /// The words with one blank between them.
    pub(super) fn text(&self) -> String {
        self.words
            .iter()
            .map(|word| word.word.as_str())
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// The confidence of the least certain word, 0 to 1.
    pub(super) fn least_confidence(&self) -> Option<f32> {
        self.words
            .iter()
            .map(|word| word.conf.clamp(0.0, 1.0))
            .reduce(f32::min)
    }
}
