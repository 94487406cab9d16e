//! Procedures, quantities and the job: what they promise.

mod differences;
mod lay_out_and_time;
mod problems;
mod promises;
mod quantity_laws;
mod quantity_tables;
mod quantity_tools;
mod schema;
mod sheets;
mod shipped_procedures;
mod talks;
