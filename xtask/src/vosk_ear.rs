//! The program in which Vosk runs: a workspace of its own, built beside the library that it links to.

use std::path::{Path, PathBuf};
use std::process::Command;

use sha2::{Digest, Sha256};

use crate::Failure;
use crate::environment::run;
use crate::progress;

/// The folder below the cache: the library's.
const FOLDER: &str = "vosk";

const LIBRARY: &str = "libvosk.so";

const PROGRAM: &str = "vosk-ear";

/// The file beside the program that says what it was built from.
const STAMP: &str = ".vosk-ear-sha256";

fn workspace() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Its package.
pub fn package() -> PathBuf {
    workspace().join("assistant").join(PROGRAM)
}

/// Whether the program is there, built from the sources as they are now.
pub fn is_there(cache: &Path) -> bool {
    let folder = cache.join(FOLDER);
    let stamp = std::fs::read_to_string(folder.join(STAMP));
    let wanted = fingerprint(&package());
    let stamped =
        matches!((&stamp, &wanted), (Ok(stamp), Ok(wanted)) if stamp.trim() == wanted.as_str());
    stamped && folder.join(PROGRAM).is_file()
}

/// Sees to it that the program is there, where the library is.
pub fn ensure(cache: &Path) -> Result<(), Failure> {
    let folder = cache.join(FOLDER);
    if is_there(cache) || !folder.join(LIBRARY).is_file() {
        // What can't be done without the library was said where it couldn't be had.
        return Ok(());
    }
    let told = |why: String| {
        Failure::new(format!(
            "Can't be had: the program that runs Vosk: {why}.\n  {}\n  Then run this again.",
            crate::artefacts::WITHOUT_VOSK
        ))
    };
    let at = |path: &Path, error: std::io::Error| told(format!("{}: {error}", path.display()));
    let package = package();
    let wanted = fingerprint(&package).map_err(|error| at(&package, error))?;
    let target = workspace().join("target").join(PROGRAM);
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.args(["build", "--release", "--locked", "--manifest-path"]);
    cargo.arg(package.join("Cargo.toml"));
    cargo.arg("--target-dir").arg(&target);
    if !progress::watched() {
        cargo.arg("--quiet");
    }
    run(cargo.env("VOSK_LIB_DIR", &folder)).map_err(&told)?;
    // Beside the goal and renamed, because the one that is there may be running.
    let fresh = folder.join(".vosk-ear-new");
    std::fs::copy(target.join("release").join(PROGRAM), &fresh)
        .and_then(|_| std::fs::rename(&fresh, folder.join(PROGRAM)))
        .and_then(|()| std::fs::write(folder.join(STAMP), wanted + "\n"))
        .map_err(|error| at(&folder, error))
}

/// SHA-256 of the names and contents of all files that the program is built from.
fn fingerprint(package: &Path) -> std::io::Result<String> {
    let mut files = vec![package.join("Cargo.toml"), package.join("Cargo.lock")];
    files.push(package.join("build.rs"));
    for entry in package.join("src").read_dir()? {
        files.push(entry?.path());
    }
    files.sort();
    let mut sum = Sha256::new();
    for file in files {
        let text = std::fs::read(&file)?;
        let name = file.file_name().unwrap_or_default();
        sum.update(name.as_encoded_bytes());
        sum.update(text.len().to_le_bytes());
        sum.update(text);
    }
    Ok(sum
        .finalize()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fingerprint_follows_every_source() {
        let package = tempfile::tempdir().unwrap();
        let of = || fingerprint(package.path()).unwrap();
        std::fs::create_dir(package.path().join("src")).unwrap();
        for name in ["Cargo.toml", "Cargo.lock", "build.rs", "src/main.rs"] {
            std::fs::write(package.path().join(name), "").unwrap();
        }
        let mut seen = vec![of()];
        for name in [
            "Cargo.toml",
            "Cargo.lock",
            "build.rs",
            "src/main.rs",
            "src/more.rs",
        ] {
            std::fs::write(package.path().join(name), "changed").unwrap();
            assert_eq!(of(), of());
            assert!(!seen.contains(&of()), "{name}");
            seen.push(of());
        }
    }

    #[test]
    fn its_sources_lie_in_one_folder() {
        assert_eq!(fingerprint(&package()).unwrap().len(), 64);
    }

    #[test]
    fn without_the_library_nothing_is_built() {
        let cache = tempfile::tempdir().unwrap();
        ensure(cache.path()).unwrap();
        assert!(!is_there(cache.path()));
        assert!(!cache.path().join(FOLDER).exists());
    }
}
