//! What voices and fixtures promise.

mod best;
mod conformance;
mod fixtures;
mod harness;
