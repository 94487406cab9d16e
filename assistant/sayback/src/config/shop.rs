//! The shop's name, address and logo, as they stand on reports: `shop.toml`, next to the tools file.
//!
//! ```toml
//! name = "Workshop of the Saltmarsh ferry depot"
//! address = ["Slipway 2", "Saltmarsh"]
//! logo = "logo.svg"
//! ```

use super::{WrongFile, tools};
use miette::Diagnostic;
use report::{Logo, LogoError, MAX_LOGO_BYTES, Shop};
use serde::Deserialize;
use std::path::{Path, PathBuf};

const HELP: &str = "write it like this: name = \"Saltmarsh workshop\" and, below, address = [\"Slipway 2\", \"Saltmarsh\"]; a logo as logo = \"logo.png\"";

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
    /// Its logo can't be used.
    #[error("the logo {} can't be used", path.display())]
    #[diagnostic(help(
        "`logo` in shop.toml names a PNG or SVG file, from the folder of shop.toml; without it reports have no logo"
    ))]
    Logo {
        path: PathBuf,
        #[source]
        source: LogoError,
    },
}

/// The file, as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ShopFile {
    #[serde(default)]
    name: String,
    /// The lines of its address.
    #[serde(default)]
    address: Vec<String>,
    /// A PNG or SVG, from the folder of this file.
    logo: Option<PathBuf>,
}

/// The shop of the file in the usual place; without a name where there is none.
///
/// # Errors
/// When the file is there, and it or its logo can't be read or used.
pub fn load() -> Result<Shop, ShopError> {
    let path = tools::usual_place().map(|it| it.with_file_name("shop.toml"));
    match path.filter(|path| path.exists()) {
        Some(path) => at(&path),
        None => Ok(Shop::default()),
    }
}

fn at(path: &Path) -> Result<Shop, ShopError> {
    let ShopFile {
        name,
        address,
        logo,
    } = super::read::<_, ShopError>(path, "shop", HELP)?;
    let logo = logo.map(|logo| {
        let path = path.with_file_name("").join(logo);
        let bytes = files::read(&path, MAX_LOGO_BYTES)?;
        Logo::read(bytes, &name).map_err(|source| ShopError::Logo { path, source })
    });
    Ok(Shop {
        logo: logo.transpose()?,
        name,
        address,
    })
}
