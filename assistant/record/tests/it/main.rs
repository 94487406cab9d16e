//! Records: kept, killed, tampered with, and read again.

mod damage;
mod evidence;
mod export;
mod faults;
mod golden;
mod harness;
mod keeping;
mod kills;
mod owner_only;
mod photos;
mod records;
mod replay;
mod search;
mod signing;
mod tampering;
