//! What was heard in a job, as its record has it.

use crate::{Archive, Event, JobId, RecordError};
use steps::{Certainty, Command, Heard, Input, Moment};

/// Something heard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeardOnRecord {
    /// The number of its entry.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// What it was taken for, where it was taken for anything.
    pub taken_for: Option<Command>,
    /// Whether it counted for nothing, and is there only because what was heard is kept.
    pub unheeded: bool,
    /// The words and what speaks for them.
    pub heard: Heard,
}

impl Archive {
    /// All that was heard in a job, in order, as far as its record has it. What was typed isn't among it.
    ///
    /// # Errors
    /// When the job's record can't be read.
    pub fn heard(&self, id: &JobId) -> Result<Vec<HeardOnRecord>, RecordError> {
        let entries = self.past(id)?.entries.into_iter();
        let all = (0..).zip(entries).filter_map(|(seq, told)| {
            let (taken_for, unheeded, heard) = match told.event {
                Event::Input {
                    input: Input::Said { command, heard },
                } => (Some(command), false, heard),
                Event::Input {
                    input: Input::NotUnderstood { heard },
                } => (None, false, heard),
                Event::Unheeded { heard } => (None, true, heard),
                Event::Input {
                    input: Input::Begin | Input::Woke | Input::Resumed,
                }
                | Event::Opened { .. }
                | Event::LedTo(_)
                | Event::TakenUp { .. }
                | Event::Attached { .. }
                | Event::Discarded { .. }
                | Event::Closed { .. }
                | Event::Signed { .. }
                | Event::Unknown => return None,
            };
            let at = told.at;
            (heard.certainty != Certainty::Typed).then_some(HeardOnRecord {
                seq,
                at,
                taken_for,
                unheeded,
                heard,
            })
        });
        Ok(all.collect())
    }
}
