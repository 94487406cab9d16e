//! What can go wrong with a record, and what to do then.

use crate::JobId;
use std::path::{Path, PathBuf};

/// Why something can't be recorded or read. While it can't, the assistant holds: nothing that isn't on disk
/// is acted on.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// The folder can't be made or used.
    #[error("the records' folder {} can't be used (name another one, or make it readable and writable)", path.display())]
    Folder {
        /// Which one.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// It can be read but not written.
    #[error("{} can't be written. Make the folder and its files writable for you, or name another one", path.display())]
    ReadOnly {
        /// Which file.
        path: PathBuf,
    },
    /// The disk is full.
    #[error("the disk is full, so {} can't take this in. Make room, then say it again", path.display())]
    Full {
        /// Which file.
        path: PathBuf,
    },
    /// The disk fails.
    #[error("the disk fails at {}: {what}. Look after the disk, and work on with a folder on another one", path.display())]
    Disk {
        /// Which file.
        path: PathBuf,
        /// What the database says.
        what: String,
    },
    /// The file isn't what this program wrote any more.
    #[error("{} is damaged: {what}. Put it aside, with the files beside it; `sayback repair` brings what can still be read into a new folder", path.display())]
    Damaged {
        /// Which file.
        path: PathBuf,
        /// What the database says.
        what: String,
    },
    /// Written by a newer program.
    #[error("{} was written by a newer program: its tables are of version {found}, this program knows {known}. Use the newer program", path.display())]
    Newer {
        /// Which file.
        path: PathBuf,
        /// The version in it.
        found: i64,
        /// The newest version that is known.
        known: i64,
    },
    /// A database of something else.
    #[error("{} holds no records of this program. Name another folder, or put that file elsewhere", path.display())]
    NotOurs {
        /// Which file.
        path: PathBuf,
    },
    /// Another program keeps writing.
    #[error("another program has kept {} busy for too long. Try again", path.display())]
    Busy {
        /// Which file.
        path: PathBuf,
    },
    /// Anything else that the database says.
    #[error("{} can't be used: {what}. If that stays so, name another folder for the records", path.display())]
    Database {
        /// Which file.
        path: PathBuf,
        /// What the database says.
        what: String,
    },
    /// Someone else writes this job.
    #[error(
        "job “{job}” is open in another program on this machine. Go on there, or close it there first"
    )]
    InUse {
        /// Which job.
        job: JobId,
    },
    /// There is no such job.
    #[error("there is no job “{job}” among these records. List the jobs for their names")]
    NoSuchJob {
        /// Which job.
        job: JobId,
    },
    /// The job is over.
    #[error("job “{job}” is closed, and a closed record takes nothing more. Open a new job")]
    Closed {
        /// Which job.
        job: JobId,
    },
    /// The procedure that was given is another one.
    #[error(
        "job “{job}” is worked by the procedure “{wanted}”, not by “{given}”. Give it the right one"
    )]
    OtherProcedure {
        /// Which job.
        job: JobId,
        /// The job's procedure.
        wanted: String,
        /// The one that was given.
        given: String,
    },
    /// The procedure's text changed since the job's last input.
    #[error(
        "the procedure “{procedure}” was changed while job “{job}” was open. Put the former text back, or say that the job shall go on with the changed one; the record will tell"
    )]
    ProcedureChanged {
        /// Which job.
        job: JobId,
        /// The procedure.
        procedure: String,
        /// SHA-256 of the text so far.
        was: String,
        /// SHA-256 of the text that was given.
        is: String,
    },
    /// Replaying the inputs doesn't lead to where the job was.
    #[error(
        "job “{job}” can't be taken up: what entry {seq} led to comes out differently now, with this procedure and version {program} of the program (so far: {was}). Use the former ones, or open a new job"
    )]
    ReplayDiffers {
        /// Which job.
        job: JobId,
        /// Which entry.
        seq: u64,
        /// This program's version.
        program: String,
        /// The version that wrote the job so far.
        was: String,
    },
    /// The record was changed, or lost a part.
    #[error(
        "the record of job “{job}” is not whole: entry {seq} {fault}. Leave it as it is for whoever looks into it, and open a new job"
    )]
    NotWhole {
        /// Which job.
        job: JobId,
        /// The first entry that is wrong.
        seq: u64,
        /// What is wrong with it.
        fault: crate::Fault,
    },
    /// A new input came before the job had taken the last one.
    #[error(
        "job “{job}” hasn't said where entry {seq} led to, so nothing can follow it. This is a bug in Sayback; start it again and take the job up"
    )]
    Unsealed {
        /// Which job.
        job: JobId,
        /// The entry.
        seq: u64,
    },
    /// A sound or a photo can't be kept.
    #[error("a sound or photo can't be kept in {}: {what}. Make room or make the folder writable, then try again", path.display())]
    Sound {
        /// The file.
        path: PathBuf,
        /// Why not.
        what: String,
    },
    /// The bay's key can't be used.
    #[error("the bay's key at {} can't be used: {what}", path.display())]
    Key {
        /// Which file or folder.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
    },
    /// A newer program wrote a job's newest entries.
    #[error(
        "job “{job}” was written by a newer program ({program}), so this one can't resume it. Use the newer program; its chain can be verified here"
    )]
    NewerJob {
        /// Which job.
        job: JobId,
        /// The newer program's version.
        program: String,
    },
    /// An exported job can't be written or read.
    #[error("{} can't be used as an exported job: {what}", path.display())]
    Export {
        /// Which file.
        path: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// A photo can't be taken in.
    #[error("the photo {given} can't be attached: {what}. Give a JPEG or PNG file")]
    Photo {
        /// The file's name.
        given: String,
        /// What is wrong with it.
        what: String,
    },
    /// There is no such note.
    #[error(
        "job “{job}” has no note {note}: it has {notes}. Notes are numbered from 1, as its report shows them"
    )]
    NoSuchNote {
        /// Which job.
        job: JobId,
        /// The number that was given.
        note: usize,
        /// How many there are.
        notes: usize,
    },
    /// Something that can't be written as JSON.
    #[error("this can't be put into the journal: {what}. This is a bug in Sayback")]
    Json {
        /// What the writer says.
        what: String,
    },
}

impl RecordError {
    /// The same error of a file's or folder's.
    pub(crate) fn of_folder(path: &Path, source: std::io::Error) -> Self {
        use std::io::ErrorKind;
        let path = path.to_owned();
        match source.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Self::Full { path },
            ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            _ => Self::Folder { path, source },
        }
    }

    /// Whether the same input may be given again once its cause is gone: nothing of it was taken in.
    pub fn can_be_tried_again(&self) -> bool {
        match self {
            Self::Folder { .. }
            | Self::ReadOnly { .. }
            | Self::Full { .. }
            | Self::Disk { .. }
            | Self::Busy { .. }
            | Self::Database { .. }
            | Self::Sound { .. } => true,
            Self::Damaged { .. }
            | Self::Newer { .. }
            | Self::NotOurs { .. }
            | Self::InUse { .. }
            | Self::NoSuchJob { .. }
            | Self::Closed { .. }
            | Self::OtherProcedure { .. }
            | Self::ProcedureChanged { .. }
            | Self::ReplayDiffers { .. }
            | Self::NotWhole { .. }
            | Self::Unsealed { .. }
            | Self::Key { .. }
            | Self::NewerJob { .. }
            | Self::Export { .. }
            | Self::Photo { .. }
            | Self::NoSuchNote { .. }
            | Self::Json { .. } => false,
        }
    }
}
