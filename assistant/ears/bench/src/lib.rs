//! What the bench shares with tests elsewhere.

pub mod shop;
