//! What each task runs once set-up is done.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::Failure;
use crate::progress;
use crate::setup::{self, Ready};
use crate::space::{self, Build};

/// `cargo xtask setup`.
pub fn setup() -> Result<(), Failure> {
    let ready = setup::run()?;
    if ready.lacking.is_empty() {
        println!("Set-up is complete: {}", ready.cache.display());
        Ok(())
    } else {
        Err(Failure::new("Set-up is incomplete: see above."))
    }
}

/// `cargo xtask demo`.
pub fn demo(arguments: &[String]) -> Result<(), Failure> {
    space::ensure(&workspace(), Build::Program)?;
    let ready = setup::run()?;
    fixtures_as_far_as_possible(&ready)?;
    let mut run = cargo(
        &ready.cache,
        "run",
        &["--quiet", "-p", "sayback", "--", "demo"],
    );
    // The demonstration finds its fixtures from the workspace, wherever the task was called.
    succeed(run.args(arguments).current_dir(workspace()))
}

/// `cargo xtask test`.
pub fn test(arguments: &[String]) -> Result<(), Failure> {
    space::ensure(&workspace(), Build::Tests)?;
    let ready = setup::run()?;
    fixtures_as_far_as_possible(&ready)?;
    succeed(cargo(&ready.cache, "test", &["--workspace"]).args(arguments))
}

/// `cargo xtask fixtures`.
pub fn fixtures(arguments: &[String]) -> Result<(), Failure> {
    let ready = setup::run()?;
    make_fixtures(&ready.cache, arguments)
}

/// `cargo xtask bench`.
pub fn bench(arguments: &[String]) -> Result<(), Failure> {
    // Needs nothing of what set-up fetches.
    if let Some(("fuzz", rest)) = arguments
        .split_first()
        .map(|(first, rest)| (first.as_str(), rest))
    {
        return crate::fuzz::run(&workspace(), rest);
    }
    space::ensure(&workspace(), Build::Benches)?;
    let ready = setup::run()?;
    fixtures_as_far_as_possible(&ready)?;
    if let Some(("ears", rest)) = arguments
        .split_first()
        .map(|(first, rest)| (first.as_str(), rest))
    {
        let run = ["--release", "--quiet", "-p", "hearing-bench", "--"];
        return succeed(cargo(&ready.cache, "run", &run).args(rest));
    }
    if let Some((bench @ ("answer" | "soak"), rest)) = arguments
        .split_first()
        .map(|(first, rest)| (first.as_str(), rest))
    {
        let run = ["-p", "whole-jobs", "--bench", bench, "--"];
        return succeed(cargo(&ready.cache, "bench", &run).args(rest));
    }
    succeed(cargo(&ready.cache, "bench", &["--workspace"]).args(arguments))
}

/// `cargo xtask licences`: what `deny.toml` allows, where cargo-deny is installed.
pub fn licences() -> Result<(), Failure> {
    let deny = |arguments: &[&str]| {
        let mut command = Command::new("cargo");
        command.arg("deny").args(arguments).current_dir(workspace());
        command
    };
    let quietly = |arguments: &[&str]| {
        deny(arguments)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .is_ok_and(|status| status.success())
    };
    if !quietly(&["--version"]) {
        progress::line("Skipped: licences and advisories (cargo-deny isn't installed).");
        return Ok(());
    }
    succeed(&mut deny(&["check", "licenses", "bans", "sources"]))?;
    if !quietly(&["fetch", "db"]) {
        progress::line("Skipped: advisories (their database can't be reached without a network).");
        return Ok(());
    }
    succeed(&mut deny(&["check", "--disable-fetch", "advisories"]))
}

/// `cargo xtask ci`.
pub fn ci() -> Result<(), Failure> {
    succeed(Command::new("bash").arg(".ci/run").current_dir(workspace()))
}

/// Makes the fixtures; where set-up lacks something, says so and goes on with those that can be made.
fn fixtures_as_far_as_possible(ready: &Ready) -> Result<(), Failure> {
    match make_fixtures(&ready.cache, &[]) {
        Err(told) if !ready.lacking.is_empty() => {
            progress::line(&format!("Going on without all spoken fixtures. {told}"));
            Ok(())
        }
        made => made,
    }
}

/// Speaks what the fixtures' script names and isn't spoken yet. The program that does it belongs to the
/// crate `voice`, because tests use the same code; it can be built only after the system packages came.
fn make_fixtures(cache: &Path, arguments: &[String]) -> Result<(), Failure> {
    let mut run = cargo(
        cache,
        "run",
        &["--quiet", "-p", "voice", "--bin", "speak-fixtures", "--"],
    );
    succeed(run.args(arguments))
}

/// Cargo on this workspace, told where the cache is. It runs in the folder that the task was called
/// from, so that paths among the arguments keep their meaning.
fn cargo(cache: &Path, subcommand: &str, arguments: &[&str]) -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command
        .arg(subcommand)
        .arg("--manifest-path")
        .arg(workspace().join("Cargo.toml"));
    command
        .args(["--locked"])
        .args(arguments)
        .env("SAYBACK_CACHE", cache);
    command
}

fn workspace() -> PathBuf {
    let own = Path::new(env!("CARGO_MANIFEST_DIR"));
    own.parent().unwrap_or(own).to_path_buf()
}

fn succeed(command: &mut Command) -> Result<(), Failure> {
    let said = format!("{command:?}").replace('"', "");
    match command.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(Failure::new(format!("Failed ({status}): {said}"))),
        Err(error) => Err(Failure::new(format!(
            "Could not be started ({error}): {said}"
        ))),
    }
}
