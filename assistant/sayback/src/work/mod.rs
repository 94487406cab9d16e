//! A job being worked: what is heard becomes a command, the command an input of the job, and its effects are spoken.
//!
//! - [`conversation`]: one job being talked through.
//! - [`hearing`]: an utterance to a command, or to nothing.
//! - [`live`]: the conversation from a microphone.
//! - [`attention`]: what is listened for before anybody has called.
//! - [`speech`]: how the voice speaks, and what was asked of it.
//! - `press`: a foot switch that need not type.
//! - [`screen`]: the glance in a terminal.
//! - [`technician`]: somebody who says what the job asks for, for the demonstration and the tests.
//! - [`viewers`]: what viewers ask of whoever works the job.

pub mod attention;
pub mod conversation;
pub mod hearing;
pub mod live;
#[cfg(target_os = "linux")]
pub mod press;
pub mod screen;
pub mod speech;
pub mod technician;
pub mod viewers;
