//! Whether a record is as it was written.
//!
//! # Who notices that the end was cut off?
//!
//! The journal, where only the entries were cut; after that the bay's signature, up to where it signed; and a hash that is
//! kept somewhere else. `sayback record NAME --verify` prints the newest entry's hash,
//! and `--verify --head HASH` asks whether it is still in the chain. Any earlier head will do.

use crate::job_history::JobHistory;
use crate::sound::{self, Files, SoundState};
use crate::{Checkpoint, Event, Fault, JobId, SignedBy, time};
use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;
use steps::{Input, Moment, Procedure};

/// What came out of checking a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified {
    /// The job.
    pub job: JobId,
    /// How many entries from the first on are whole.
    pub entries: u64,
    /// Hash of the last of them.
    pub head: String,
    /// The first entry that isn't, and why.
    pub fault: Option<(u64, Fault)>,
    /// Whether the inputs lead to what is on the record.
    pub replay: Replay,
    /// Which keys signed it, each up to where; the newest last.
    pub signatures: Vec<SignedBy>,
    /// Whether it was signed while the job was open, and its end isn't: a bay that has a key signs when it closes a job, and
    /// whatever is added later.
    pub end_unsigned: bool,
    /// Entries of a newer program, which this one doesn't understand.
    pub newer: u64,
    /// Sounds and photos that the record names, and that aren't there or not as they were; but for those
    /// that were discarded by a rule.
    pub sounds: Vec<(String, SoundState)>,
    /// When sounds or photos were discarded, how many, and by what rule.
    pub discarded: Vec<(Moment, usize, String)>,
}

/// Whether the inputs were replayed with the procedure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replay {
    /// They were, and led to the same.
    Same,
    /// They were, and led elsewhere.
    Elsewhere,
    /// No procedure was given.
    NotTried,
    /// The procedure has another text than the job was last worked by, so it proves nothing.
    OtherText,
}

impl Verified {
    /// Whether nothing was changed. Sounds that are no longer kept change nothing.
    pub fn is_whole(&self) -> bool {
        let sound_changed = self
            .sounds
            .iter()
            .any(|(_, state)| *state == SoundState::Changed);
        self.fault.is_none() && !sound_changed
    }
}

impl fmt::Display for Verified {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.fault {
            None => write!(
                f,
                "The record of job “{}” is whole: {} entries",
                self.job, self.entries
            )?,
            Some((seq, fault)) => write!(
                f,
                "The record of job “{}” is not whole: entry {seq} {fault}. {} entries are whole",
                self.job, self.entries
            )?,
        }
        write!(f, ", the last with SHA-256 {}.", self.head)?;
        if self.newer > 0 {
            write!(
                f,
                " {} of them are of a newer program: their chain is whole, what they tell isn't understood here.",
                self.newer
            )?;
        }
        match self.signatures.as_slice() {
            [] => f.write_str(" It is unsigned.")?,
            signatures => {
                for it in signatures {
                    write!(
                        f,
                        " Bay “{}” signed the first {} entries on {} with the key {}.",
                        it.bay,
                        it.entries,
                        time::iso(it.at),
                        it.key
                    )?;
                }
            }
        }
        if self.end_unsigned {
            f.write_str(
                " Its end isn't signed, though the job was closed: either the key couldn't be used then, or the last signature \
                 was taken off.",
            )?;
        }
        match self.replay {
            Replay::Same => f.write_str(" Replaying them led to the same.")?,
            Replay::Elsewhere => {}
            Replay::NotTried => f.write_str(" They were not replayed.")?,
            Replay::OtherText => f.write_str(
                " The procedure has another text now, so they were not replayed with it.",
            )?,
        }
        for (when, how_many, why) in &self.discarded {
            write!(
                f,
                " {how_many} sounds or photos were discarded on {}: {why}.",
                time::day(*when)
            )?;
        }
        for (name, state) in &self.sounds {
            match state {
                SoundState::Whole => {}
                SoundState::Gone => write!(f, " The {} {name} is not kept any more.", kind(name))?,
                SoundState::Changed => write!(f, " The {} {name} was changed.", kind(name))?,
            }
        }
        Ok(())
    }
}

fn kind(name: &str) -> &'static str {
    if name.ends_with(".wav") {
        "sound"
    } else {
        "photo"
    }
}

/// What comes out of checking a record; and where its last input led to, from replaying, where the chain doesn't tell.
pub(crate) fn verified(
    files: &(impl Files + ?Sized),
    past: &JobHistory,
    procedure: Option<Arc<Procedure>>,
) -> (Verified, Option<Checkpoint>) {
    let mut fault = past.fault.clone();
    let mut open_end = None;
    let replay = match procedure {
        None => Replay::NotTried,
        Some(_) if past.is_newer() => Replay::NotTried,
        Some(procedure) if procedure.sha256 != past.opening.sha256 => Replay::OtherText,
        Some(procedure) => match past.replay(procedure) {
            Ok((_, led_to)) => {
                open_end = led_to;
                Replay::Same
            }
            Err(seq) => {
                fault = Some((seq, Fault::Differs));
                Replay::Elsewhere
            }
        },
    };
    let whole = match &fault {
        Some((seq, Fault::Differs)) => *seq,
        Some(_) | None => past.next(),
    };
    let mut discarded = Vec::new();
    let mut gone: BTreeSet<&str> = BTreeSet::new();
    for told in &past.entries {
        if let Event::Discarded { files, why } = &told.event {
            discarded.push((told.at, files.len(), why.clone()));
            gone.extend(files.iter().map(String::as_str));
        } else if let Some(name) = file_of(&told.event) {
            // What is named after it was discarded was kept once more.
            gone.remove(name);
        }
    }
    let sounds = past
        .entries
        .iter()
        .filter_map(|told| file_of(&told.event))
        .filter(|name| !gone.contains(name))
        .map(|name| (name.to_owned(), sound::look_at(files, name)))
        .filter(|(_, state)| *state != SoundState::Whole)
        .collect();
    let unknown = past
        .entries
        .iter()
        .filter(|told| told.event == Event::Unknown);
    let newer = unknown.count() as u64;
    let ends_signed = past
        .entries
        .last()
        .is_some_and(|told| matches!(told.event, Event::Signed { .. } | Event::Unknown));
    let verified = Verified {
        job: past.job.clone(),
        entries: whole,
        head: past.head.clone(),
        fault,
        replay,
        signatures: past.signatures.clone(),
        end_unsigned: past.closed() && !past.signatures.is_empty() && !ends_signed,
        newer,
        sounds,
        discarded,
    };
    (verified, open_end)
}

/// The sound or photo that an entry names.
pub(crate) fn file_of(event: &Event) -> Option<&str> {
    match event {
        Event::Input {
            input: Input::Said { heard, .. } | Input::NotUnderstood { heard },
        }
        | Event::Unheeded { heard } => heard.sound.as_deref(),
        Event::Input {
            input: Input::Begin | Input::Woke | Input::Resumed,
        }
        | Event::Opened { .. }
        | Event::LedTo(_)
        | Event::TakenUp { .. }
        | Event::Discarded { .. }
        | Event::Closed { .. }
        | Event::Signed { .. }
        | Event::Unknown => None,
        Event::Attached { photo, .. } => Some(&photo.path),
    }
}
