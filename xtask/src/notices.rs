//! Notices of the third-party software that the program contains.
//!
//! The list of crates in `docs/THIRD-PARTY.md` follows from `Cargo.lock`; what stands above it there is written by hand.
//! The full texts of the licences, which a built program has to be handed on with, go to `target/notices.txt`.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::{Failure, vosk_ear};

/// What the list begins behind.
const MARK: &str = "<!-- The list below is made by `cargo xtask notices`. -->\n";

/// A crate in the program.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Crate {
    name: String,
    version: String,
    licence: String,
}

/// `cargo xtask notices`; with `--check` it only fails where the list isn't up to date.
pub fn notices(arguments: &[String]) -> Result<(), Failure> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let crates = crates(&top)?;
    let path = top.join("docs/THIRD-PARTY.md");
    let before = std::fs::read_to_string(&path).map_err(|error| at(&path, error))?;
    let (by_hand, _) = before
        .split_once(MARK)
        .ok_or_else(|| Failure::new(format!("{} lacks the line {MARK}", path.display())))?;
    let after = format!("{by_hand}{MARK}\n{}", table(&crates));
    if arguments.iter().any(|it| it == "--check") {
        return match before == after {
            true => Ok(()),
            false => Err(Failure::new(
                "docs/THIRD-PARTY.md doesn't list the crates of Cargo.lock: run `cargo xtask notices` and commit it.",
            )),
        };
    }
    std::fs::write(&path, after).map_err(|error| at(&path, error))?;
    let texts = top.join("target/notices.txt");
    let registry = registry()?;
    let all: String = crates.iter().map(|it| texts_of(it, &registry)).collect();
    std::fs::create_dir_all(top.join("target")).map_err(|error| at(&texts, error))?;
    std::fs::write(&texts, all).map_err(|error| at(&texts, error))?;
    println!(
        "{} crates: docs/THIRD-PARTY.md, and their licences' texts in target/notices.txt",
        crates.len()
    );
    Ok(())
}

/// All crates that are compiled into the program and into the one that runs Vosk, as cargo tells them.
fn crates(top: &Path) -> Result<BTreeSet<Crate>, Failure> {
    let mut all = tree(&top.join("Cargo.toml"), "sayback")?;
    all.extend(tree(&vosk_ear::package().join("Cargo.toml"), "vosk-ear")?);
    Ok(all)
}

fn tree(manifest: &Path, package: &str) -> Result<BTreeSet<Crate>, Failure> {
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.args(["tree", "--locked", "--package", package, "--manifest-path"]);
    cargo.arg(manifest);
    cargo.args(["--edges", "normal,no-proc-macro", "--prefix", "none"]);
    cargo.args(["--target", "x86_64-unknown-linux-gnu"]);
    cargo.args(["--target", "aarch64-unknown-linux-gnu"]);
    cargo.args(["--format", "{p}|{l}"]);
    let output = cargo
        .output()
        .map_err(|error| Failure::new(format!("cargo tree could not be started: {error}")))?;
    if !output.status.success() {
        let why = String::from_utf8_lossy(&output.stderr).into_owned();
        return Err(Failure::new(format!("cargo tree failed: {why}")));
    }
    Ok(listed(&String::from_utf8_lossy(&output.stdout)))
}

/// The crates in cargo's lines, without the workspace's own, which have a path.
fn listed(lines: &str) -> BTreeSet<Crate> {
    let one = |line: &str| {
        let (package, licence) = line.trim_end_matches(" (*)").split_once('|')?;
        let (name, version) = package.split_once(" v")?;
        let outside = !version.contains(' ');
        outside.then(|| Crate {
            name: name.to_owned(),
            version: version.to_owned(),
            licence: licence.replace('/', " OR "),
        })
    };
    lines.lines().filter_map(one).collect()
}

fn table(crates: &BTreeSet<Crate>) -> String {
    let row = |it: &Crate| format!("| {} | {} | {} |\n", it.name, it.version, it.licence);
    let rows: String = crates.iter().map(row).collect();
    format!("| crate | version | licence |\n| --- | --- | --- |\n{rows}")
}

/// The folders in which cargo keeps the sources of crates.
fn registry() -> Result<Vec<PathBuf>, Failure> {
    let home = std::env::var_os("CARGO_HOME").map(PathBuf::from);
    let home = home.or_else(|| Some(PathBuf::from(std::env::var_os("HOME")?).join(".cargo")));
    let sources = home
        .ok_or_else(|| Failure::new("no home folder: set CARGO_HOME"))?
        .join("registry/src");
    let folders = sources.read_dir().map_err(|error| at(&sources, error))?;
    Ok(folders.flatten().map(|entry| entry.path()).collect())
}

/// What a crate's licence files say.
fn texts_of(it: &Crate, registry: &[PathBuf]) -> String {
    let folder = format!("{}-{}", it.name, it.version);
    let folders = registry.iter().map(|source| source.join(&folder));
    let entries = folders
        .filter_map(|folder| folder.read_dir().ok())
        .flatten();
    let mut files: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| is_licence(path))
        .collect();
    files.sort();
    let texts = files
        .iter()
        .filter_map(|path| std::fs::read_to_string(path).ok());
    let mut texts: Vec<String> = texts.collect();
    if texts.is_empty() {
        texts.push("The crate contains no licence file.\n".to_owned());
    }
    let rule = "=".repeat(80);
    format!(
        "{rule}\n{folder} ({})\n{rule}\n\n{}\n",
        it.licence,
        texts.join("\n\n")
    )
}

fn is_licence(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let name = name.to_ascii_lowercase();
    [
        "license",
        "licence",
        "copying",
        "copyright",
        "notice",
        "unlicense",
    ]
    .iter()
    .any(|beginning| name.starts_with(beginning))
}

fn at(path: &Path, error: std::io::Error) -> Failure {
    Failure::new(format!("{}: {error}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_crates_and_repeated_ones_are_left_out() {
        let lines = "sayback v0.1.0 (/home/me/sayback)|Apache-2.0\n\
                     serde v1.0.229|MIT OR Apache-2.0\nserde v1.0.229|MIT OR Apache-2.0 (*)\nold v0.3.1|MIT/Apache-2.0\n";
        assert_eq!(
            table(&listed(lines)),
            "| crate | version | licence |\n| --- | --- | --- |\n| old | 0.3.1 | MIT OR Apache-2.0 |\n\
             | serde | 1.0.229 | MIT OR Apache-2.0 |\n"
        );
    }

    #[test]
    fn licences_are_known_by_their_names() {
        assert!(is_licence(Path::new("LICENSE-MIT")) && is_licence(Path::new("Notice.txt")));
        assert!(!is_licence(Path::new("README.md")));
    }
}
