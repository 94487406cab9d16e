//! Vosk behind the recogniser trait.
