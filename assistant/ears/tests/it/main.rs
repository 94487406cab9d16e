//! What the ears promise: recognisers, end-pointing, sound files and the microphone.

mod conformance;
mod sound_endpoint;
mod sound_files;
mod sound_microphone;
mod vosk_guards;
mod vosk_program;
mod whisper_reference;
