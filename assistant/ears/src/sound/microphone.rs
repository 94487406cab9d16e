//! The microphone.
