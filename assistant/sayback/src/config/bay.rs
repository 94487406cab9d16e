//! The bars that a bay has raised above the usual ones, kept next to the tools file.

use ears::verdict::Raised;
use files::IfThere;
use miette::{IntoDiagnostic, WrapErr, miette};
use std::path::PathBuf;

/// The largest such file that is read, in bytes.
const MAX_BYTES: u64 = 100_000;

/// Where it lies: `sayback/hearing.toml` in the user's configuration folder; `None` without a home folder.
pub fn place() -> Option<PathBuf> {
    super::tools::usual_place().map(|tools| tools.with_file_name("hearing.toml"))
}

/// What this bay has raised; nothing if there is no file.
///
/// # Errors
/// When the file is there and can't be read, or holds something else. It isn't passed over: the bay asked for more.
pub fn raised() -> miette::Result<Raised> {
    let Some(path) = place().filter(|path| path.exists()) else {
        return Ok(Raised::default());
    };
    let text = files::read_text(&path, MAX_BYTES).into_diagnostic()?;
    toml::from_str(&text).into_diagnostic().wrap_err_with(|| {
        format!(
            "{} can't be used: correct it, or delete it and run `sayback hear-check --keep`",
            path.display()
        )
    })
}

/// Raises the bay's bars to these where they are lower, and returns the file.
///
/// # Errors
/// When the file can't be read or written.
pub fn raise(to: &Raised) -> miette::Result<PathBuf> {
    let path = place()
        .ok_or_else(|| miette!("no home folder is set: there is nowhere to keep the bay's bars"))?;
    let before = raised()?;
    let higher = |one: Option<f32>, other: Option<f32>| match (one, other) {
        (Some(one), Some(other)) => Some(one.max(other)),
        (one, other) => one.or(other),
    };
    let both = Raised {
        command: higher(before.command, to.command),
        number: higher(before.number, to.number),
        gate: higher(before.gate, to.gate),
    };
    let text = toml::to_string(&both).into_diagnostic()?;
    let text = format!(
        "# Probabilities that this bay asks for, beyond the usual ones. Written by hear-check.\n{text}"
    );
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).into_diagnostic()?;
    }
    files::write(&path, text.as_bytes(), IfThere::Replace).into_diagnostic()?;
    Ok(path)
}
