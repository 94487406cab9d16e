//! Wires the rooms together: what the ears hear becomes a command, the command an input of the job, the
//! job's effects are spoken, shown and recorded.
//!
//! No logic lives here that a room could hold. What may pass a gate is decided in `steps`, what words mean
//! in `words`, what a sound is worth in `ears`; this crate carries it from one to the other.
//!
//! - [`author`]: what is found out for the author of a procedure.
//! - [`bay`]: what a bay asks for beyond the usual bars.
//! - [`separation`]: how well a readback can be told from its denials.
//! - [`library`]: where procedures come from.
//! - [`draft`] and [`tidy`]: a procedure to begin with, and the usual form of its file.
//! - [`findings`]: what the checker found, for programs to read.
//! - [`glance`] and [`showing`]: what viewers see of a job.
//! - [`viewers`]: what viewers may ask for.
//! - [`heard`]: what was heard in jobs, to be listened to and judged.
//! - [`hearing`]: an utterance to a command, or to nothing.
//! - [`conversation`]: one job being talked through.
//! - [`live`]: the same from a microphone.
//! - `press`: a foot switch that need not type.
//! - [`tools`]: the technician's own tools.
//! - [`technician`]: somebody who says what the job asks for, for the demonstration and the tests.

pub mod attention;
pub mod author;
pub mod bay;
pub mod conversation;
pub mod draft;
pub mod findings;
pub mod glance;
pub mod heard;
pub mod hearing;
pub mod library;
pub mod live;
pub mod people;
#[cfg(target_os = "linux")]
pub mod press;
pub mod screen;
pub mod separation;
pub mod showing;
pub mod speech;
pub mod technician;
pub mod tidy;
pub mod tools;
pub mod viewers;
