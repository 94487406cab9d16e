//! Whole jobs, worked from sound to sound.

mod jobs;
mod live;
mod own_voice;
mod told;
