//! What the job answers, in plain words.

mod asked_by_name;
mod entries;
mod job;
mod manner;
mod missing_part;
mod pauses;
pub mod talking;
mod torque;
mod waiting;
