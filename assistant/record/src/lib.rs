//! What happened in a job, durably.
//!
//! The journal is the truth: an input is on disk before the job takes it, and before anything that follows
//! from it is said. Everything else follows from the inputs by replaying them, which is also how a job is
//! taken up after a crash. Each entry carries the hash of the one before, so a change shows.
//!
//! This crate refuses to forget (entries are only ever added), to guess (a record that isn't whole, or that
//! replays to something else, isn't taken up), and to let two programs write one job.
//!
//! ```
//! use record::{IfChanged, Archive, JournaledJob};
//! use std::{collections::BTreeMap, sync::Arc};
//! use steps::{Command, Heard, Input, Moment, Procedure, Settings};
//!
//! let text = r#"
//! format = 1
//! id = "wash-van"
//! title = "Washing the van"
//! vehicle = "van of the Saltmarsh ferry depot"
//! values = "Invented."
//! minutes = 20
//! [[step]]
//! id = "rinse"
//! action = "do"
//! text = "Rinse the van."
//! [[make_safe]]
//! id = "tap"
//! action = "do"
//! text = "Close the tap."
//! "#;
//! let library = BTreeMap::from([("wash-van", text)]);
//! let procedure = Arc::new(Procedure::load("wash-van", &library)?);
//! # let folder = tempfile::tempdir()?;
//! # let folder = folder.path();
//! let archive = Archive::open(folder)?;
//!
//! let (mut worked, _effects) = JournaledJob::begin(&archive, procedure.clone(), Settings::default(), Moment(0))?;
//! let next = Input::Said { command: Command::Next, heard: Heard::typed("next") };
//! let _effects = worked.take(next, Moment(5_000))?; // on disk by now
//! let id = worked.id().clone();
//! drop(worked); // or the power fails
//!
//! let again = JournaledJob::resume(&archive, &id, procedure, IfChanged::Refuse, Moment(90_000))?;
//! assert!(archive.verify(&id, None)?.is_whole());
//! println!("{}", archive.report(&id)?.json()?);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod archive;
mod chain;
mod error;
mod export;
mod fault;
mod heard;
mod job_history;
mod job_id;
pub mod journal;
mod journaled_job;
mod keeping;
mod key;
pub mod line;
mod open;
mod owner_only;
mod photo;
mod procedures;
mod repair;
mod report;
mod search;
mod sound;
pub mod sqlite;
pub mod time;
mod verify;
mod waiting;
mod whole_record;

pub use archive::{Archive, IfChanged, JobSummary, TakenUp};
pub use chain::{Checkpoint, Event, FORMAT, PROGRAM, Row};
pub use error::RecordError;
pub use export::Exported;
pub use fault::Fault;
pub use heard::HeardOnRecord;
pub use job_history::SignedBy;
pub use job_id::JobId;
pub use journal::ListPage;
pub use journaled_job::{JournaledJob, WorkedAgain};
pub use keeping::{Discarded, Rule};
pub use key::{BayKey, Found, Keyring, Succession, signed, successions};
pub use line::Line;
pub use open::OpenJob;
pub use owner_only::others_can_read;
pub use photo::{KeptPhoto, MAX_BYTES as MAX_PHOTO_BYTES, Photo};
pub use repair::{Lost, Repaired, repair};
pub use report::{Report, ReportLine, ReportPhoto};
pub use search::{Ended, Wanted};
pub use sound::SoundState;
pub use verify::{Replay, Verified};
pub use waiting::WaitingFor;
pub use whole_record::WholeRecord;
