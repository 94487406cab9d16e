//! Clips in a folder: a page to listen to them, and a list to correct.

use super::Clip;
use files::IfThere;
use report::escaped;
use std::fmt::Write;
use std::io;
use std::path::{Path, PathBuf};

/// How it looks.
const STYLE: &str = include_str!("style.css");

/// The largest clip, in bytes: far more than one turn can have.
const MAX_CLIP_BYTES: u64 = 100_000_000;

/// What stands at the head of the list.
const HEAD: &str = "# What was said in each clip, behind a tab; nothing there: nothing was said to the assistant.\n\
# Listen to a clip, correct its words, and take off the `#` before it. Lines behind a `#` don't count.\n";

/// Why clips can't be laid out.
#[derive(Debug, thiserror::Error)]
pub enum LayoutError {
    /// What somebody corrected would be lost.
    #[error("{} is there already: correct that one, or name another folder", .0.display())]
    IsThere(PathBuf),
    /// A file can't be read or written.
    #[error(transparent)]
    Place(#[from] files::FileError),
    /// The folder can't be made.
    #[error("{} can't be made", .path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

/// Copies the clips from the records' folder into `out`, and writes `heard.html` and `said.tsv` beside them.
///
/// # Errors
/// When there is a `said.tsv` already, or a file can't be written.
pub fn lay_out(clips: &[Clip], records: &Path, out: &Path) -> Result<(), LayoutError> {
    let list = out.join("said.tsv");
    if list.exists() {
        return Err(LayoutError::IsThere(list));
    }
    let folder = out.join("clips");
    let failed = |path: &Path| {
        let path = path.to_owned();
        move |source| LayoutError::File { path, source }
    };
    std::fs::create_dir_all(&folder).map_err(failed(&folder))?;
    for clip in clips {
        let to = folder.join(clip.name());
        let sound = files::read_below(records, Path::new(&clip.sound), MAX_CLIP_BYTES)?;
        files::write(&to, &sound, IfThere::Replace)?;
    }
    let page = out.join("heard.html");
    files::write(&page, html(clips).as_bytes(), IfThere::Replace)?;
    // Last: where it is, all is there.
    Ok(files::write(&list, said(clips).as_bytes(), IfThere::Keep)?)
}

fn said(clips: &[Clip]) -> String {
    let mut list = HEAD.to_owned();
    for clip in clips {
        let words = clip.nearest().replace(['\t', '\n', '\r'], " ");
        let _ = writeln!(list, "#clips/{}\t{words}", clip.name());
    }
    list
}

fn html(clips: &[Clip]) -> String {
    let mut page = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>What was heard</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n\
         <h1>What was heard</h1>\n\
         <p>{} in all, as they were kept on this machine; nothing here fetches anything. Listen to one, correct its words in \
         <code>said.tsv</code> beside this page, and take off the <code>#</code> before them. Then \
         <code>sayback heard --said said.tsv</code> tells what the verdicts come to.</p>\n\
         <table>\n<thead><tr><th>Clip</th><th>Nearest</th><th>Verdict</th><th>Probability</th>\
         <th>Speech to noise</th><th>Heard freely</th></tr></thead>\n<tbody>\n",
        clips.len()
    );
    for clip in clips {
        let evidence = clip.hypothesis.as_ref().map(|it| &it.evidence);
        let number = |value: Option<f32>, places: usize, unit: &str| {
            value.map_or("–".to_owned(), |value| format!("{value:.places$}{unit}"))
        };
        let free = evidence.and_then(|it| it.free_transcription.as_deref());
        let _ = writeln!(
            page,
            "<tr><td><audio controls preload=\"none\" src=\"clips/{name}\"></audio><br>{name}<br>{at}</td>\
             <td>{nearest}</td><td>{verdict}</td><td>{probability}</td><td>{snr}</td><td>{free}</td></tr>",
            name = escaped(&clip.name()),
            at = record::time::iso(clip.on_record.at),
            nearest = escaped(clip.nearest()),
            verdict = clip.done().told(),
            probability = number(evidence.and_then(|it| it.probability), 3, ""),
            snr = number(evidence.and_then(|it| it.snr_db), 0, " dB"),
            free = escaped(free.unwrap_or("–")),
        );
    }
    page.push_str("</tbody>\n</table>\n</main>\n</body>\n</html>\n");
    page
}
