//! Procedures, the trade's quantities, and the job as a state machine.

mod command;
mod decimal;
mod id;
mod listen;
mod moment;
pub mod procedure;
pub mod quantity;

pub use command::Command;
pub use decimal::{Decimal, MOST_PLACES, NotADecimal};
pub use id::Id;
pub use listen::{Listen, NumberWanted, PhraseFor, Readback};
pub use moment::Moment;
pub use procedure::Procedure;
