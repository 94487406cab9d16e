//! Reports of real records, read back by readers that are not our own.

mod flow;
mod harness;
mod html;
mod pdf;
mod plain;
mod step_sheet;
