//! Records: kept, killed, tampered with, and read again.

mod faults;
mod harness;
mod keeping;
mod kills;
mod owner_only;
mod photos;
mod records;
mod search;
mod tampering;
