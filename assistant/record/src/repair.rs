//! Bringing what can still be read of damaged records into a new folder.
//!
//! The damaged folder isn't written to. Entries are copied as they are, with their hashes: what was lost of a job stays
//! visible as missing, and no repaired record is taken for whole that isn't.

use crate::journal::Journal;
use crate::sqlite::{Records, Salvage};
use crate::verify::file_of;
use crate::{Archive, Event, JobId, RecordError, Row, procedures, sound};
use std::collections::BTreeSet;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

/// What came out of a repair.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repaired {
    /// The jobs of which entries were found, and how many.
    pub jobs: Vec<(JobId, u64)>,
    /// What is lost, or hangs in the air.
    pub lost: Vec<Lost>,
}

/// Something that a repair couldn't bring back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lost {
    /// The journal's file, or a part of it, and what the database says.
    Journal(String),
    /// Entries of a job, up to its last one where that is known.
    Entries {
        /// The job.
        job: JobId,
        /// Their numbers.
        missing: Vec<u64>,
    },
    /// A sound or photo of a job, by its path from the records' folder.
    File(String),
    /// Sounds or photos that no entry names that was found.
    Orphans {
        /// The job whose folder they lie in.
        job: String,
        /// Their paths from the records' folder.
        files: Vec<String>,
    },
}

impl fmt::Display for Lost {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Journal(what) => write!(f, "the journal's file is damaged: {what}"),
            Self::Entries { job, missing } => {
                let numbers: Vec<String> = missing.iter().map(u64::to_string).collect();
                write!(f, "entries of job “{job}” are lost: {}", numbers.join(", "))
            }
            Self::File(name) => write!(f, "{name} is named by an entry, and isn't there"),
            Self::Orphans { job, files } => write!(
                f,
                "{} sounds or photos of job “{job}” are there, and no entry that names them: {}",
                files.len(),
                files.join(", ")
            ),
        }
    }
}

/// Brings what can be read of the records in one folder into another one, which is new or empty.
///
/// # Errors
/// When the new folder isn't empty or can't be written, and when the damaged one can't be read at all.
pub fn repair(damaged: &Path, new: &Path) -> Result<Repaired, RecordError> {
    let failed = |path: &Path| {
        let path = path.to_owned();
        move |source| RecordError::of_folder(&path, source)
    };
    fs::read_dir(damaged).map_err(failed(damaged))?;
    fs::create_dir_all(new).map_err(failed(new))?;
    if fs::read_dir(new).map_err(failed(new))?.next().is_some() {
        let full = std::io::Error::other("it isn't empty, and a repair takes a new folder");
        return Err(RecordError::of_folder(new, full));
    }
    let salvage = Salvage::of(damaged)?;
    let names = beside(damaged)?;
    let mut known: BTreeSet<JobId> = salvage.jobs().into_iter().collect();
    known.extend(
        names
            .iter()
            .filter_map(|name| Some(JobId::new(job_of(name)?))),
    );
    let records = Records::open(new)?;
    let mut repaired = Repaired {
        jobs: Vec::new(),
        lost: salvage.trouble().map(Lost::Journal).into_iter().collect(),
    };
    let mut named = BTreeSet::new();
    for job in known {
        let rows = salvage.rows(&job);
        let Some(last) = rows.last() else {
            continue;
        };
        let found: BTreeSet<u64> = rows.iter().map(|row| row.seq).collect();
        let end = salvage
            .end(&job)
            .map_or(last.seq, |(seq, _)| seq.min(last.seq + 10_000));
        let missing: Vec<u64> = (0..=end).filter(|seq| !found.contains(seq)).collect();
        if !missing.is_empty() {
            let job = job.clone();
            repaired.lost.push(Lost::Entries { job, missing });
        }
        named.extend(files_of(&rows));
        records.add(&rows)?;
        match salvage.end(&job) {
            Some((seq, hash)) => records.keep_end(&job, seq, &hash)?,
            // A closed job is closed; of another one nobody knows what came after.
            None if is_closed(last) => {}
            None => records.keep_end(&job, last.seq + 1, "")?,
        }
        repaired.jobs.push((job, rows.len() as u64));
    }
    for name in &names {
        let bytes = fs::read(damaged.join(name)).map_err(failed(&damaged.join(name)))?;
        sound::write_whole(new, name, &bytes)?;
    }
    let there: BTreeSet<&str> = names.iter().map(String::as_str).collect();
    let gone = named.iter().filter(|name| !there.contains(name.as_str()));
    repaired.lost.extend(gone.cloned().map(Lost::File));
    repaired.lost.extend(orphans(&names, &named));
    Ok(repaired)
}

impl Archive {
    /// Sounds and photos of jobs that the journal doesn't know at all, as after its file was lost.
    ///
    /// # Errors
    /// When the journal or a folder can't be read.
    pub fn orphans(&self) -> Result<Vec<Lost>, RecordError> {
        let jobs = self.journal().jobs()?;
        let known: BTreeSet<String> = jobs
            .iter()
            .map(|ends| sound::word(ends.first.job.as_str()))
            .collect();
        let mut unknown = BTreeSet::new();
        for place in [sound::SOUNDS, crate::photo::PHOTOS] {
            let entries = fs::read_dir(self.folder().join(place));
            let names = entries.into_iter().flatten().flatten();
            let names = names.filter_map(|entry| entry.file_name().into_string().ok());
            unknown.extend(names.filter(|name| !known.contains(name)));
        }
        if unknown.is_empty() {
            return Ok(Vec::new());
        }
        let mut all = orphans(&beside(self.folder())?, &BTreeSet::new());
        all.retain(|lost| matches!(lost, Lost::Orphans { job, .. } if unknown.contains(job)));
        Ok(all)
    }
}

/// The files that lie beside the journal, by their path from the records' folder.
fn beside(folder: &Path) -> Result<Vec<String>, RecordError> {
    let mut names = Vec::new();
    let mut folders: Vec<PathBuf> = [sound::SOUNDS, crate::photo::PHOTOS, procedures::PROCEDURES]
        .map(PathBuf::from)
        .into();
    while let Some(inside) = folders.pop() {
        let path = folder.join(&inside);
        let entries = match fs::read_dir(&path) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => continue,
            Err(source) => return Err(RecordError::of_folder(&path, source)),
        };
        for entry in entries.flatten() {
            let inside = inside.join(entry.file_name());
            // A link or a device is none of ours.
            match entry.file_type() {
                Ok(kind) if kind.is_dir() => folders.push(inside),
                Ok(kind) if kind.is_file() => names.extend(inside.to_str().map(str::to_owned)),
                Ok(_) | Err(_) => {}
            }
        }
    }
    names.retain(|name| !name.ends_with(".part"));
    names.sort();
    Ok(names)
}

/// The job in whose folder a sound or photo lies.
fn job_of(name: &str) -> Option<&str> {
    match name.split('/').collect::<Vec<_>>().as_slice() {
        [place, job, _] if *place != procedures::PROCEDURES => Some(job),
        _ => None,
    }
}

fn orphans(names: &[String], named: &BTreeSet<String>) -> Vec<Lost> {
    let alone = |name: &&String| !named.contains(*name);
    let jobs: BTreeSet<&str> = names
        .iter()
        .filter(alone)
        .filter_map(|it| job_of(it))
        .collect();
    let of = |job: &str| Lost::Orphans {
        job: job.to_owned(),
        files: names
            .iter()
            .filter(alone)
            .filter(|name| job_of(name) == Some(job))
            .cloned()
            .collect(),
    };
    jobs.into_iter().map(of).collect()
}

/// Whether a job that ends with this entry is closed.
fn is_closed(last: &Row) -> bool {
    let event = serde_json::from_str::<Event>(&last.event);
    event.is_ok_and(|it| matches!(it, Event::Closed { .. }) || it.may_follow_the_closing())
}

/// The sounds and photos that entries name, but for those that were discarded by a rule.
fn files_of(rows: &[Row]) -> BTreeSet<String> {
    let mut named = BTreeSet::new();
    for event in rows
        .iter()
        .filter_map(|row| serde_json::from_str::<Event>(&row.event).ok())
    {
        if let Event::Discarded { files, .. } = &event {
            named.retain(|name| !files.contains(name));
        } else if let Some(name) = file_of(&event) {
            named.insert(name.to_owned());
        }
    }
    named
}
