//! Procedures, the trade's quantities, and the job as a state machine.
//!
//! This crate does no input or output, starts no threads, never asks for the time and has no randomness. A [`Job`] is
//! given an [`Input`] and the [`Moment`] at which it came, and returns [`Effect`]s; the microphone, the clock and the
//! disk belong to the caller. It refuses a procedure that its checker can't vouch for.
//!
//! ```
//! use std::{collections::BTreeMap, sync::Arc};
//! use steps::{Command, Effect, Heard, Input, Job, Moment, Procedure, Settings};
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
//! let mut job = Job::new(procedure, Settings::default());
//! let effects = job.take(Input::Begin, Moment(0));
//! let says = |effects: &[Effect]| effects.iter().any(|it| matches!(it, Effect::Say(_)));
//! assert!(says(&effects));
//! let next = Input::Said { command: Command::Next, heard: Heard::typed("next") };
//! assert!(says(&job.take(next, Moment(5_000))));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Why is the job a state machine without I/O?
//!
//! The promise that no talk opens a gate has to be shown, not hoped for. `tests/it/promises/random_talk.rs` drives the
//! job with random talk over random procedures. `tests/it/promises/every_state.rs` visits every state of each shipped
//! job that its gates depend on, with time standing still. Replaying a journal is the same call, so a job resumes
//! exactly where it was.
//!
//! # Where does a fact become true?
//!
//! In one line of `job/gates.rs`. A hold point always asks, whichever side it is reached from, and going back over one
//! voids its fact. So do a restart, a pause longer than the gate allows, and a clock that is set back.

mod causes;
pub mod codes;
mod colour;
mod command;
mod decimal;
mod effect;
mod harmless;
mod id;
mod input;
pub mod job;
mod language;
mod lines;
mod listen;
mod lobby;
mod manner;
mod moment;
mod pause;
mod people;
pub mod procedure;
pub mod quantity;
mod release;

pub use causes::with_causes;
pub use colour::Colour;
pub use command::{Command, Question};
pub use decimal::{Decimal, MAX_PLACES, NotADecimal};
pub use effect::{Effect, Entry, Outcome, Range, Sentence, TakenBack, Tone};
pub use harmless::{harmless, is_hidden_control};
pub use id::Id;
pub use input::{Certainty, Heard, Input};
pub use job::{CORRECTION_WINDOW, Job, Mode, STATE_VERSION, Settings, Wording};
pub use language::Language;
pub use lines::SystemNotice;
pub use listen::{Listen, NumberWanted, PhraseFor, Readback};
pub use lobby::Lobby;
pub use manner::Manner;
pub use moment::Moment;
pub use pause::PauseReason;
pub use people::{LONGEST_NAME, MAX_PEOPLE, NameProblem, People};
pub use procedure::Procedure;
pub use release::Release;
