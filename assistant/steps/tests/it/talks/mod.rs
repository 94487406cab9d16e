//! What the job answers, in plain words.

mod entries;
mod job;
mod manner;
mod talking;
mod torque;
mod waiting;
