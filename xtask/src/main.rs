//! Tasks of the workspace: set-up, the demonstration, the tests, the spoken fixtures, the benchmarks, the checks.
//!
//! `cargo xtask demo` and `cargo xtask test` work on a fresh Debian or Ubuntu machine that has a Rust
//! toolchain, Python with pip, and apt: each begins with [`setup`], which fetches what it needs and isn't there yet.
//! This crate has few and light dependencies because it is built before any system library is there.
//!
//! It refuses to use a downloaded file whose SHA-256 isn't the pinned one, and to write anything
//! outside the cache folder and the build folder (system packages excepted).

mod artefacts;
mod benches;
mod browser;
mod cache;
mod docs;
mod environment;
mod fetch;
mod fuzz;
mod notices;
mod progress;
mod setup;
mod space;
mod system;
mod tasks;
mod tools;
mod vosk_ear;

use std::process::ExitCode;

const HELP: &str = "\
Tasks of the workspace, run as `cargo xtask TASK`:

  setup             fetch and check everything; what is there already is kept
  demo [ARG…]       set up what the demonstration needs, then play a whole job from spoken sentences
  test              set up everything, then run every test
  test ARG…         set up everything, then run the tests that ARG… choose: names, or any options of
                    `cargo nextest run`, such as `-p steps`; without the examples in the documentation
  fixtures [ARG…]   make the spoken fixtures that are missing;
                    --text FILE.tsv --out DIR speaks the rows (id, voice, words) of a table instead
  bench             list the benchmarks: what each one tells you, and about how long it takes
  bench NAME [ARG…] set up everything, then run that benchmark
  licences          check the licences and sources of all dependencies
  advisories        check all dependencies for known vulnerabilities; fetches the list of them from the network
  docs              build the book into target/book
  notices           list the licences of all crates in docs/THIRD-PARTY.md, and their texts in
                    target/notices.txt; --check only says whether the list is up to date
  ci                run .ci/run: format, tests, clippy, licences, the book

The cache is $SAYBACK_CACHE, else $XDG_CACHE_HOME/sayback, else ~/.cache/sayback.";

/// Why a task could not be done: what happened, to what, and what to do now.
#[derive(Debug)]
pub struct Failure(String);

impl Failure {
    fn new(sentence: impl Into<String>) -> Self {
        Failure(sentence.into())
    }
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let task = arguments.next().unwrap_or_default();
    let rest: Vec<String> = arguments.collect();
    let done = match task.as_str() {
        "setup" => tasks::setup(),
        "demo" => tasks::demo(&rest),
        "test" => tasks::test(&rest),
        "fixtures" => tasks::fixtures(&rest),
        "bench" => tasks::bench(&rest),
        "docs" => docs::docs(),
        "notices" => notices::notices(&rest),
        "licences" => tasks::licences(),
        "advisories" => tasks::advisories(),
        "ci" => tasks::ci(),
        "help" | "-h" | "--help" => {
            println!("{HELP}");
            Ok(())
        }
        "" => Err(Failure::new(HELP)),
        other => Err(Failure::new(format!(
            "there is no task `{other}`.\n\n{HELP}"
        ))),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("{failure}");
            ExitCode::FAILURE
        }
    }
}
