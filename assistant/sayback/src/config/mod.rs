//! The bay's own files, all in one folder.
//!
//! - [`tools`]: the technician's own tools.
//! - [`people`]: the people who work here.
//! - [`bay`]: the bars that the bay has raised.
//! - [`shop`]: the shop's name and address.
//! - [`key`]: the key that the bay signs its records with.

pub mod bay;
pub mod key;
pub mod people;
pub mod shop;
pub mod tools;
