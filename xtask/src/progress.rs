//! Bars on a terminal, plain lines elsewhere.

use std::io::IsTerminal;

use indicatif::{ProgressBar, ProgressStyle};

/// Whether somebody watches a terminal.
pub fn watched() -> bool {
    std::io::stderr().is_terminal()
}

/// Says one line about work that begins.
pub fn line(text: &str) {
    eprintln!("{text}");
}

/// A bar over `bytes` bytes of work; a plain line when there is no terminal.
pub fn bytes(what: &str, bytes: u64) -> ProgressBar {
    if !watched() {
        line(&format!("{what} ({} MB)", bytes.div_ceil(1_000_000)));
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(bytes).with_message(what.to_owned());
    // The template is a constant of this file and is well formed.
    if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {bytes}/{total_bytes} {eta}")
    {
        bar.set_style(style);
    }
    bar
}
