//! The Python environment in the cache, apart from the machine's packages.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use indicatif::ProgressBar;

use crate::Failure;
use crate::fetch::copy_and_hash;
use crate::progress;

/// The folder below the cache.
pub const FOLDER: &str = "venv";

/// Packages that are installed together.
pub struct Packages {
    /// What they are, as a noun phrase for sentences.
    pub what: &'static str,
    /// The file of this crate that pins them.
    file: &'static str,
    /// The file in the environment that says which version of `file` was installed.
    stamp: &'static str,
    /// What fails without them, and what still works: one sentence.
    without: &'static str,
    /// About how long it takes to install them.
    pub seconds: u32,
}

/// What the neural and near-human voices run on.
pub const SPEECH: Packages = Packages {
    what: "the Python packages of the neural and near-human voices",
    file: "requirements-speech.txt",
    stamp: ".speech-sha256",
    without: "Without them the neural and near-human voices can't speak, so the demonstration needs another one (`cargo xtask demo --voice flite-man-fast`).",
    seconds: 15,
};

/// Independent libraries that tests compare results with.
pub const INDEPENDENT: Packages = Packages {
    what: "the tests' Python packages",
    file: "requirements.txt",
    stamp: ".requirements-sha256",
    without: "Without them the tests that compare results with independent libraries fail; the assistant itself still works.",
    seconds: 30,
};

impl Packages {
    fn requirements(&self) -> PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR")).join(self.file)
    }

    fn checksum(&self) -> std::io::Result<String> {
        let mut file = std::fs::File::open(self.requirements())?;
        copy_and_hash(&mut file, &mut std::io::sink(), &ProgressBar::hidden())
    }
}

fn python(cache: &Path) -> PathBuf {
    cache.join(FOLDER).join("bin/python")
}

/// Whether the packages are installed as they are pinned now.
pub fn is_there(cache: &Path, packages: &Packages) -> bool {
    let stamp = std::fs::read_to_string(cache.join(FOLDER).join(packages.stamp));
    let wanted = packages.checksum();
    let stamped =
        matches!((&stamp, &wanted), (Ok(stamp), Ok(wanted)) if stamp.trim() == wanted.as_str());
    // `exists` follows the link: false as well when the Python that it was made with is gone.
    stamped && python(cache).exists()
}

/// Sees to it that the packages are installed in `<cache>/venv`.
pub fn ensure(cache: &Path, packages: &Packages) -> Result<(), Failure> {
    let requirements = packages.requirements();
    let told = |why: String| {
        Failure::new(format!(
            "Can't be had: {what}: {why}.\n  {without}\n  By hand: python3 -m venv {0}/{FOLDER} && {0}/{FOLDER}/bin/pip install --no-deps --only-binary :all: --require-hashes -r {1}\n  (CPython 3.11 to 3.13). Then run this again.",
            cache.display(),
            requirements.display(),
            what = packages.what,
            without = packages.without,
        ))
    };
    if is_there(cache, packages) {
        return Ok(());
    }
    let wanted = packages
        .checksum()
        .map_err(|error| told(format!("{}: {error}", requirements.display())))?;
    let folder = cache.join(FOLDER);
    let python = python(cache);
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
    let stamp = folder.join(packages.stamp);
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
