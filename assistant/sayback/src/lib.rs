//! Wires the other crates together: what the ears hear becomes a command, the command an input of the job, and the job's
//! effects are spoken, shown and recorded.
//!
//! It holds no logic that another crate could hold. What opens a gate is decided in `steps`, what words mean in `words`,
//! and what a sound is worth in `ears`; this crate passes it on from one to the next.
//!
//! - [`work`]: a job being worked, from what is heard to what is said.
//! - [`view`]: what others see of a job.
//! - [`author`]: help for the author of a procedure.
//! - [`library`]: where procedures come from.
//! - [`config`]: the bay's own files.

pub mod author;
pub mod config;
pub mod library;
pub mod view;
pub mod work;
