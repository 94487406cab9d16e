//! Whether the disk has room for what a task builds: a linker that runs out of it dies of a bus error that names nothing.

use std::path::Path;
use std::process::Command;

use crate::Failure;

/// What is to be built, with the megabytes that a first build of it takes (November 2026, without what the next one would
/// begin from: all tests 3 800, for measuring 3 500).
#[derive(Debug, Clone, Copy)]
pub enum Build {
    /// The program and its fixtures' speaker.
    Program,
    /// All tests.
    Tests,
    /// What measures.
    Benches,
}

impl Build {
    fn takes(self) -> u64 {
        match self {
            Self::Program => 2_000,
            Self::Tests => 5_000,
            Self::Benches => 4_500,
        }
    }

    fn folder(self) -> &'static str {
        match self {
            Self::Program | Self::Tests => "debug/deps",
            Self::Benches => "release/deps",
        }
    }
}

/// The same once it is there: what a change touches is built beside what it was.
const LATER: u64 = 1_000;

/// Files that lie there when it was built before; this task's own build leaves some hundred.
const BUILT: usize = 500;

/// Refuses to build where the disk hasn't room for it, and returns true if it was built before. Nothing is refused where
/// the free space is unknown.
pub fn ensure(workspace: &Path, build: Build) -> Result<bool, Failure> {
    let target =
        std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| workspace.join("target"), Into::into);
    let files = target.join(build.folder()).read_dir();
    let is_built = files.is_ok_and(|mut files| files.nth(BUILT).is_some());
    let needed = if is_built { LATER } else { build.takes() };
    let at = if target.exists() { &target } else { workspace };
    match free(at) {
        Some(free) if free < needed => Err(Failure::new(format!(
            "the disk of {} has {free} MB free, and building takes about {needed} MB there; free some, or set CARGO_TARGET_DIR to a folder on another disk.",
            target.display()
        ))),
        _ => Ok(is_built),
    }
}

/// Megabytes free on the disk that a folder is on, as POSIX `df -P` tells.
fn free(folder: &Path) -> Option<u64> {
    let told = Command::new("df")
        .args(["-P", "-k"])
        .arg(folder)
        .output()
        .ok()?;
    parse(&String::from_utf8_lossy(&told.stdout))
}

/// The fourth field of the last line: kilobytes available.
fn parse(told: &str) -> Option<u64> {
    let available = told.lines().last()?.split_whitespace().nth(3)?;
    available
        .parse::<u64>()
        .ok()
        .map(|kilobytes| kilobytes * 1024 / 1_000_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The form is that of POSIX.1-2017, utility `df`, option -P; the numbers are a machine's of ours.
    #[test]
    fn what_df_tells_is_read() {
        let told = "Filesystem 1024-blocks Used Available Capacity Mounted on\n/dev/vda 264092672 91226112 4404019 96% /\n";
        assert_eq!(parse(told), Some(4509));
        assert_eq!(parse("df: no such file"), None);
        assert_eq!(parse(""), None);
        assert!(free(Path::new("/")).is_some());
    }
}
