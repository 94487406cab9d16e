//! Lays out what was heard, to be played and judged.

use super::options::{RecordOptions, known_job};
use ears::Stake;
use miette::{IntoDiagnostic, miette};
use sayback::view::heard::{BARS, Judged, clips, judge, lay_out, said};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// What to do with the clips.
#[derive(Debug, clap::Args)]
#[group(required = true, multiple = false)]
pub struct HeardFiles {
    /// Copy the clips into this folder, with a page to play them and a list of what was said for you to correct
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// Judge how often it was right by this corrected list
    #[arg(long, value_name = "FILE")]
    said: Option<PathBuf>,
}

pub fn heard(
    records: &RecordOptions,
    id: Option<&str>,
    files: &HeardFiles,
) -> miette::Result<ExitCode> {
    let archive = records.to_read()?;
    let only = id.map(|id| known_job(&archive, id)).transpose()?;
    let clips = clips(&archive, only.as_ref().map(|job| &job.id)).into_diagnostic()?;
    if clips.is_empty() {
        return Err(miette!(
            help = "`sayback work --keep-heard` keeps what is said to it in a job",
            "no sound of what was heard is kept{}",
            id.map(|id| format!(" of {id}")).unwrap_or_default()
        ));
    }
    if let Some(out) = &files.out {
        lay_out(&clips, archive.folder(), out).into_diagnostic()?;
        tell!(
            "{}. Listen on {}, and correct {}.",
            counted(clips.len()),
            out.join("heard.html").display(),
            out.join("said.tsv").display()
        );
    }
    if let Some(list) = &files.said {
        let said = said(&read(list)?);
        let judged = judge(&clips, &said);
        if judged.listened == 0 {
            return Err(miette!(
                "no line of {} is of a clip that was listened to: take off the `#` before those whose words are right",
                list.display()
            ));
        }
        show(&judged);
    }
    Ok(ExitCode::SUCCESS)
}

fn read(list: &Path) -> miette::Result<String> {
    files::read_text(list, 10_000_000).into_diagnostic()
}

fn show(judged: &Judged) {
    tell!("Listened to {}.\n", counted(judged.listened));
    tell!(
        "{:12} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8}",
        "",
        "taken",
        "taken",
        "asked",
        "asked",
        "",
        "rightly"
    );
    tell!(
        "{:12} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8}",
        "",
        "rightly",
        "wrongly",
        "rightly",
        "wrongly",
        "missed",
        "left"
    );
    for (stake, tally) in &judged.stakes {
        tell!(
            "{:12} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8}",
            name(*stake),
            tally.rightly_taken,
            tally.wrongly_taken,
            tally.rightly_asked,
            tally.wrongly_asked,
            tally.missed,
            tally.rightly_left
        );
    }
    tell!("\nSaid / not said, with at least this probability:");
    let heads: Vec<String> = BARS.iter().map(|bar| format!("{bar:>8}")).collect();
    tell!("{:12} {}", "", heads.join(" "));
    for (stake, bars) in &judged.bars {
        let counts = bars.map(|(said, other)| format!("{:>8}", format!("{said}/{other}")));
        tell!("{:12} {}", name(*stake), counts.join(" "));
    }
}

fn counted(clips: usize) -> String {
    match clips {
        1 => "1 clip".to_owned(),
        many => format!("{many} clips"),
    }
}

fn name(stake: Stake) -> &'static str {
    match stake {
        Stake::Ask => "questions",
        Stake::Stop => "stop",
        Stake::Move => "commands",
        Stake::Number => "numbers",
        Stake::Gate => "readbacks",
    }
}
