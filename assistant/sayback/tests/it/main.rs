//! The program and its parts, from outside.

mod any_bytes;
mod failing_ear;
mod full_disk;
mod glances;
mod guide;
mod lost_ear;
mod no_sounds;
mod page_gate;
mod page_in_browser;
mod screen;
mod shell;
mod spanish;
