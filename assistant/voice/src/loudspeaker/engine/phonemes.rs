//! What a text sounds like, for a synthesiser that takes sounds instead of letters.

use std::ffi::{CStr, CString, c_char, c_int, c_void};

use super::{Loaded, OK, UTF8, failed};
use crate::VoiceError;

pub type TextToPhonemes = unsafe extern "C" fn(*mut *const c_void, c_int, c_int) -> *const c_char;

/// In the International Phonetic Alphabet.
const IPA: c_int = 2;

impl Loaded {
    /// What each text sounds like in a voice of espeak-ng: letters of the International Phonetic Alphabet with marks of
    /// stress, a space between words. Punctuation is gone.
    ///
    /// # Errors
    /// When there is no such voice.
    pub fn phonemes(&mut self, voice: &str, texts: &[String]) -> Result<Vec<String>, VoiceError> {
        let Some(engine) = self.0.as_mut() else {
            return Ok(Vec::new());
        };
        let name = CString::new(voice).ok();
        // SAFETY: the name ends with a zero and is only read.
        if name.is_none_or(|name| unsafe { (engine.set_voice)(name.as_ptr()) } != OK) {
            return Err(failed(format!("it has no voice {voice:?}")));
        }
        // A sentence that was broken off may leave a letter behind, which would be put before the next text.
        sound(engine.text_to_phonemes, "");
        let sounds = texts
            .iter()
            .map(|text| sound(engine.text_to_phonemes, text));
        Ok(sounds.collect())
    }
}

fn sound(text_to_phonemes: TextToPhonemes, text: &str) -> String {
    let text: Vec<u8> = text.bytes().filter(|byte| *byte != 0).chain([0]).collect();
    let mut rest: *const c_void = text.as_ptr().cast();
    let mut clauses = Vec::new();
    while !rest.is_null() {
        // SAFETY: `rest` points into `text`, which ends with a zero and outlives the call; the engine moves it on by a
        // clause, or to null behind the last one. What it answers is null or ends with a zero, and is copied before
        // the next call overwrites it.
        let clause = unsafe {
            let clause = text_to_phonemes(&raw mut rest, UTF8 as c_int, IPA);
            (!clause.is_null()).then(|| CStr::from_ptr(clause).to_string_lossy().into_owned())
        };
        clauses.extend(clause.filter(|clause| !clause.is_empty()));
    }
    without_switches(&clauses.join(" "))
}

/// The engine tells in brackets, such as `(en)`, where it goes over to another language's sounds.
fn without_switches(sound: &str) -> String {
    let mut inside = false;
    let spoken = sound.chars().filter(|letter| {
        let was_inside = inside;
        inside = *letter == '(' || (inside && *letter != ')');
        !inside && !was_inside
    });
    spoken.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::loudspeaker::engine::{Sink, Word, engine};

    /// Takes so many samples.
    struct Enough(usize);

    impl Sink for Enough {
        fn piece(&mut self, samples: &[i16], _words: Vec<Word>) -> bool {
            self.0 = self.0.saturating_sub(samples.len());
            self.0 > 0
        }
    }

    #[test]
    fn a_sentence_that_was_broken_off_leaves_nothing_behind() {
        for samples in (1..10).map(|tenths| tenths * 2_205) {
            let mut engine = engine().unwrap();
            let long = "and again ".repeat(100);
            let settings = crate::Settings::default();
            engine
                .speak(&long, "en-us", settings, &mut Enough(samples))
                .unwrap();
            let sounds = engine.phonemes("en-us", &["Stop.".to_owned()]).unwrap();
            assert_eq!(sounds, ["stˈɑːp"], "after {samples} samples");
        }
    }

    #[test]
    fn the_sounds_are_those_that_the_program_prints() {
        let texts = [
            "wheel nuts",
            "one hundred and forty newton metres",
            "Stop. Now!",
        ];
        let sounds = engine()
            .unwrap()
            .phonemes("en-us", &texts.map(str::to_owned));
        for (text, sound) in texts.iter().zip(sounds.unwrap()) {
            let program = std::process::Command::new("espeak-ng")
                .args(["-q", "--ipa", "-v", "en-us", text])
                .output()
                .unwrap();
            let printed = String::from_utf8(program.stdout).unwrap();
            let clauses: Vec<&str> = printed.lines().map(str::trim).collect();
            assert_eq!(sound, clauses.join(" "), "{text}");
        }
    }

    #[test]
    fn brackets_around_languages_are_no_sounds() {
        assert_eq!(
            without_switches("wˈiːl (fr)ʃo(en-us) nˈʌt"),
            "wˈiːl ʃo nˈʌt"
        );
    }
}
