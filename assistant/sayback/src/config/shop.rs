//! The shop's name and address, as they stand on the page for the customer: `shop.toml`, next to the tools file.
//!
//! ```toml
//! name = "Workshop of the Saltmarsh ferry depot"
//! address = ["Slipway 2", "Saltmarsh"]
//! ```

use super::tools;
use miette::{Diagnostic, NamedSource, SourceSpan};
use report::Shop;
use std::path::PathBuf;
use std::sync::Arc;

/// The largest shop file that is read, in bytes.
const MAX_BYTES: u64 = 100_000;

/// Why the shop isn't known.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum ShopError {
    /// The file can't be read.
    #[error(transparent)]
    #[diagnostic(help("it should be your shop file; without one the page names no shop"))]
    Unreadable(#[from] files::FileError),
    /// It isn't what a shop file is.
    #[error("the shop file {} can't be used: {why}", path.display())]
    #[diagnostic(help(
        "write it like this: name = \"Saltmarsh workshop\" and, below, address = [\"Slipway 2\", \"Saltmarsh\"]"
    ))]
    Wrong {
        /// The file.
        path: PathBuf,
        why: String,
        #[source_code]
        text: Arc<NamedSource<String>>,
        /// Where.
        #[label("here")]
        place: Option<SourceSpan>,
    },
}

/// The shop of the file in the usual place; without a name where there is none.
///
/// # Errors
/// When the file is there and can't be read or used.
pub fn load() -> Result<Shop, ShopError> {
    let path = tools::usual_place().map(|it| it.with_file_name("shop.toml"));
    let Some(path) = path.filter(|path| path.exists()) else {
        return Ok(Shop::default());
    };
    let text = files::read_text(&path, MAX_BYTES)?;
    toml::from_str(&text).map_err(|error| ShopError::Wrong {
        why: error.message().to_owned(),
        place: error.span().map(SourceSpan::from),
        text: Arc::new(NamedSource::new(path.display().to_string(), text.clone())),
        path,
    })
}
