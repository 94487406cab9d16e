//! Bringing what can still be read of damaged records into a new folder, and naming what can't.
//!
//! The damaged folder isn't written to. Entries are copied as they are, with their hashes: what was lost of a job stays
//! visible as missing, and no repaired record is taken for whole that isn't.

use crate::journal::{Journal, ListPage};
use crate::sqlite::{FILE, Records, Salvage};
use crate::verify::file_of;
use crate::{Archive, Event, JobId, RecordError, Row, procedures, sound};
use std::collections::BTreeSet;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

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
        /// Their numbers; none where nothing but the job's name was found.
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
            Self::Journal(what) => write!(f, "the journal's file, {FILE}, is damaged: {what}"),
            Self::Entries { job, missing } if missing.is_empty() => {
                write!(f, "all entries of job “{job}” are lost")
            }
            Self::Entries { job, missing } => {
                let runs = missing.chunk_by(|before, after| after - before == 1);
                let runs = runs.map(|run| match run {
                    [first, .., last] => format!("{first} to {last}"),
                    one => one.iter().map(u64::to_string).collect(),
                });
                let runs: Vec<String> = runs.collect();
                write!(f, "entries of job “{job}” are lost: {}", runs.join(", "))
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
    let records = Records::open(new)?;
    let mut jobs = Vec::new();
    let (names, lost) = survey(damaged, &salvage, |job, rows, end| {
        records.add(rows)?;
        if let Some((seq, hash)) = end {
            records.keep_end(job, seq, &hash)?;
        }
        jobs.push((job.clone(), rows.len() as u64));
        Ok(())
    })?;
    for name in &names {
        let bytes = fs::read(damaged.join(name)).map_err(failed(&damaged.join(name)))?;
        sound::write_whole(new, name, &bytes)?;
    }
    Ok(Repaired { jobs, lost })
}

/// Looks through what is left in a folder. Gives each job's entries that were found, and its end, to `each`; and the files
/// that lie beside the journal, and what is lost.
fn survey(
    folder: &Path,
    salvage: &Salvage,
    mut each: impl FnMut(&JobId, &[Row], Option<(u64, String)>) -> Result<(), RecordError>,
) -> Result<(Vec<String>, Vec<Lost>), RecordError> {
    let names = beside(folder)?;
    let in_journal = salvage.names();
    let mut known = in_journal.clone();
    known.extend(
        names
            .iter()
            .filter_map(|name| Some(JobId::new(job_of(name)?))),
    );
    let mut lost: Vec<Lost> = salvage.trouble().map(Lost::Journal).into_iter().collect();
    let mut named = BTreeSet::new();
    for job in known {
        let rows = salvage.found(&job);
        let Some(last) = rows.last() else {
            // Of one whose sounds alone are there, these are named.
            if in_journal.contains(&job) {
                let missing = Vec::new();
                lost.push(Lost::Entries { job, missing });
            }
            continue;
        };
        let found: BTreeSet<u64> = rows.iter().map(|row| row.seq).collect();
        let kept = salvage.kept_end(&job);
        let up_to = kept.map_or(last.seq, |(seq, _)| seq.min(last.seq + 10_000));
        let missing: Vec<u64> = (0..=up_to).filter(|seq| !found.contains(seq)).collect();
        if !missing.is_empty() {
            let job = job.clone();
            lost.push(Lost::Entries { job, missing });
        }
        named.extend(files_of(&rows));
        each(&job, &rows, salvage.end_of(&job, &rows))?;
    }
    let there: BTreeSet<&str> = names.iter().map(String::as_str).collect();
    let gone = named.iter().filter(|name| !there.contains(name.as_str()));
    lost.extend(gone.cloned().map(Lost::File));
    lost.extend(orphans(&names, &named));
    Ok((names, lost))
}

impl Archive {
    /// What is left of damaged records, to be read around the damage: nothing is written. [`lost`](Self::lost) names what
    /// can't be read. A job with a gap is never called whole.
    ///
    /// # Errors
    /// When the folder can't be read, or there is no room for a copy of the journal.
    pub fn open_damaged(folder: &Path) -> Result<Self, RecordError> {
        let salvage = Salvage::of(folder)?;
        let (_, lost) = survey(folder, &salvage, |_, _, _| Ok(()))?;
        let mut archive = Self::with(folder, Arc::new(salvage));
        archive.lost = lost.into();
        Ok(archive)
    }

    /// What can't be read of damaged records; nothing of others.
    pub fn lost(&self) -> &[Lost] {
        &self.lost
    }

    /// Sounds and photos of jobs that the journal doesn't know at all, as after its file was lost.
    ///
    /// # Errors
    /// When the journal or a folder can't be read.
    pub fn orphans(&self) -> Result<Vec<Lost>, RecordError> {
        let jobs = self.journal().jobs(&ListPage::default())?;
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
