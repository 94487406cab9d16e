//! The bay's people: `people.toml`, next to the tools file.
//!
//! ```toml
//! names = ["Mara", "Jo-Ann"]
//! ```

use super::{WrongFile, tools};
use miette::Diagnostic;
use serde::Deserialize;
use std::path::{Path, PathBuf};
use steps::procedure::as_heard;
use steps::{Command, Language, NameProblem, People};

const HELP: &str = "write it like this: names = [\"Mara\", \"Jo-Ann\"]";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    names: Vec<String>,
}

/// Why the bay's people aren't known.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum PeopleError {
    /// The file can't be read.
    #[error(transparent)]
    #[diagnostic(help(
        "it should be your people file; name another with --people, or do without one"
    ))]
    Unreadable(#[from] files::FileError),
    /// It isn't what a people file is.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Wrong(#[from] WrongFile),
    /// A name can't be used.
    #[error(transparent)]
    #[diagnostic(help("the names stand in the people file; --by says who works"))]
    Name(#[from] NameProblem),
    /// A name would be taken for a command, or a command for a name.
    #[error("“{0}” can't be a name: it is a command")]
    #[diagnostic(help("write the name as it is called in the bay, with a surname if need be"))]
    Command(String),
}

/// The usual place of the people file, next to the tools file.
pub fn usual_place() -> Option<PathBuf> {
    Some(tools::usual_place()?.with_file_name("people.toml"))
}

/// The people of the file that was named, else of the one in the usual place, and who of them begins.
///
/// # Errors
/// When the file can't be read or used, or `by` isn't in it.
pub fn load(named: Option<&Path>, by: Option<&str>) -> Result<People, PeopleError> {
    let usual = || usual_place().filter(|path| path.exists());
    let known = match named.map(Path::to_owned).or_else(usual) {
        Some(path) => super::read::<File, PeopleError>(&path, "people", HELP)?.names,
        None => Vec::new(),
    };
    let is_command = |name: &&str| {
        let name = as_heard(name);
        let is_of = |language| {
            let mut commands = Command::ALL_PLAIN.iter();
            commands.any(|it| words::now::all_words(language, it).contains(&name))
        };
        Language::ALL.into_iter().any(is_of)
    };
    if let Some(name) = known.iter().map(String::as_str).chain(by).find(is_command) {
        return Err(PeopleError::Command(name.to_owned()));
    }
    Ok(People::new(known, by.map(str::to_owned))?)
}
