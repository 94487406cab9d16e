//! The program as a newcomer and a script meet it: what it prints, what it exits with, what it refuses.

mod checks;
mod closed_output;
mod discard;
mod editing;
mod errors;
pub mod harness;
mod help;
mod hostile_text;
mod import;
mod named_files;
mod page;
mod people;
mod procedures;
mod proof;
mod reckon;
mod records;
mod rehearsals;
mod releases;
mod reports;
mod resuming;
mod sound;
mod statistics;
mod tools;
mod vehicles;
