//! Everything that the commands print.
//!
//! Texts come from files and from what people said, and a terminal must not obey them. So whatever could move its cursor,
//! change its title or reorder a line is replaced here, for all commands. A full disk or a reader that has gone is noticed
//! here, too.

use serde::Serialize;
use std::fmt::{Arguments, Write as _};
use std::io::{ErrorKind, IsTerminal, Write};
use std::process::ExitCode;
use std::sync::OnceLock;
use steps::{harmless, is_hidden_control};
use textwrap::WordSplitter;

/// Prints a line on standard output. A job goes on without it; [`end`](terminal::end) says what went wrong.
macro_rules! tell {
    ($($words:tt)*) => { $crate::shell::terminal::tell(format_args!($($words)*)) };
}

/// Prints a line on standard error.
macro_rules! warn {
    ($($words:tt)*) => { $crate::shell::terminal::warn(format_args!($($words)*)) };
}

/// The first thing that went wrong with standard output. Nothing is printed on it after that.
static FAILED: OnceLock<std::io::Error> = OnceLock::new();

pub fn tell(line: Arguments<'_>) {
    if FAILED.get().is_some() {
        return;
    }
    let line = format!("{line}\n");
    let mut out = std::io::stdout().lock();
    let printed = out.write_all(harmless(&line).as_bytes());
    if let Err(error) = printed.and_then(|()| out.flush()) {
        let _ = FAILED.set(error);
    }
}

pub fn warn(line: Arguments<'_>) {
    print_aside(&harmless(&line.to_string()));
}

fn print_aside(text: &str) {
    // There is nowhere left to say that nobody reads this.
    let _ = writeln!(std::io::stderr(), "{text}");
}

/// Prints JSON. What a terminal would obey is escaped, so a program that reads it gets every character.
pub fn tell_json(what: &impl Serialize) -> miette::Result<()> {
    use miette::IntoDiagnostic;
    tell_json_text(&serde_json::to_string_pretty(what).into_diagnostic()?);
    Ok(())
}

/// The same with what is JSON already.
pub fn tell_json_text(json: &str) {
    let mut escaped = String::with_capacity(json.len());
    for character in json.trim_end().chars() {
        // Such a character can only stand in a string.
        match is_hidden_control(character) {
            // Writing to a String can't fail.
            true => drop(write!(escaped, "\\u{:04x}", u32::from(character))),
            false => escaped.push(character),
        }
    }
    tell!("{escaped}");
}

/// Has errors drawn with the names of jobs and files in one piece, so that they can be copied.
pub fn keep_names_whole() {
    // It fails only where there is a hook already, and nothing else sets one.
    let _ = miette::set_hook(Box::new(|_| {
        let options = miette::MietteHandlerOpts::new().word_splitter(WordSplitter::NoHyphenation);
        Box::new(options.build())
    }));
}

/// Draws an error on standard error.
pub fn draw(report: &miette::Report) {
    use miette::{GraphicalReportHandler, GraphicalTheme};
    // A drawing's own colours are escape sequences, too. It has them only if nothing else in it needs to be replaced.
    let mut plain = String::new();
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor())
        .with_word_splitter(WordSplitter::NoHyphenation);
    let drawn = handler.render_report(&mut plain, report.as_ref());
    match drawn.is_ok() && !plain.contains(is_hidden_control) {
        true => print_aside(&format!("{report:?}")),
        false => print_aside(&harmless(&plain)),
    }
}

/// Prints what the parser of the command line has to say: help, a version or what is wrong.
pub fn tell_usage(error: &clap::Error) -> ExitCode {
    let plain = error.render().to_string();
    let (aside, coloured) = match error.use_stderr() {
        true => (true, std::io::stderr().is_terminal()),
        false => (false, std::io::stdout().is_terminal()),
    };
    if coloured && !plain.contains(is_hidden_control) {
        let _ = error.print();
    } else if aside {
        warn!("{}", plain.trim_end());
    } else {
        tell!("{}", plain.trim_end());
    }
    end(ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2)))
}

/// Returns false once what is printed reaches nobody any more.
pub fn is_read() -> bool {
    FAILED.get().is_none()
}

/// The exit code, once all has been printed. Whoever closed the pipe (`| head`) has read enough; anything else that kept
/// the output from being written is a failure.
pub fn end(code: ExitCode) -> ExitCode {
    match FAILED.get() {
        Some(error) if error.kind() != ErrorKind::BrokenPipe => {
            warn!("The output can't be written in full: {error}. Make room, or send it elsewhere.");
            ExitCode::FAILURE
        }
        Some(_) | None => code,
    }
}
