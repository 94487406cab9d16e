//! The five promises of a gate: with random talk over random procedures and the shipped jobs, and in every
//! state that a shipped job can reach.

mod every_state;
mod harness;
mod random_talk;
