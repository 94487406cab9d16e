//! Grammars, numbers, wordings and decoys.

mod decoys;
mod grammars;
mod jsgf;
mod now;
mod num2words;
mod number;
mod procedures;
mod sound;
mod spanish;
mod spanish_job;
mod wording;
