//! What the bench shares with tests elsewhere.

pub mod join;
pub mod shop;
