//! What a shop hands over: a job's record as HTML, PDF, CSV and JSON; and a procedure's step sheet for the wall.
//! [`Summary`] is a record as plain text, [`Course`] how a job went, [`statistics`] puts many jobs side by side,
//! [`VehicleHistory`] what the jobs on a vehicle come to, and [`purchase_list`] is what is bought for a job.
//!
//! One plain model, [`JobReport`], is gathered from the record by a pure function and feeds all four. HTML
//! and PDF are self-contained: no script, no outside address, the fonts and photos inside. Making a report
//! reads no file and asks for no time, so the same record in the same time zone always gives the same bytes.
//!
//! The PDF is laid out here and written by a library: the whole of a typesetting system would take longer
//! to build than the rest of the workspace.
//!
//! ```
//! # let folder = tempfile::tempdir()?;
//! # let text = r#"
//! # format = 1
//! # id = "wash-van"
//! # title = "Washing the van"
//! # vehicle = "van of the Saltmarsh ferry depot"
//! # values = "Invented."
//! # minutes = 20
//! # [[step]]
//! # id = "rinse"
//! # action = "do"
//! # text = "Rinse the van."
//! # [[make_safe]]
//! # id = "tap"
//! # action = "do"
//! # text = "Close the tap."
//! # "#;
//! # let library = std::collections::BTreeMap::from([("wash-van", text)]);
//! # let procedure = std::sync::Arc::new(steps::Procedure::load("wash-van", &library)?);
//! # let archive = record::Archive::open(folder.path())?;
//! # let settings = steps::Settings::default();
//! # let (worked, _) = record::JournaledJob::begin(&archive, procedure, settings, steps::Moment(0))?;
//! # let id = worked.id().clone();
//! use report::{JobReport, Paper, Shop, TimeZone};
//!
//! let report = JobReport::of(&archive.report(&id)?);
//! let pdf = report.pdf(&Shop::default(), &[], Paper::A4, &TimeZone::UTC)?;
//! let html = report.html(&Shop::default(), &[], Paper::A4, &TimeZone::UTC);
//! assert!(pdf.starts_with(b"%PDF-"));
//! # assert!(html.contains("Washing the van"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Why a crate of its own?
//!
//! So that the journal stays quick to build. `gather.rs` turns the record into one plain model, `compose.rs` sets it
//! as headings, tables and pictures, and HTML and PDF draw those.

mod compose;
mod course;
mod csv;
mod drawing;
mod flow;
mod gather;
mod html;
mod labour;
mod logo;
mod markdown;
pub mod model;
mod names;
mod pattern;
mod pdf;
mod pictures;
mod sheet;
pub mod statistics;
mod step_sheet;
mod summary;
mod time;
mod vehicle_history;

pub use course::{Course, Part, Stage};
pub use csv::purchase_list;
pub use flow::flow_picture;
pub use html::escaped;
pub use jiff::tz::TimeZone;
pub use labour::{Labour, PauseTime, PhaseTime};
pub use logo::{Logo, LogoError, MAX_LOGO_BYTES};
pub use model::JobReport;
pub use pattern::{array_drawing, circle_drawing};
pub use step_sheet::StepSheet;
pub use summary::Summary;
pub use vehicle_history::{Due, Measured, VehicleHistory};

/// The paper that a report is set for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216 A4, 210 × 297 mm.
    #[default]
    A4,
    /// ANSI/ASME Y14.1 size A, “Letter”, 8½ × 11 in.
    Letter,
}

impl Paper {
    /// Width and height in points of 1/72 in.
    pub fn points(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.276, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// The shop, as it calls itself on its reports.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// The lines of its address.
    pub address: Vec<String>,
    pub logo: Option<Logo>,
}

/// A photo, ready to be shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Its number in [`JobReport::photos`].
    pub number: usize,
    /// The picture as JPEG.
    pub jpeg: Vec<u8>,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

/// Why a report can't be made.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// The PDF can't be written.
    #[error("the PDF can't be made: {what}. This is a bug in Sayback; HTML holds the same")]
    Pdf {
        /// What the library says.
        what: String,
    },
    /// The table can't be written.
    #[error("the table can't be made: {what}. This is a bug in Sayback")]
    Csv {
        /// What the library says.
        what: String,
    },
}
