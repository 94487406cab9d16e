//! `vosk-ear MODEL`: Vosk in a process of its own, spoken to over standard input and output (see [`protocol`]).
//!
//! # Why a process of its own?
//!
//! The library aborts on some damaged models and may hang; in here it ends this program alone, and the assistant goes on.
//! And only this program links to the library: the workspace builds and tests on a machine that has none.
//!
//! # Where is it?
//!
//! In the folder `vosk` of the cache, beside the library, which it looks for in its own folder first. `cargo xtask setup`
//! builds it there once it has fetched the library. By hand:
//!
//! ```text
//! VOSK_LIB_DIR=~/.cache/sayback/vosk cargo build --release --locked --manifest-path assistant/vosk-ear/Cargo.toml
//! ```
//!
//! The ear in `assistant/ears/src/vosk` starts it, and starts it again when it ends.

mod listening;
mod protocol;

use listening::Listening;
use protocol::{Answer, Request};
use std::ffi::OsString;
use std::io::{self, BufRead, Read, Write};
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut arguments = std::env::args_os().skip(1).map(OsString::into_string);
    let (Some(Ok(folder)), None) = (arguments.next(), arguments.next()) else {
        eprintln!(
            "usage: vosk-ear MODEL, where MODEL is the folder of a Vosk model, named in UTF-8"
        );
        return ExitCode::from(2);
    };
    match serve(&folder, &mut io::stdin().lock(), &mut io::stdout().lock()) {
        Ok(code) => code,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn serve(folder: &str, from: &mut impl BufRead, to: &mut impl Write) -> io::Result<ExitCode> {
    let mut say = |answer: &Answer| {
        protocol::write(to, answer)?;
        to.flush()
    };
    let version = protocol::VERSION;
    say(&Answer::Loading { version })?;
    let mut listening = match Listening::load(folder) {
        Ok(listening) => listening,
        Err(reason) => {
            say(&Answer::Failed { reason })?;
            return Ok(ExitCode::FAILURE);
        }
    };
    say(&Answer::Ready)?;
    while let Some(request) = protocol::read(from)? {
        say(&match request {
            Request::Knows { word } => Answer::Knows {
                known: listening.knows(&word),
            },
            Request::ListenFor { phrases } => listening.listen_for(phrases),
            Request::Hear { samples } => {
                let heard = listening.hear(sound(from, samples)?);
                heard.map_err(io::Error::other)?
            }
        })?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The samples that follow a request.
fn sound(from: &mut impl Read, samples: u32) -> io::Result<Vec<i16>> {
    let mut bytes = Vec::new();
    let length = u64::from(samples) * 2;
    if from.take(length).read_to_end(&mut bytes)? as u64 != length {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    let samples = bytes.as_chunks().0.iter().copied();
    Ok(samples.map(i16::from_le_bytes).collect())
}
