//! Jobs worked live, in real time, in a room without hardware.

#![cfg(target_os = "linux")]

mod faults;
mod section;
mod turns;
