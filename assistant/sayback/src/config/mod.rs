//! The bay's own files, all in one folder.
//!
//! - [`tools`]: the technician's own tools.
//! - [`people`]: who works here.
//! - [`bay`]: the bars that the bay has raised.

pub mod bay;
pub mod people;
pub mod tools;
