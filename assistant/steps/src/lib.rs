//! Procedures, the trade's quantities, and the job as a state machine.

mod colour;
mod command;
mod decimal;
mod effect;
mod id;
mod input;
pub mod job;
mod language;
mod lines;
mod listen;
mod lobby;
mod manner;
mod moment;
mod people;
pub mod procedure;
pub mod quantity;

pub use colour::Colour;
pub use command::Command;
pub use decimal::{Decimal, MOST_PLACES, NotADecimal};
pub use effect::{Effect, Entry, Outcome, Range, Sentence, TakenBack, Tone, View};
pub use id::Id;
pub use input::{Certainty, Heard, Input};
pub use job::{CORRECTION_WINDOW, Job, Mode, Settings, Wording};
pub use language::Language;
pub use lines::Beside;
pub use listen::{Listen, NumberWanted, PhraseFor, Readback};
pub use lobby::Lobby;
pub use manner::Manner;
pub use moment::Moment;
pub use people::{LONGEST_NAME, MOST_PEOPLE, NameProblem, People};
pub use procedure::Procedure;
