//! Wires the rooms together.
fn main() {}
