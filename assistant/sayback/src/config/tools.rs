//! The technician's tools file: where it is, and what is wrong with it.

use miette::{Diagnostic, NamedSource, SourceSpan};
use std::path::{Path, PathBuf};
use steps::quantity::{Toolbox, ToolsProblem};

/// The largest tools file that is read, in bytes. One of a hundred tools has about 5 000.
const MAX_BYTES: u64 = 200_000;

/// A tools file that can't be used.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum ToolsError {
    /// It can't be read.
    #[error(transparent)]
    #[diagnostic(help(
        "it should be your tools file; name another with --tools, or do without one"
    ))]
    Unreadable(#[from] files::FileError),
    /// Something in it isn't a tool.
    #[error("the tools file {} can't be used: {} in it {} wrong", path.display(), counted(wrong), if wrong.len() == 1 { "is" } else { "are" })]
    #[diagnostic(help(
        "correct it; docs/src/using/tools-and-people.md shows how a tools file is written"
    ))]
    Wrong {
        /// The file.
        path: PathBuf,
        /// All that is wrong with it.
        #[related]
        wrong: Vec<WrongTool>,
    },
}

/// One thing wrong with a tools file, drawn at its line.
#[derive(Debug, thiserror::Error, Diagnostic)]
#[error("{place}: {what}")]
#[diagnostic(help("{remedy}"))]
pub struct WrongTool {
    place: String,
    what: String,
    remedy: String,
    #[source_code]
    text: NamedSource<String>,
    #[label("here")]
    line: SourceSpan,
}

/// Where the tools file usually lies: `sayback/tools.toml` in the user's configuration folder (XDG Base Directory
/// Specification); `None` without a home folder.
pub fn usual_place() -> Option<PathBuf> {
    let set = |name| {
        std::env::var_os(name)
            .filter(|value| !value.is_empty())
            .map(PathBuf::from)
    };
    let config = set("XDG_CONFIG_HOME").or_else(|| set("HOME").map(|home| home.join(".config")));
    config.map(|config| config.join("sayback").join("tools.toml"))
}

/// The tools of the file that was named, else of the file that `SAYBACK_TOOLS` names, else of the usual place;
/// `None` if there is no such file.
///
/// # Errors
/// When the file can't be read, or something in it isn't a tool.
pub fn load(named: Option<&Path>) -> Result<Option<Toolbox>, ToolsError> {
    let set = std::env::var_os("SAYBACK_TOOLS").filter(|value| !value.is_empty());
    match named.map(Path::to_owned).or(set.map(PathBuf::from)) {
        Some(path) => read(&path).map(Some),
        None => match usual_place().filter(|path| path.exists()) {
            Some(path) => read(&path).map(Some),
            None => Ok(None),
        },
    }
}

fn read(path: &Path) -> Result<Toolbox, ToolsError> {
    let text = files::read_text(path, MAX_BYTES)?;
    Toolbox::read(&text).map_err(|problems| ToolsError::Wrong {
        path: path.to_owned(),
        wrong: problems
            .0
            .into_iter()
            .map(|problem| at_its_line(path, &text, problem))
            .collect(),
    })
}

fn at_its_line(path: &Path, text: &str, problem: ToolsProblem) -> WrongTool {
    let before: usize = text
        .split_inclusive('\n')
        .take(problem.line.saturating_sub(1))
        .map(str::len)
        .sum();
    let line = text[before..].lines().next().unwrap_or_default();
    WrongTool {
        place: problem.place,
        what: problem.what,
        remedy: problem.remedy,
        text: NamedSource::new(path.display().to_string(), text.to_owned()),
        line: (before, line.len()).into(),
    }
}

fn counted(wrong: &[WrongTool]) -> String {
    match wrong.len() {
        1 => "1 thing".to_owned(),
        many => format!("{many} things"),
    }
}
