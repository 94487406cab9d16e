//! Records: kept, killed, tampered with, and read again.

mod faults;
mod harness;
mod keeping;
mod kills;
mod photos;
mod records;
mod replay;
mod search;
mod tampering;
