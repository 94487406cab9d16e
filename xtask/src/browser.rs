//! What the tests of the page need of Node.js: packages of their own, apart from the machine's.

use std::path::Path;
use std::process::Command;

use indicatif::ProgressBar;

use crate::Failure;
use crate::environment::run;
use crate::fetch::copy_and_hash;
use crate::progress;

/// The folder below the cache.
pub const FOLDER: &str = "browser";

/// What names the packages, and pins them.
const NAMED: [&str; 2] = ["package.json", "package-lock.json"];

/// The packages need at least this Node.js.
const LEAST_NODE: u32 = 20;

/// Sees to it that `<cache>/browser` holds the packages that the lock file of the page's tests pins.
pub fn ensure(cache: &Path) -> Result<(), Failure> {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../assistant/page/tests/browser");
    let folder = cache.join(FOLDER);
    let told = |why: String| {
        Failure::new(format!(
            "Can't be had: the packages that drive a browser: {why}.\n  Without them the tests of the page in a browser fail; the assistant and its page still work.\n  By hand: install Node.js {LEAST_NODE} or newer with npm, copy {0} of {1} into {2}, and run `npm ci --ignore-scripts` there.\n  Then run this again.",
            NAMED.join(" and "),
            tests.display(),
            folder.display()
        ))
    };
    let [_, lock] = NAMED.map(|name| tests.join(name));
    let mut file =
        std::fs::File::open(&lock).map_err(|error| told(format!("{}: {error}", lock.display())))?;
    let wanted = copy_and_hash(&mut file, &mut std::io::sink(), &ProgressBar::hidden())
        .map_err(|error| told(error.to_string()))?;
    let stamp = folder.join(".lock-sha256");
    let stamped =
        std::fs::read_to_string(&stamp).is_ok_and(|written| written.trim() == wanted.as_str());
    if stamped && folder.join("node_modules/playwright-core").is_dir() {
        return Ok(());
    }
    node().map_err(&told)?;
    progress::line("Installing the packages that drive a browser …");
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
