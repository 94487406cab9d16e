//! What viewers ask of whoever works the job.

use crossbeam_channel::{Receiver, never};
use page::{Attaching, ViewerAction};

/// What viewers ask of whoever works the job.
#[derive(Debug)]
pub struct ViewerRequests {
    /// What they may have done.
    pub actions: Receiver<ViewerAction>,
    /// Photos for its notes.
    pub photos: Receiver<Attaching>,
}

impl Default for ViewerRequests {
    /// Nothing, ever.
    fn default() -> Self {
        Self {
            actions: never(),
            photos: never(),
        }
    }
}
