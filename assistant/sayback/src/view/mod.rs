//! What others see of a job.
//!
//! - [`glance`] and [`showing`]: what viewers see of a job.
//! - [`heard`]: what was heard in jobs, to be listened to and judged.

pub mod glance;
pub mod heard;
pub mod showing;
