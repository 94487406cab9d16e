//! Whole jobs, from sound to sound: a spoken technician, the real ear, the real record.

mod called;
mod fixtures;
mod follow_ups;
mod room_talk;
mod straight_through;
mod trying_everything;
