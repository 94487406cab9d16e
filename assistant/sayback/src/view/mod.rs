//! What others see of a job, and what they may ask of it.
//!
//! - [`glance`] and [`showing`]: what viewers see of a job.
//! - [`viewers`]: what viewers may ask for.
//! - [`heard`]: what was heard in jobs, to be listened to and judged.

pub mod glance;
pub mod heard;
pub mod showing;
pub mod viewers;
