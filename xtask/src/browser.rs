//! What the tests of the page need of Node.js: packages of their own, apart from the machine's.

use std::path::{Path, PathBuf};
use std::process::Command;

use indicatif::ProgressBar;

use crate::Failure;
use crate::environment::run;
use crate::fetch::copy_and_hash;
use crate::progress;

/// The folder below the cache.
pub const FOLDER: &str = "browser";

/// Pins the packages.
const LOCK: &str = "package-lock.json";

/// What names the packages, and pins them.
const NAMED: [&str; 2] = ["package.json", LOCK];

/// The file beside the packages that says which lock file they were installed by.
const STAMP: &str = ".lock-sha256";

/// The packages need at least this Node.js.
const LEAST_NODE: u32 = 20;

/// The folder of the page's tests, which names the packages.
fn tests() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../assistant/page/tests/browser")
}

/// SHA-256 of the lock file that pins the packages.
fn wanted() -> std::io::Result<String> {
    let mut file = std::fs::File::open(tests().join(LOCK))?;
    copy_and_hash(&mut file, &mut std::io::sink(), &ProgressBar::hidden())
}

/// Whether `<cache>/browser` holds the packages as they are pinned now.
pub fn is_there(cache: &Path) -> bool {
    let folder = cache.join(FOLDER);
    let stamp = std::fs::read_to_string(folder.join(STAMP));
    let stamped =
        matches!((&stamp, &wanted()), (Ok(stamp), Ok(wanted)) if stamp.trim() == wanted.as_str());
    stamped && folder.join("node_modules/playwright-core").is_dir()
}

/// Sees to it that `<cache>/browser` holds the packages that the lock file of the page's tests pins.
pub fn ensure(cache: &Path) -> Result<(), Failure> {
    let tests = tests();
    let folder = cache.join(FOLDER);
    let told = |why: String| {
        Failure::new(format!(
            "Can't be had: the packages that drive a browser: {why}.\n  Without them the tests of the page in a browser fail; the assistant and its page still work.\n  By hand: install Node.js {LEAST_NODE} or newer with npm, copy {0} of {1} into {2}, and run `npm ci --ignore-scripts` there.\n  Then run this again.",
            NAMED.join(" and "),
            tests.display(),
            folder.display()
        ))
    };
    if is_there(cache) {
        return Ok(());
    }
    let wanted =
        wanted().map_err(|error| told(format!("{}: {error}", tests.join(LOCK).display())))?;
    node().map_err(&told)?;
    std::fs::create_dir_all(&folder)
        .map_err(|error| told(format!("{}: {error}", folder.display())))?;
    for name in NAMED {
        std::fs::copy(tests.join(name), folder.join(name))
            .map_err(|error| told(format!("{name}: {error}")))?;
    }
    let mut npm = Command::new("npm");
    npm.args(["ci", "--ignore-scripts", "--no-audit", "--no-fund"]);
    if !progress::watched() {
        npm.arg("--silent");
    }
    run(npm.current_dir(&folder)).map_err(&told)?;
    let stamp = folder.join(STAMP);
    std::fs::write(&stamp, wanted + "\n")
        .map_err(|error| told(format!("{}: {error}", stamp.display())))
}

/// Whether there is a Node.js that is new enough.
fn node() -> Result<(), String> {
    let answer = Command::new("node")
        .arg("--version")
        .output()
        .map_err(|error| format!("node could not be started ({error})"))?;
    let version = String::from_utf8_lossy(&answer.stdout).trim().to_owned();
    match major(&version) {
        Some(major) if major >= LEAST_NODE => Ok(()),
        Some(_) | None => Err(format!(
            "this Node.js is {version:?}, and {LEAST_NODE} is needed"
        )),
    }
}

/// The first number of a version such as "v20.11.1".
fn major(version: &str) -> Option<u32> {
    version.strip_prefix('v')?.split('.').next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_number_of_a_version_counts() {
        assert_eq!(major("v20.11.1"), Some(20));
        assert_eq!(major("v9.0.0"), Some(9));
        assert_eq!(major("20.1"), None);
        assert_eq!(major("v.1"), None);
        assert_eq!(major(""), None);
    }
}
