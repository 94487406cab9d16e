//! `cargo xtask bench fuzz`: each target of `assistant/fuzz` for a bounded time.

use std::path::Path;
use std::process::{Command, Stdio};

use crate::Failure;
use crate::progress;

/// The targets, and the folders of their seeds.
const TARGETS: [(&str, &[&str]); 4] = [
    ("procedures", &["procedures", "procedures/parts"]),
    ("grammars", &["grammars/en"]),
    ("numbers", &["assistant/fuzz/seeds/numbers"]),
    ("imports", &["assistant/fuzz/seeds/imports"]),
];

/// How long each target runs when nothing else is asked for.
const SECONDS: u32 = 30;

/// An input that takes longer than so many seconds counts as found.
const LONGEST_SECONDS: u32 = 1;

/// The largest input, in bytes: the most that is read of a procedure, a grammar or a list.
const LONGEST_BYTES: u32 = 1_000_000;

/// Runs the targets that are named, else all.
pub fn run(workspace: &Path, arguments: &[String]) -> Result<(), Failure> {
    let asked = Asked::of(arguments)?;
    if !is_there(&["--version"]) {
        return Err(Failure::new(
            "Nothing was fuzzed: there is no nightly compiler. Run `rustup toolchain install nightly`. The ordinary \
             tests run the same targets over their seeds (`cargo test -p sayback --test it any_bytes`).",
        ));
    }
    if !is_there(&["fuzz", "--version"]) {
        return Err(Failure::new(
            "Nothing was fuzzed: cargo-fuzz isn't installed. Run `cargo install cargo-fuzz`. The ordinary tests run \
             the same targets over their seeds (`cargo test -p sayback --test it any_bytes`).",
        ));
    }
    for (name, seeds) in &asked.targets {
        progress::line(&format!("Fuzzing {name} for {} seconds", asked.seconds));
        let kept = workspace.join("target/fuzz").join(name);
        std::fs::create_dir_all(&kept)
            .map_err(|error| Failure::new(format!("{} can't be made: {error}", kept.display())))?;
        let mut command = nightly();
        // No unsafe code is fuzzed, so no sanitizer is needed, and times are those of the program.
        command.args(["fuzz", "run", "--fuzz-dir", "assistant/fuzz"]);
        command.args([
            "--sanitizer",
            "none",
            "--target-dir",
            "target/fuzz/build",
            name,
        ]);
        command.arg(&kept);
        command.args(seeds.iter().map(|folder| workspace.join(folder)));
        command.arg("--");
        command.arg(format!("-max_total_time={}", asked.seconds));
        command.arg(format!("-timeout={LONGEST_SECONDS}"));
        command.arg(format!("-max_len={LONGEST_BYTES}"));
        command.arg("-print_final_stats=1");
        command.arg(format!("-artifact_prefix={}-found-", kept.display()));
        let status = command.current_dir(workspace).status();
        match status {
            Ok(status) if status.success() => {}
            Ok(_) => {
                return Err(Failure::new(format!(
                    "The target `{name}` found something, see above; the input is target/fuzz/{name}-found-…"
                )));
            }
            Err(error) => {
                return Err(Failure::new(format!(
                    "cargo-fuzz can't be started: {error}"
                )));
            }
        }
    }
    Ok(())
}

type Target = (&'static str, &'static [&'static str]);

#[derive(Debug, PartialEq)]
struct Asked {
    targets: Vec<Target>,
    seconds: u32,
}

impl Asked {
    fn of(arguments: &[String]) -> Result<Self, Failure> {
        let mut asked = Self {
            targets: Vec::new(),
            seconds: SECONDS,
        };
        let mut rest = arguments.iter();
        while let Some(argument) = rest.next() {
            if argument == "--seconds" {
                let number = rest.next().and_then(|number| number.parse().ok());
                asked.seconds = number.filter(|it| *it > 0).ok_or_else(|| {
                    Failure::new("`--seconds` needs a whole number, such as `--seconds 60`.")
                })?;
            } else if let Some(target) = TARGETS.iter().find(|(name, _)| name == argument) {
                asked.targets.push(*target);
            } else {
                let names: Vec<&str> = TARGETS.iter().map(|(name, _)| *name).collect();
                return Err(Failure::new(format!(
                    "There is no target `{argument}`: name one of {}.",
                    names.join(", ")
                )));
            }
        }
        if asked.targets.is_empty() {
            asked.targets = TARGETS.to_vec();
        }
        Ok(asked)
    }
}

/// Cargo of the nightly toolchain, whatever toolchain runs this task.
fn nightly() -> Command {
    let mut command = Command::new("rustup");
    command.args(["run", "nightly", "cargo"]);
    command.env_remove("RUSTUP_TOOLCHAIN").env_remove("CARGO");
    command
}

fn is_there(arguments: &[&str]) -> bool {
    let mut command = nightly();
    command
        .args(arguments)
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command.status().is_ok_and(|status| status.success())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(words: &[&str]) -> Result<Asked, Failure> {
        let words: Vec<String> = words.iter().map(|it| (*it).to_owned()).collect();
        Asked::of(&words)
    }

    #[test]
    fn targets_and_time_are_as_asked_for() {
        let all = asked(&[]).unwrap();
        assert_eq!((all.targets.len(), all.seconds), (4, SECONDS));
        let one = asked(&["imports", "--seconds", "5"]).unwrap();
        assert_eq!(
            (one.targets[0].0, one.targets.len(), one.seconds),
            ("imports", 1, 5)
        );
        for wrong in [&["import"][..], &["--seconds"], &["--seconds", "0"]] {
            assert!(asked(wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn every_target_is_built_and_has_seeds() {
        let workspace = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
        let manifest =
            std::fs::read_to_string(workspace.join("assistant/fuzz/Cargo.toml")).unwrap();
        for (name, seeds) in TARGETS {
            assert!(manifest.contains(&format!("name = \"{name}\"")), "{name}");
            for folder in seeds {
                assert!(
                    workspace.join(folder).read_dir().unwrap().count() > 0,
                    "{folder}"
                );
            }
        }
    }
}
