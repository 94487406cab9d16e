//! What the job answers, in plain words.

mod job;
mod manner;
mod talking;
mod torque;
mod waiting;
