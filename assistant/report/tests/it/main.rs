//! Reports of real records, read back by readers that are not our own.

mod customer;
mod flow;
mod harness;
mod html;
mod labour;
mod pdf;
mod pdf_structure;
mod plain;
#[path = "../../../record/tests/it/harness/mod.rs"]
mod small_job;
mod statistics;
mod step_sheet;
mod summary;
mod vehicle_history;
