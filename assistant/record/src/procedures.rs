//! The procedures that jobs were worked by, kept beside the journal so that their records can be replayed for ever.
//!
//! A file's name has the SHA-256 that the journal's entries name, so a text that was changed isn't taken for it.

use crate::sound::{Files, word};
use crate::{Archive, RecordError};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use steps::procedure::sheet_named;
use steps::{Id, Procedure};

/// The folder of procedures.
pub(crate) const PROCEDURES: &str = "procedures";

/// The name of a procedure's file from the records' folder: a JSON object with the text of each of its files by name.
pub(crate) fn name(id: &Id, sha256: &str) -> String {
    format!("{PROCEDURES}/{}-{}.json", word(id.as_str()), word(sha256))
}

/// Keeps a procedure's texts, once for all jobs by it.
pub(crate) fn keep(folder: &Path, procedure: &Procedure) -> Result<(), RecordError> {
    let name = name(&procedure.id, &procedure.sha256);
    if folder.join(&name).exists() {
        return Ok(());
    }
    let text = crate::chain::json(&procedure.texts)?;
    crate::sound::write_whole(folder, &name, text.as_bytes())
}

/// A procedure as it was kept. `None` where it wasn't, where its text is another one, or where this program can't read it
/// any more.
pub(crate) fn kept(files: &(impl Files + ?Sized), id: &Id, sha256: &str) -> Option<Arc<Procedure>> {
    let texts = files.read(&name(id, sha256))?;
    let texts: BTreeMap<String, String> = serde_json::from_slice(&texts).ok()?;
    // Which of the files is the procedure, which are its parts and which is the vehicle's sheet isn't kept: name and hash
    // tell.
    let texts = &texts;
    let sheets = || texts.keys().filter_map(|name| sheet_named(name));
    let as_one_sheet = |name| {
        let with = std::iter::once(None).chain(sheets().map(Some));
        with.filter_map(move |sheet| Procedure::load_with(name, sheet, texts).ok())
    };
    texts
        .keys()
        .filter(|name| sheet_named(name).is_none())
        .flat_map(|name| as_one_sheet(name.as_str()))
        .find(|procedure| procedure.id == *id && procedure.sha256 == sha256)
        .map(Arc::new)
}

impl Archive {
    /// The procedure that a job was worked by last, as it was kept with the records.
    pub(crate) fn kept_procedure(
        &self,
        history: &crate::job_history::JobHistory,
    ) -> Option<Arc<Procedure>> {
        let opening = &history.opening;
        kept(self.folder(), &opening.procedure, &opening.sha256)
    }
}
