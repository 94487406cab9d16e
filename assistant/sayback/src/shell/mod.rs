//! The commands of the shell.

// First, because its macros are used in all others.
#[macro_use]
mod terminal;

#[cfg(test)]
mod book;
mod check;
mod demo;
mod discard;
mod editing;
mod export;
mod hear_check;
mod heard;
mod import;
mod new;
mod options;
mod page;
mod procedures;
mod proof;
mod reckon;
mod records;
mod report;
mod search;
mod show;
mod sound;
mod statistics;
mod work;

use clap::{CommandFactory, Parser, Subcommand};
use options::{EarOptions, JobOptions, Overwrite, RecordOptions, ShelfOptions};
use proof::KeyOptions;
use search::{PeriodOptions, SearchOptions};
use std::path::PathBuf;
use std::process::ExitCode;
use steps::procedure::Problems;

/// Exit code of a job that was left open: taken up again with `sayback resume`.
const LEFT_OPEN: u8 = 3;

const EXIT_CODES: &str = "Exit codes: 0 done; 1 refused or failed, and why stands on standard error; \
2 wrong usage; 3 the job was left open and can be taken up with `sayback resume`.";

/// Talks you through a job while your hands are busy, and holds at a safety gate until you have said aloud
/// that it is so.
///
/// The maker's service information, local codes and licensed practice come before anything it says.
#[derive(Debug, Parser)]
#[command(name = "sayback", version, max_term_width = 100, after_help = EXIT_CODES)]
struct Shell {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Work a job by voice: from the microphone, or from recordings with --sound
    ///
    /// Without a procedure it asks which job, by voice.
    Work {
        /// Name of the procedure (see `sayback procedures`)
        procedure: Option<String>,
        /// A WAV file, or a folder of them taken in name order, instead of the microphone
        #[arg(long, value_name = "PATH")]
        sound: Option<PathBuf>,
        /// The microphone's name (see `sayback microphones`); the system's usual one when left out
        #[arg(long, value_name = "NAME", conflicts_with = "sound")]
        microphone: Option<String>,
        #[command(flatten)]
        job: JobOptions,
        #[command(flatten)]
        ears: EarOptions,
    },
    /// Take up a job that was put down
    Resume {
        /// Name of the job on record (see `sayback records`)
        id: String,
        /// A WAV file, or a folder of them, instead of the microphone
        #[arg(long, value_name = "PATH")]
        sound: Option<PathBuf>,
        /// The microphone's name
        #[arg(long, value_name = "NAME", conflicts_with = "sound")]
        microphone: Option<String>,
        /// Go on although the procedure was changed since; the record will say so
        #[arg(long)]
        changed: bool,
        #[command(flatten)]
        job: JobOptions,
        #[command(flatten)]
        ears: EarOptions,
    },
    /// Go through a job by typing; gates can be typed and the record is marked as a rehearsal
    Rehearse {
        /// Name of the procedure
        procedure: String,
        /// Lines to type, from a file, one a line; `#` begins a comment
        #[arg(long, value_name = "FILE")]
        script: Option<PathBuf>,
        #[command(flatten)]
        job: JobOptions,
    },
    /// Serve the glance page without a job: the records, their reports, the procedures
    Page {
        /// Where; 127.0.0.1 at the first free port from 7351 when left out
        #[arg(value_name = "ADDRESS:PORT")]
        address: Option<std::net::SocketAddr>,
        /// Serve it to the shop's network, by TLS, to who has read the QR code in this terminal
        #[arg(long)]
        network: bool,
        #[command(flatten)]
        records: RecordOptions,
        #[command(flatten)]
        shelf: ShelfOptions,
    },
    /// List the procedures
    Procedures {
        #[command(flatten)]
        shelf: ShelfOptions,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Show a procedure: what to lay out, its steps, sizes, torques and gates
    Procedure {
        /// Name of the procedure
        name: String,
        #[command(flatten)]
        shelf: ShelfOptions,
        /// The unit for what is used up: "ml", "l", "US qt", "imp pt"; the procedure's own when left out
        #[arg(long, value_name = "UNIT")]
        amounts_in: Option<steps::quantity::MeasureUnit>,
        /// Print JSON
        #[arg(long)]
        json: bool,
        /// Write a picture of it: the steps, the gates, how long each fact holds, what is off
        #[arg(long, value_name = "FILE.svg")]
        picture: Option<PathBuf>,
        #[command(flatten)]
        export: export::ExportOptions,
    },
    /// Check procedures of your own: what is wrong, where, and what to do
    ///
    /// What may be a slip, such as a torque that doesn't suit its thread, is drawn as a warning; only a mistake makes
    /// it exit with 1. A doubt that is right as it stands is accepted in the file, by an [[accepted]] entry with a
    /// reason.
    Check {
        #[command(flatten)]
        check: check::CheckOptions,
    },
    /// Make a new procedure by answering questions
    ///
    /// The answers may be piped in, one a line. A file that is there is never written over. The schema by which editors
    /// explain the keys is put beside it.
    New {
        /// The new file; its name without .toml is the procedure's
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
    /// Put procedures' files into their usual form; comments and the order of keys stay
    Fmt {
        /// The files
        #[arg(value_name = "FILE", required = true)]
        files: Vec<PathBuf>,
        /// Change nothing; exit with 1 if a file isn't in its usual form
        #[arg(long)]
        check: bool,
    },
    /// Tell what differs between two versions of a procedure: torques, steps, hold points
    ///
    /// What differs at a hold point comes first. It exits with 0 whether they differ or not.
    Diff {
        /// The old version's file
        old: PathBuf,
        /// The new version's file
        new: PathBuf,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Make a draft of a procedure from a list of steps: a table (.csv) or Markdown (.md)
    ///
    /// Counts, sizes, torques and orders in the text become proposals. Each waits for your review: the draft can't be
    /// used before you have compared it with your source and taken its line `review = …` out.
    Import {
        /// The list
        list: PathBuf,
        /// The procedure's file to write, NAME.toml
        #[arg(long, value_name = "NAME.toml")]
        out: PathBuf,
        #[command(flatten)]
        overwrite: Overwrite,
    },
    /// Answer a question of the trade without a job: units, adapters, clamp loads, patterns, fits
    ///
    /// The maker's service information goes before every answer. An answer exits with 0, also “too weak” or “out of
    /// limits”; 1 means that there is none, and why stands on standard error.
    Reckon {
        #[command(subcommand)]
        question: reckon::Reckon,
        /// Print JSON
        #[arg(long, global = true)]
        json: bool,
    },
    /// List the microphones
    Microphones {
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Say ten phrases and see how well you are heard
    ///
    /// Level, noise and margins are shown for each, and at the end what to do about it. Where something was taken that
    /// wasn't said, `--keep` raises this bay's bars above it.
    HearCheck {
        /// Raise this bay's bars, in the configuration folder, above what was wrongly taken
        #[arg(long)]
        keep: bool,
        /// A WAV file, or a folder of them, instead of the microphone
        #[arg(long, value_name = "PATH")]
        sound: Option<PathBuf>,
        /// The microphone's name
        #[arg(long, value_name = "NAME", conflicts_with = "sound")]
        microphone: Option<String>,
        #[command(flatten)]
        ears: EarOptions,
    },
    /// Show how well was heard in jobs that were worked with --keep-heard
    ///
    /// Nothing leaves the machine. `sayback discard` lets these sounds go with the others.
    Heard {
        /// Name of the job on record; all jobs when left out
        id: Option<String>,
        #[command(flatten)]
        records: RecordOptions,
        #[command(flatten)]
        files: heard::HeardFiles,
    },
    /// List the jobs on record
    Records {
        #[command(flatten)]
        records: RecordOptions,
        #[command(flatten)]
        search: SearchOptions,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Show over many jobs which parts of a procedure take long, and where is asked, refused, out of limits
    ///
    /// Rehearsals don't count. Where times lie far apart or much is asked, the procedure wants rewriting.
    Statistics {
        /// Name of the procedure
        procedure: String,
        #[command(flatten)]
        records: RecordOptions,
        #[command(flatten)]
        search: PeriodOptions,
        /// Print JSON
        #[arg(long)]
        json: bool,
        /// Draw it into this SVG file
        #[arg(long, value_name = "FILE")]
        picture: Option<PathBuf>,
        #[command(flatten)]
        overwrite: Overwrite,
    },
    /// Show the record of a job
    Record {
        /// Name of the job on record (see `sayback records`)
        id: String,
        #[command(flatten)]
        records: RecordOptions,
        /// Print the journal, line by line
        #[arg(long, conflicts_with = "json")]
        journal: bool,
        /// Print JSON
        #[arg(long)]
        json: bool,
        /// Only say whether the record is as it was written, or where it was changed, and who signed it
        #[arg(long, conflicts_with_all = ["journal", "json"])]
        verify: bool,
        /// With --verify: the SHA-256 that it printed before, kept elsewhere; shows also an end cut off since
        #[arg(long, value_name = "HASH", requires = "verify")]
        head: Option<String>,
        #[command(flatten)]
        keys: KeyOptions,
        /// Write the job into this ZIP file, with its sounds, photos, procedure and signature: `sayback verify` checks it on
        /// any machine
        #[arg(long, value_name = "FILE", conflicts_with_all = ["journal", "json", "verify"])]
        export: Option<PathBuf>,
    },
    /// Say whether an exported job is as it was written, or where it was changed, and who signed it
    Verify {
        /// The file that `sayback record NAME --export FILE` wrote
        file: PathBuf,
        #[command(flatten)]
        keys: KeyOptions,
    },
    /// Show the public key that this bay signs its records with
    ///
    /// Whoever is to check the bay's records is given it once. The private key stays in `sayback/bay` in the user's
    /// configuration folder.
    Key {
        /// Call the bay this from now on; the machine's name until it is given one
        #[arg(long, value_name = "NAME")]
        bay: Option<String>,
        /// Replace the key; the former one signs the new one
        #[arg(long)]
        replace: bool,
        /// Write the public key into this PEM file
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Bring what can still be read of damaged records into a new folder
    ///
    /// The damaged folder is left as it is. What is lost is named.
    Repair {
        /// The damaged records' folder
        damaged: PathBuf,
        /// The new folder
        new: PathBuf,
    },
    /// Discard sounds and photos that were kept long enough
    ///
    /// Only those of closed jobs go. The journal stays, and says what was discarded, when and by what rule.
    Discard {
        /// Name of the one job whose sounds and photos go; all jobs' when left out
        id: Option<String>,
        #[command(flatten)]
        records: RecordOptions,
        /// Days since the job was closed; `days` of keeping.toml in the user's configuration folder when left out
        #[arg(long)]
        days: Option<u32>,
        /// Only say what would go
        #[arg(long)]
        look: bool,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Write the report of a job that a shop hands over: HTML, PDF, CSV, JSON
    ///
    /// Without a file it prints JSON.
    Report {
        /// Name of the job on record (see `sayback records`)
        id: String,
        #[command(flatten)]
        records: RecordOptions,
        #[command(flatten)]
        files: report::ReportFiles,
    },
    /// Attach a photo to a job that nobody is working, or to one of its notes
    ///
    /// The picture is encoded anew: where and with what it was taken does not go into the record.
    Attach {
        /// Name of the job on record (see `sayback records`)
        id: String,
        /// The photo, JPEG or PNG
        file: PathBuf,
        /// Number of the note, as the report shows it
        #[arg(long, value_name = "N")]
        note: Option<usize>,
        #[command(flatten)]
        records: RecordOptions,
    },
    /// Play a whole job with spoken recordings: what is heard, said and recorded
    Demo {
        /// What the technician says besides what leads on
        #[arg(long, value_name = "FILE")]
        talk: Option<PathBuf>,
        /// The folder with the recordings' script
        #[arg(long, value_name = "FOLDER", default_value = "audio-fixtures")]
        fixtures: PathBuf,
        /// Which of the recordings' voices speaks
        #[arg(long, value_name = "ID", default_value = "neural-man")]
        voice: String,
        /// Where the record and the spoken answers are put
        #[arg(long, value_name = "FOLDER", default_value = "target/demo")]
        out: PathBuf,
        /// Speak the answers aloud, in real time, instead of writing them to a WAV file
        #[arg(long)]
        aloud: bool,
        #[command(flatten)]
        page: page::PageOptions,
    },
    /// Print the completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    Man,
}

/// Runs the program.
pub fn run() -> ExitCode {
    let shell = match Shell::try_parse() {
        Ok(shell) => shell,
        Err(error) => return terminal::tell_usage(&error),
    };
    let code = dispatch(shell.command).unwrap_or_else(|report| {
        tell_error(&report);
        ExitCode::FAILURE
    });
    terminal::end(code)
}

/// Draws an error; of a procedure each problem by itself, then how many there are.
fn tell_error(report: &miette::Report) {
    match report.downcast_ref::<Problems>() {
        Some(problems) => {
            for problem in &problems.problems {
                terminal::draw(&miette::Report::new(problem.clone()));
            }
            warn!("{problems}.");
        }
        None => terminal::draw(report),
    }
}

fn dispatch(command: Command) -> miette::Result<ExitCode> {
    match command {
        Command::Work {
            procedure,
            sound,
            microphone,
            job,
            ears,
        } => work::work(
            procedure.as_deref(),
            sound.as_deref(),
            microphone.as_deref(),
            &job,
            &ears,
        ),
        Command::Resume {
            id,
            sound,
            microphone,
            changed,
            job,
            ears,
        } => work::resume(
            &id,
            changed,
            sound.as_deref(),
            microphone.as_deref(),
            &job,
            &ears,
        ),
        Command::Rehearse {
            procedure,
            script,
            job,
        } => work::rehearse(&procedure, script.as_deref(), &job),
        Command::Page {
            address,
            network,
            records,
            shelf,
        } => page::alone(address, network, &records, &shelf),
        Command::Procedures { shelf, json } => procedures::list(&shelf.shelf(), json),
        Command::Procedure {
            name,
            shelf,
            amounts_in,
            json,
            picture,
            export,
        } => {
            let shelf = shelf.shelf();
            procedures::show(&shelf, &name, amounts_in, json, picture.as_deref(), &export)
        }
        Command::Import {
            list,
            out,
            overwrite,
        } => import::import(&list, &out, overwrite),
        Command::Check { check } => check::check(&check),
        Command::New { file } => new::new(&file),
        Command::Fmt { files, check } => editing::tidy_files(&files, check),
        Command::Diff { old, new, json } => editing::differ(&old, &new, json),
        Command::Reckon { question, json } => reckon::reckon(&question, json),
        Command::Microphones { json } => sound::microphones(json),
        Command::HearCheck {
            keep,
            sound,
            microphone,
            ears,
        } => hear_check::hear_check(sound.as_deref(), microphone.as_deref(), &ears, keep),
        Command::Heard { id, records, files } => heard::heard(&records, id.as_deref(), &files),
        Command::Records {
            records,
            search,
            json,
        } => records::list(&records, &search, json),
        Command::Statistics {
            procedure,
            records,
            search,
            json,
            picture,
            overwrite,
        } => statistics::show(
            &procedure,
            &records,
            &search,
            json,
            picture.as_deref(),
            overwrite,
        ),
        Command::Record {
            id,
            records,
            journal,
            json,
            verify,
            head,
            keys,
            export,
        } => {
            let job = record::JobId::new(&id);
            match (export, verify) {
                (Some(file), _) => proof::export(&records, &job, &file),
                (None, true) => proof::verify(&records, &job, head.as_deref(), &keys),
                (None, false) => records::show(&records, &id, journal, json),
            }
        }
        Command::Verify { file, keys } => proof::verify_exported(&file, &keys),
        Command::Key { bay, replace, out } => {
            proof::show_key(bay.as_deref(), replace, out.as_deref())
        }
        Command::Repair { damaged, new } => proof::repair(&damaged, &new),
        Command::Discard {
            id,
            records,
            days,
            look,
            json,
        } => discard::discard(&records, days, id.as_deref(), look, json),
        Command::Report { id, records, files } => report::write(&records, &id, &files),
        Command::Attach {
            id,
            file,
            note,
            records,
        } => report::attach(&records, &id, &file, note),
        Command::Demo {
            talk,
            fixtures,
            voice,
            out,
            aloud,
            page,
        } => demo::run(talk.as_deref(), &fixtures, &voice, &out, aloud, &page),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Shell::command(), "sayback", &mut script);
            tell!("{}", String::from_utf8_lossy(&script).trim_end());
            Ok(ExitCode::SUCCESS)
        }
        Command::Man => {
            use miette::IntoDiagnostic;
            let mut page = Vec::new();
            clap_mangen::Man::new(Shell::command())
                .render(&mut page)
                .into_diagnostic()?;
            tell!("{}", String::from_utf8_lossy(&page).trim_end());
            Ok(ExitCode::SUCCESS)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_commands_of_the_shell_are_well_formed() {
        Shell::command().debug_assert();
    }
}
