//! Wires the rooms together: what the ears hear becomes a command, the command an input of the job, the
//! job's effects are spoken, shown and recorded.
//!
//! No logic lives here that a room could hold. What may pass a gate is decided in `steps`, what words mean
//! in `words`, what a sound is worth in `ears`; this crate carries it from one to the other.
//!
//! - [`work`]: a job being worked, from what is heard to what is said.
//! - [`view`]: what others see of a job.
//! - [`author`]: what the author of a procedure gets.
//! - [`library`]: where procedures come from.
//! - [`config`]: the bay's own files.

pub mod author;
pub mod config;
pub mod library;
pub mod view;
pub mod work;
