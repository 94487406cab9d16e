//! An error in one line.

use std::error::Error;

/// The error and what caused it, as “message: cause: cause”.
///
/// An error of this program doesn't repeat its source in its own message, so whoever prints one has to print the chain:
/// the shell draws it, and anything that has only one line for it uses this.
///
/// ```
/// #[derive(Debug, thiserror::Error)]
/// #[error("tools.toml can't be read")]
/// struct Unreadable(#[source] std::io::Error);
///
/// let cause = std::io::Error::other("the disk is gone");
/// assert_eq!(steps::with_causes(&Unreadable(cause)), "tools.toml can't be read: the disk is gone");
/// ```
pub fn with_causes(error: &dyn Error) -> String {
    let mut told = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        told = format!("{told}: {cause}");
        source = cause.source();
    }
    told
}
