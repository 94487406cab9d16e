//! The program as a newcomer and a script meet it: what it prints, what it exits with, what it refuses.

mod checks;
mod discard;
mod editing;
pub mod harness;
mod help;
mod import;
mod page;
mod people;
mod procedures;
mod proof;
mod reckon;
mod records;
mod rehearsals;
mod reports;
mod sound;
mod statistics;
mod tools;
