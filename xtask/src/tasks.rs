//! What each task runs once set-up is done.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::Failure;
use crate::benches::{self, Run};
use crate::progress::{self, Step};
use crate::setup::{self, Purpose, Ready};
use crate::space::{self, Build};
use crate::{tools, vosk_ear};

/// `cargo xtask setup`.
pub fn setup() -> Result<(), Failure> {
    let ready = setup::run(Purpose::Everything, Vec::new())?;
    if ready.lacking.is_empty() {
        println!("Set-up is complete: {}", ready.cache.display());
        Ok(())
    } else {
        Err(Failure::new("Set-up is incomplete: see above."))
    }
}

/// `cargo xtask demo`.
pub fn demo(arguments: &[String]) -> Result<(), Failure> {
    let is_built = space::ensure(&workspace(), Build::Program)?;
    let then = vec![
        Step::new("Build the program", if is_built { 5 } else { 200 }),
        Step::new("Play the job", 60),
    ];
    let mut ready = setup::run(Purpose::Demonstration, then)?;
    ready.steps.begin_next();
    build(&ready.cache, "sayback")?;
    ready.steps.begin_next();
    let mut demo = built("sayback", &ready.cache)?;
    // The demonstration finds its fixtures from the workspace, wherever the task was called.
    succeed(demo.arg("demo").args(arguments).current_dir(workspace()))
}

/// `cargo xtask test`.
pub fn test(arguments: &[String]) -> Result<(), Failure> {
    let is_built = space::ensure(&workspace(), Build::Tests)?;
    let then = vec![
        Step::new("Build the fixtures' program", if is_built { 5 } else { 60 }),
        Step::new("Speak the fixtures", if is_built { 1 } else { 60 }),
        Step::new("Build the tests", if is_built { 20 } else { 300 }),
        Step::new("Run the tests", 400),
        Step::new("Run the examples of the documentation", 30),
    ];
    let mut ready = setup::run(Purpose::Tests, then)?;
    fixtures_as_far_as_possible(&mut ready)?;
    ready.steps.begin_next();
    let chosen: &[String] = if arguments.is_empty() {
        &["--workspace".to_owned()]
    } else {
        arguments
    };
    succeed(nextest(&ready.cache).arg("--no-run").args(chosen))?;
    ready.steps.begin_next();
    succeed(nextest(&ready.cache).args(chosen))?;
    if !arguments.is_empty() {
        return Ok(());
    }
    ready.steps.begin_next();
    succeed(&mut cargo(&ready.cache, "test", &["--workspace", "--doc"]))
}

/// `cargo nextest run`, with two more tests at a time than there are cores: those that play and record sound mostly wait.
fn nextest(cache: &Path) -> Command {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let nextest = Command::new(tools::NEXTEST.path(cache));
    let mut command = on_workspace(nextest, cache, &["nextest", "run"]);
    command.arg(format!("--test-threads={}", cores + 2));
    command
}

/// `cargo xtask fixtures`.
pub fn fixtures(arguments: &[String]) -> Result<(), Failure> {
    let is_built = space::ensure(&workspace(), Build::Program)?;
    let then = vec![
        Step::new(
            "Build the fixtures' program",
            if is_built { 5 } else { 150 },
        ),
        Step::new("Speak the fixtures", 60),
    ];
    let mut ready = setup::run(Purpose::Demonstration, then)?;
    make_fixtures(&mut ready, arguments)
}

/// `cargo xtask bench`.
pub fn bench(arguments: &[String]) -> Result<(), Failure> {
    let Some((name, rest)) = arguments.split_first() else {
        println!("{}", benches::list());
        return Ok(());
    };
    let bench = benches::named(name)?;
    if let Run::Fuzz = bench.run {
        return crate::fuzz::run(&workspace(), rest);
    }
    space::ensure(&workspace(), Build::Benches)?;
    let then = vec![
        Step::new("Build the fixtures' program", 60),
        Step::new("Speak the fixtures", 60),
        Step::new(
            format!(
                "Build the benchmark `{name}`, then run it ({})",
                bench.takes
            ),
            600,
        ),
    ];
    let mut ready = setup::run(Purpose::Tests, then)?;
    fixtures_as_far_as_possible(&mut ready)?;
    ready.steps.begin_next();
    let mut run = match bench.run {
        Run::Program(package) => cargo(&ready.cache, "run", &["--release", "-p", package, "--"]),
        Run::Target { package, bench } => cargo(
            &ready.cache,
            "bench",
            &["-p", package, "--bench", bench, "--"],
        ),
        // Handled above.
        Run::Fuzz => return Ok(()),
    };
    succeed(run.args(rest))
}

/// `cargo xtask licences`: what `deny.toml` allows of licences, bans and sources.
pub fn licences() -> Result<(), Failure> {
    check_dependencies(&["licenses", "bans", "sources"])
}

/// `cargo xtask advisories`: known vulnerabilities of the dependencies.
pub fn advisories() -> Result<(), Failure> {
    check_dependencies(&["advisories"])
}

/// Those of the workspace, and those of the program that runs Vosk, which has a workspace of its own.
fn check_dependencies(checks: &[&str]) -> Result<(), Failure> {
    let ready = setup::run(Purpose::Licences, Vec::new())?;
    if !ready.lacking.is_empty() {
        return Err(Failure::new("Nothing was checked: see above."));
    }
    for package in [workspace(), vosk_ear::package()] {
        let mut deny = Command::new(tools::DENY.path(&ready.cache));
        deny.arg("--manifest-path").arg(package.join("Cargo.toml"));
        deny.arg("--config").arg(workspace().join("deny.toml"));
        deny.arg("check").args(checks).current_dir(workspace());
        succeed(&mut deny)?;
    }
    Ok(())
}

/// `cargo xtask ci`.
pub fn ci() -> Result<(), Failure> {
    succeed(Command::new("bash").arg(".ci/run").current_dir(workspace()))
}

/// Speaks the fixtures; where set-up lacks something, says so and goes on with those that can be made.
fn fixtures_as_far_as_possible(ready: &mut Ready) -> Result<(), Failure> {
    match make_fixtures(ready, &[]) {
        Err(told) if !ready.lacking.is_empty() => {
            progress::line(&format!("Some fixtures could not be spoken. {told}"));
            Ok(())
        }
        made => made,
    }
}

/// Speaks what the fixtures' script names and isn't spoken yet, in two steps. The program that does it belongs to the
/// crate `voice`, because tests use the same code; it can be built only once the system packages are there.
fn make_fixtures(ready: &mut Ready, arguments: &[String]) -> Result<(), Failure> {
    ready.steps.begin_next();
    build(&ready.cache, "speak-fixtures")?;
    ready.steps.begin_next();
    succeed(built("speak-fixtures", &ready.cache)?.args(arguments))
}

/// Builds one program of the workspace.
fn build(cache: &Path, program: &str) -> Result<(), Failure> {
    succeed(&mut cargo(
        cache,
        "build",
        &["--workspace", "--bin", program],
    ))
}

/// A program that was built beside this one. It runs in the folder that the task was called from, so that paths among
/// its arguments keep their meaning.
fn built(program: &str, cache: &Path) -> Result<Command, Failure> {
    let own = std::env::current_exe()
        .map_err(|error| Failure::new(format!("this program's own path is unknown: {error}")))?;
    let name = format!("{program}{}", std::env::consts::EXE_SUFFIX);
    let mut command = Command::new(own.with_file_name(name));
    command.env("SAYBACK_CACHE", cache);
    Ok(command)
}

/// Cargo on this workspace, told where the cache is. It runs in the folder that the task was called
/// from, so that paths among the arguments keep their meaning.
fn cargo(cache: &Path, subcommand: &str, arguments: &[&str]) -> Command {
    let cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    let mut command = on_workspace(cargo, cache, &[subcommand]);
    command.args(arguments);
    command
}

fn on_workspace(mut command: Command, cache: &Path, subcommand: &[&str]) -> Command {
    command
        .args(subcommand)
        .arg("--manifest-path")
        .arg(workspace().join("Cargo.toml"))
        .arg("--locked")
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
