//! Whole jobs, from sound to sound: a spoken technician, the real ear, the real record.

mod fixtures;
mod follow_ups;
mod straight_through;
mod trying_everything;
