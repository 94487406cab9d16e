//! The server, met over a socket as a browser meets it.

mod description;
mod fuzz;
pub mod harness;
mod limits;
mod network;
mod records;
mod schemathesis;
mod strangers;
mod watching;
