//! What the job answers, in plain words.

mod job;
mod talking;
mod torque;
mod waiting;
