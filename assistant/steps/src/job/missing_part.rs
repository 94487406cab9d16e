//! A part is missing: the vehicle is made safe as when the job is given up, and the job stands still until the part is
//! here, and then goes on where it stood.
//!
//! No fact outlives the work: making safe begins without one, and so does the work that goes on.

use super::state::{MissingPart, Pending, Phase};
use super::{Job, Out};
use crate::codes::{Kept, VoidReason};
use crate::procedure::as_heard;
use crate::{Command, Entry, Id, PhraseFor, Tone};
use std::collections::BTreeMap;

impl Job {
    /// Whether the job waits for a part, or is made safe to wait for it.
    pub fn waits_for_part(&self) -> bool {
        self.core.missing.is_some()
    }

    /// Whether it may be said here that a part is missing. Beside a gate's words nothing is listened for that can wait.
    pub(super) fn part_may_be_missed(&self) -> bool {
        match self.core.phase {
            Phase::LayingOut(_) | Phase::Working => self.gate_that_holds().is_none(),
            Phase::Choosing(_) | Phase::MakingSafe | Phase::Waiting | Phase::Closed(_) => false,
        }
    }

    /// The parts that may be said to be missing: those that go in new.
    pub(super) fn parts_to_miss(&self) -> Vec<PhraseFor> {
        let items = self.procedure.items.iter();
        let items = items.filter(|(_, item)| item.once_only);
        let items = items.map(|(id, item)| (as_heard(&item.name), id));
        let groups = self.procedure.fasteners.iter();
        let groups = groups.filter(|(_, group)| group.once_only);
        let groups = groups.map(|(id, group)| (as_heard(group.named()), id));
        let named: BTreeMap<String, &Id> = groups.chain(items).collect();
        let phrases = named.into_iter().map(|(words, id)| PhraseFor {
            words,
            command: Command::PartMissing {
                thing: Some(id.clone()),
            },
        });
        phrases.collect()
    }

    /// "A part is missing."
    pub(super) fn part_missing(&mut self, part: Option<Id>, out: &mut Out) {
        match self.core.phase {
            Phase::LayingOut(_) | Phase::Working => {}
            Phase::Choosing(_) => {
                out.say(Tone::Refusal, self.lines().answer_first());
                self.tell_place(out);
                return;
            }
            Phase::MakingSafe => {
                out.say(Tone::Refusal, self.lines().make_safe_first());
                self.tell_place(out);
                return;
            }
            Phase::Waiting => {
                self.tell_place(out);
                return;
            }
            Phase::Closed(_) => return,
        }
        let asked = match &part {
            Some(id) => self.lines().will_wait_for(self.name_of(id)),
            None => self.lines().will_wait(),
        };
        out.say(Tone::Question, asked);
        self.core.pending = Some(Pending::PartMissing { part });
    }

    /// Makes safe, and waits.
    pub(super) fn wait_for_part(&mut self, part: Option<Id>, out: &mut Out) {
        let phase = self.core.phase;
        match phase {
            Phase::LayingOut(_) | Phase::Working => {}
            Phase::Choosing(_) | Phase::MakingSafe | Phase::Waiting | Phase::Closed(_) => return,
        }
        self.leave(out);
        out.write(Entry::PartMissing {
            part: part.as_ref().map(|id| self.name_of(id)),
        });
        self.void_all(&VoidReason::WaitsForPart, out);
        let frames = std::mem::take(&mut self.core.frames);
        let begun = !frames.is_empty();
        self.core.closing = false;
        self.core.missing = Some(MissingPart {
            part,
            phase,
            frames,
        });
        match begun {
            true => self.begin_making_safe(out),
            false => self.stand_waiting(out),
        }
    }

    /// All is made safe.
    pub(super) fn stand_waiting(&mut self, out: &mut Out) {
        self.core.phase = Phase::Waiting;
        self.core.frames.clear();
        self.core.pending = None;
        out.write(Entry::Waiting {
            outstanding: self.all_outstanding().map(Kept::Data).collect(),
        });
        self.void_all(&VoidReason::WaitsForPart, out);
        let off = self.outstanding();
        if !off.is_empty() {
            let off = self.lines().not_in_place_recorded(off.join("; "));
            out.say(Tone::Warning, off);
        }
        self.tell_place(out);
    }

    /// What the job waits for, in words.
    pub(super) fn waits_for(&self) -> String {
        let missing = self.core.missing.as_ref();
        match missing.and_then(|it| it.part.as_ref()) {
            Some(part) => self.lines().waits_for(self.name_of(part)),
            None => self.lines().waits(),
        }
    }

    /// "The part is here": the work goes on where it stood.
    pub(super) fn part_here(&mut self, out: &mut Out) {
        let Some(missing) = self.core.missing.take() else {
            out.say(Tone::Refusal, self.lines().no_part_missing());
            return;
        };
        out.write(Entry::PartArrived);
        let voided = self.void_all(&VoidReason::TakenUpAgain, out);
        self.core.phase = missing.phase;
        self.core.frames = missing.frames;
        // What was off may have been put back to make it safe.
        self.settle();
        self.take_up(&voided, out);
        self.tell_place(out);
    }
}
