//! The shop's name and address, as they stand on the page for the customer: `shop.toml`, next to the tools file.
//!
//! ```toml
//! name = "Workshop of the Saltmarsh ferry depot"
//! address = ["Slipway 2", "Saltmarsh"]
//! ```

use super::{WrongFile, tools};
use miette::Diagnostic;
use report::Shop;

const HELP: &str = "write it like this: name = \"Saltmarsh workshop\" and, below, address = [\"Slipway 2\", \"Saltmarsh\"]";

/// Why the shop isn't known.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum ShopError {
    /// The file can't be read.
    #[error(transparent)]
    #[diagnostic(help("it should be your shop file; without one the page names no shop"))]
    Unreadable(#[from] files::FileError),
    /// It isn't what a shop file is.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Wrong(#[from] WrongFile),
}

/// The shop of the file in the usual place; without a name where there is none.
///
/// # Errors
/// When the file is there and can't be read or used.
pub fn load() -> Result<Shop, ShopError> {
    let path = tools::usual_place().map(|it| it.with_file_name("shop.toml"));
    match path.filter(|path| path.exists()) {
        Some(path) => super::read(&path, "shop", HELP),
        None => Ok(Shop::default()),
    }
}
