//! A model's folder.

use crate::{Description, RecogniserError};
use sha2::{Digest, Sha256};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Files without which the library crashes or can't take a grammar, relative to the model's folder.
const NEEDED: [&str; 5] = [
    "am/final.mdl",
    "conf/mfcc.conf",
    "conf/model.conf",
    "graph/HCLr.fst",
    "graph/Gr.fst",
];

/// What this model is, once its folder was found to hold what a model needs.
pub(super) fn describe(folder: &Path) -> Result<Description, RecogniserError> {
    check(folder)?;
    let weights = folder.join(NEEDED[0]);
    let model_sha256 = sha256(&weights).map_err(|error| RecogniserError::Unusable {
        path: weights,
        reason: error.to_string(),
    })?;
    let name = folder.file_name().unwrap_or(folder.as_os_str());
    Ok(Description {
        recogniser: "vosk".to_owned(),
        model: name.to_string_lossy().into_owned(),
        model_sha256,
    })
}

fn check(folder: &Path) -> Result<(), RecogniserError> {
    let missing = |what: &str, path: PathBuf, remedy: &str| {
        Err(RecogniserError::Missing {
            what: what.to_owned(),
            path,
            remedy: remedy.to_owned(),
        })
    };
    if !folder.is_dir() {
        return missing(
            "the Vosk model",
            folder.to_owned(),
            "unpack a Vosk model there, or name the folder of one; without it the other \
             recogniser still works",
        );
    }
    if let Some(file) = NEEDED.iter().find(|file| !folder.join(file).is_file()) {
        return missing(
            "a file of the Vosk model",
            folder.join(file),
            "use a small Vosk model, one with a dynamic graph (large ones can't take phrases), and \
             unpack it whole",
        );
    }
    Ok(())
}

fn sha256(path: &Path) -> std::io::Result<String> {
    let mut file = std::fs::File::open(path)?;
    let mut hash = Sha256::new();
    let mut block = vec![0; 1 << 20];
    loop {
        match file.read(&mut block)? {
            0 => break,
            count => hash.update(&block[..count]),
        }
    }
    Ok(hash
        .finalize()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect())
}

/// A copy of the model by links, in which only the features' settings differ: without dither, so that
/// the same sound always gives the same words. It is needed only while the model is loaded.
pub(super) struct Undithered {
    folder: PathBuf,
}

impl Undithered {
    /// `None` where it can't be made or isn't needed: then the model's own settings hold.
    pub(super) fn of(model: &Path) -> Option<Self> {
        use std::sync::atomic::{AtomicU32, Ordering};
        static COUNT: AtomicU32 = AtomicU32::new(0);

        let settings = std::fs::read_to_string(model.join("conf/mfcc.conf")).ok()?;
        if settings
            .lines()
            .any(|line| line.trim().starts_with("--dither"))
        {
            return None;
        }
        let name = format!(
            "ears-vosk-{}-{}",
            std::process::id(),
            COUNT.fetch_add(1, Ordering::Relaxed)
        );
        // From here on what was made is removed again, whatever fails.
        let copy = Self {
            folder: std::env::temp_dir().join(name),
        };
        std::fs::create_dir(&copy.folder).ok()?;
        link_all(&model.canonicalize().ok()?, &copy.folder, "conf").ok()?;
        let conf = copy.folder.join("conf");
        std::fs::create_dir(&conf).ok()?;
        link_all(&model.join("conf").canonicalize().ok()?, &conf, "mfcc.conf").ok()?;
        std::fs::write(
            conf.join("mfcc.conf"),
            format!("{}\n--dither=0\n", settings.trim_end()),
        )
        .ok()?;
        Some(copy)
    }

    /// Where it is.
    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }
}

impl Drop for Undithered {
    fn drop(&mut self) {
        // Links are removed, not followed. What can't be removed lies in the folder for such things.
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

#[cfg(unix)]
fn link_all(from: &Path, to: &Path, except: &str) -> std::io::Result<()> {
    for entry in std::fs::read_dir(from)? {
        let entry = entry?;
        if entry.file_name() != except {
            std::os::unix::fs::symlink(entry.path(), to.join(entry.file_name()))?;
        }
    }
    Ok(())
}

#[cfg(not(unix))]
fn link_all(_from: &Path, _to: &Path, _except: &str) -> std::io::Result<()> {
    Err(std::io::ErrorKind::Unsupported.into())
}
