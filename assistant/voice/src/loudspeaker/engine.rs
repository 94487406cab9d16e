//! The speech synthesiser espeak-ng as a library, loaded at run time.
//!
//! It keeps its state in globals, so there is one engine for the whole process, behind a lock, and it is never
//! unloaded.
//!
//! # Why in this process?
//!
//! The echo canceller has to know what is played to the sample, and when each word is spoken to the millisecond. The
//! library is loaded at run time and isn't distributed with the program.

mod phonemes;

use std::ffi::{CString, c_char, c_int, c_uint, c_void};
use std::ptr;
use std::sync::{Mutex, MutexGuard, PoisonError};

use libloading::Library;

use crate::{Settings, VoiceError, speakable};

/// What the library is called where it is installed, by platform.
const NAMES: [&str; 3] = [
    "libespeak-ng.so.1",
    "libespeak-ng.1.dylib",
    "libespeak-ng.dll",
];

/// Milliseconds of sound that the engine makes at a time: the first piece can be played after it.
const PIECE_MS: c_int = 20;

// The constants of its header `speak_lib.h`.
const SYNCHRONOUS: c_int = 2;
const DONT_EXIT: c_int = 0x8000;
const OK: c_int = 0;
const RATE: c_int = 1;
const VOLUME: c_int = 2;
const BY_CHARACTER: c_int = 1;
const UTF8: c_uint = 1;
const END_PAUSE: c_uint = 0x1000;
const EVENT_END_OF_LIST: c_int = 0;
const EVENT_WORD: c_int = 1;

/// `espeak_EVENT` of the header.
#[repr(C)]
struct RawEvent {
    kind: c_int,
    _message: c_uint,
    /// In characters, counted from 1.
    text_position: c_int,
    _length: c_int,
    /// In milliseconds from the beginning of the message.
    audio_position: c_int,
    _sample: c_int,
    _user_data: *mut c_void,
    _id: [c_char; 8],
}

type Callback = unsafe extern "C" fn(*mut i16, c_int, *mut RawEvent) -> c_int;

/// A word, and where in the sound of its sentence it begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// The word as it stood in the text.
    pub text: String,
    /// Milliseconds from the sentence's beginning.
    pub at_ms: u32,
}

impl Word {
    /// Without the punctuation around it.
    pub(super) fn new(word: &str, at_ms: u32) -> Self {
        Self {
            text: word
                .trim_matches(|it: char| !it.is_alphanumeric())
                .to_owned(),
            at_ms,
        }
    }
}

/// Takes the pieces of a sentence as they are made, with the words that begin in them. `false` ends it.
pub trait Sink {
    /// The next samples.
    fn piece(&mut self, samples: &[i16], words: Vec<Word>) -> bool;
}

/// The functions of the library.
pub struct Engine {
    synth: unsafe extern "C" fn(
        *const c_void,
        usize,
        c_uint,
        c_int,
        c_uint,
        c_uint,
        *mut c_uint,
        *mut c_void,
    ) -> c_int,
    set_parameter: unsafe extern "C" fn(c_int, c_int, c_int) -> c_int,
    set_voice: unsafe extern "C" fn(*const c_char) -> c_int,
    text_to_phonemes: phonemes::TextToPhonemes,
    /// Samples a second of what it makes.
    pub rate_hz: u32,
}

/// The one engine, once it was asked for.
static ENGINE: Mutex<Option<Engine>> = Mutex::new(None);

/// Who takes the sound of the sentence that is being made, and its text. Set only while [`ENGINE`] is locked.
static TAKER: Mutex<Option<Taker>> = Mutex::new(None);

struct Taker {
    sink: *mut dyn Sink,
    text: Vec<char>,
    /// Characters before which every word was told: the engine tells some twice.
    told: usize,
}

// SAFETY: the pointer is set and used by the one thread that holds the lock of `ENGINE`: the engine calls back
// on the thread that called it.
unsafe impl Send for Taker {}

/// The engine of this process, loaded now if it wasn't yet; kept from others until the guard goes.
pub fn engine() -> Result<Loaded, VoiceError> {
    let mut engine = lock(&ENGINE);
    if engine.is_none() {
        *engine = Some(Engine::load()?);
    }
    Ok(Loaded(engine))
}

/// The engine, ours for now.
pub struct Loaded(MutexGuard<'static, Option<Engine>>);

impl Loaded {
    /// Samples a second of what it makes.
    pub fn rate_hz(&self) -> u32 {
        self.0.as_ref().map_or(0, |engine| engine.rate_hz)
    }

    /// Speaks a sentence into the sink.
    pub fn speak(
        &mut self,
        sentence: &str,
        voice: &str,
        settings: Settings,
        sink: &mut dyn Sink,
    ) -> Result<(), VoiceError> {
        match self.0.as_mut() {
            Some(engine) => engine.speak(sentence, voice, settings, sink),
            None => Ok(()),
        }
    }
}

impl Engine {
    fn load() -> Result<Self, VoiceError> {
        let mut missing = None;
        for name in NAMES {
            // SAFETY: loading runs the library's initialisers; espeak-ng has none.
            match unsafe { Library::new(name) } {
                // Its functions stay callable for as long as the process runs, also where one of them isn't there.
                Ok(library) => return Self::begin(Box::leak(Box::new(library))),
                Err(error) => missing = missing.or(Some(error)),
            }
        }
        Err(VoiceError::Failed {
            program: "libespeak-ng".to_owned(),
            reason: format!(
                "it can't be loaded ({}); run `cargo xtask setup`, or install it",
                missing.map(|it| it.to_string()).unwrap_or_default()
            ),
        })
    }

    fn begin(library: &'static Library) -> Result<Self, VoiceError> {
        let unusable = |error: libloading::Error| failed(format!("a function is missing: {error}"));
        // SAFETY: each type is that of the function of this name in `speak_lib.h` of espeak-ng 1.51.
        let (initialize, set_callback, synth, set_parameter, set_voice, text_to_phonemes) = unsafe {
            (
                *library
                    .get::<unsafe extern "C" fn(c_int, c_int, *const c_char, c_int) -> c_int>(
                        b"espeak_Initialize\0",
                    )
                    .map_err(unusable)?,
                *library
                    .get::<unsafe extern "C" fn(Callback)>(b"espeak_SetSynthCallback\0")
                    .map_err(unusable)?,
                *library.get(b"espeak_Synth\0").map_err(unusable)?,
                *library.get(b"espeak_SetParameter\0").map_err(unusable)?,
                *library.get(b"espeak_SetVoiceByName\0").map_err(unusable)?,
                *library.get(b"espeak_TextToPhonemes\0").map_err(unusable)?,
            )
        };
        // SAFETY: a null path means the usual place of its data; `DONT_EXIT` makes it answer, not end the
        // process, when they are missing.
        let rate = unsafe { initialize(SYNCHRONOUS, PIECE_MS, ptr::null(), DONT_EXIT) };
        let rate_hz = u32::try_from(rate)
            .ok()
            .filter(|rate| *rate > 0)
            .ok_or_else(|| failed("its data are missing: install espeak-ng-data".to_owned()))?;
        // SAFETY: the callback has the type of the header and lives as long as the process.
        unsafe { set_callback(take) };
        Ok(Self {
            synth,
            set_parameter,
            set_voice,
            text_to_phonemes,
            rate_hz,
        })
    }

    fn speak(
        &mut self,
        sentence: &str,
        voice: &str,
        settings: Settings,
        sink: &mut dyn Sink,
    ) -> Result<(), VoiceError> {
        let text = speakable(sentence);
        if text.is_empty() {
            return Ok(());
        }
        // Control characters became spaces, the terminating zero among them.
        let (Ok(terminated), Ok(voice_name)) = (
            CString::new(text.as_str()),
            CString::new(settings.timbre.of_espeak(voice)),
        ) else {
            return Err(failed(format!("{voice:?} is no voice")));
        };
        let rate = c_int::from(settings.rate.words());
        // Full volume is espeak-ng's own default, 100 of 200: above it, it clips.
        let volume = c_int::from(settings.volume.percent());
        // SAFETY: the name ends with a zero and is only read; the parameters are numbers in their ranges.
        let ready = unsafe {
            (self.set_voice)(voice_name.as_ptr()) == OK
                && (self.set_parameter)(RATE, rate, 0) == OK
                && (self.set_parameter)(VOLUME, volume, 0) == OK
        };
        if !ready {
            return Err(failed(format!("it has no voice {voice:?}")));
        }
        // SAFETY: only the lifetime changes; the pointer is taken back below, before the borrow ends.
        let sink: &mut (dyn Sink + 'static) = unsafe { std::mem::transmute(sink) };
        *lock(&TAKER) = Some(Taker {
            sink,
            text: text.chars().collect(),
            told: 0,
        });
        // SAFETY: the text ends with a zero within the size given, and outlives the call, which speaks it
        // wholly before it returns.
        let spoken = unsafe {
            (self.synth)(
                terminated.as_ptr().cast(),
                terminated.as_bytes_with_nul().len(),
                0,
                BY_CHARACTER,
                0,
                UTF8 | END_PAUSE,
                ptr::null_mut(),
                ptr::null_mut(),
            )
        };
        *lock(&TAKER) = None;
        match spoken {
            OK => Ok(()),
            error => Err(failed(format!("it answered with error {error}"))),
        }
    }
}

/// What the engine calls with each piece. Answers 0 to go on and 1 to end.
unsafe extern "C" fn take(samples: *mut i16, count: c_int, events: *mut RawEvent) -> c_int {
    let mut taker = lock(&TAKER);
    let Some(taker) = taker.as_mut() else {
        return 1;
    };
    let samples = match usize::try_from(count) {
        // SAFETY: the engine gives so many samples at this address for the time of the call.
        Ok(count) if !samples.is_null() => unsafe { std::slice::from_raw_parts(samples, count) },
        Ok(_) | Err(_) => &[],
    };
    // SAFETY: the list of events ends with one of the kind 0, and lives as long as the call.
    let words = unsafe { words(events, &taker.text, &mut taker.told) };
    // SAFETY: the sink is borrowed by `Engine::speak`, which waits for this call.
    let sink = unsafe { &mut *taker.sink };
    c_int::from(!sink.piece(samples, words))
}

/// The words among the events.
///
/// # Safety
/// `events` is null, or a list that ends with an event of the kind 0.
unsafe fn words(mut events: *const RawEvent, text: &[char], told: &mut usize) -> Vec<Word> {
    let mut words = Vec::new();
    // SAFETY: within the list, as the caller promises.
    while let Some(event) = unsafe { events.as_ref() } {
        match event.kind {
            EVENT_END_OF_LIST => break,
            EVENT_WORD => {
                let from =
                    usize::try_from(event.text_position).map_or(0, |at| at.saturating_sub(1));
                // The engine's length stops at a hyphen, and it tells nothing of what follows it.
                let word = text.iter().skip(from).take_while(|it| !it.is_whitespace());
                let word: String = word.collect();
                if from >= *told && !word.is_empty() {
                    *told = from + word.chars().count();
                    let at_ms = u32::try_from(event.audio_position).unwrap_or(0);
                    words.push(Word::new(&word, at_ms));
                }
            }
            _ => {}
        }
        // SAFETY: this event wasn't the last.
        events = unsafe { events.add(1) };
    }
    words
}

fn failed(reason: String) -> VoiceError {
    VoiceError::Failed {
        program: "libespeak-ng".to_owned(),
        reason,
    }
}

/// The state is whole between any two statements, so a panic elsewhere leaves it usable.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Default)]
    struct Kept {
        samples: Vec<i16>,
        words: Vec<Word>,
        most: usize,
    }

    impl Sink for Kept {
        fn piece(&mut self, samples: &[i16], words: Vec<Word>) -> bool {
            self.samples.extend(samples);
            self.words.extend(words);
            self.samples.len() < self.most
        }
    }

    fn spoken(text: &str, most: usize) -> Kept {
        let mut kept = Kept {
            most,
            ..Kept::default()
        };
        let mut engine = engine().unwrap();
        engine
            .speak(text, "en-us", Settings::default(), &mut kept)
            .unwrap();
        kept
    }

    #[test]
    fn every_word_is_told_where_it_begins() {
        let kept = spoken("Tighten the wheel nuts.", usize::MAX);
        let words: Vec<&str> = kept.words.iter().map(|word| word.text.as_str()).collect();
        assert_eq!(words, ["Tighten", "the", "wheel", "nuts"]);
        assert!(kept.words.is_sorted_by_key(|word| word.at_ms));
        assert!(kept.samples.iter().any(|sample| sample.abs() > 1_000));
    }

    #[test]
    fn the_library_speaks_as_the_program_does() {
        let text = "Hold point.";
        let program = crate::synthesise(text, &Settings::default()).unwrap();
        let library = spoken(text, usize::MAX).samples;
        assert_eq!(engine().unwrap().rate_hz(), program.rate_hz);
        // Hissing is random, and the engine keeps some state from sentence to sentence; the program adds a pause.
        let loudness = |samples: &[i16]| {
            let squares: f64 = samples.iter().map(|it| f64::from(*it).powi(2)).sum();
            squares.sqrt()
        };
        let ratio = loudness(&library) / loudness(&program.samples);
        assert!((0.95..1.05).contains(&ratio), "{ratio}");
    }

    #[test]
    fn a_sink_that_has_enough_ends_the_sentence() {
        let all = spoken(&"and again ".repeat(100), usize::MAX).samples.len();
        let some = spoken(&"and again ".repeat(100), 4_410).samples.len();
        assert!(some < all / 10, "{some} of {all}");
    }

    #[test]
    fn a_voice_that_it_has_not_is_named() {
        let error = engine()
            .unwrap()
            .speak(
                "Ready.",
                "xx-none",
                Settings::default(),
                &mut Kept::default(),
            )
            .unwrap_err();
        assert!(error.to_string().contains("xx-none"), "{error}");
    }
}
