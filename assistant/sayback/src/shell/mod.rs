//! The commands of the shell.

// First, because its macros are used in all others.
#[macro_use]
mod terminal;

mod approve;
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
mod release;
mod report;
mod search;
mod show;
mod sound;
mod statistics;
mod vehicles;
mod work;

use clap::{CommandFactory, Parser, Subcommand};
use options::{EarOptions, JobOptions, Overwrite, RecordOptions, ShelfOptions};
use proof::KeyOptions;
use search::{PeriodOptions, SearchOptions};
use std::path::PathBuf;
use std::process::ExitCode;
use steps::procedure::Problems;

/// Exit code of a job that was left open: resumed with `sayback resume`.
const LEFT_OPEN: u8 = 3;

const EXIT_CODES: &str = "Exit codes: 0 done; 1 refused or failed, with the reason on standard error; \
2 wrong usage; 3 the job was left open and can be resumed with `sayback resume`.";

/// Talks you through a job while your hands are busy, and stops at each hold point until you have said aloud
/// that it is safe.
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
    /// Without the name of a procedure, it asks aloud which job.
    Work {
        /// Name of the procedure (see `sayback procedures`)
        procedure: Option<String>,
        /// Listen to a WAV file, or to a folder of them in the order of their names, instead of the microphone
        #[arg(long, value_name = "PATH")]
        sound: Option<PathBuf>,
        /// The microphone to use (see `sayback microphones`) [default: the system's]
        #[arg(long, value_name = "NAME", conflicts_with = "sound")]
        microphone: Option<String>,
        #[command(flatten)]
        job: JobOptions,
        #[command(flatten)]
        ears: EarOptions,
    },
    /// Resume a job that was left open
    ///
    /// It keeps the unit, tools, people and wording it was begun with.
    Resume {
        /// Name of the job (see `sayback records`)
        id: String,
        /// Listen to a WAV file, or to a folder of them in the order of their names, instead of the microphone
        #[arg(long, value_name = "PATH")]
        sound: Option<PathBuf>,
        /// The microphone to use (see `sayback microphones`) [default: the system's]
        #[arg(long, value_name = "NAME", conflicts_with = "sound")]
        microphone: Option<String>,
        /// Go on even though the procedure's file has changed; the record will say so
        #[arg(long)]
        changed: bool,
        #[command(flatten)]
        job: JobOptions,
        #[command(flatten)]
        ears: EarOptions,
    },
    /// Rehearse a job by typing what you would say
    ///
    /// Hold points can be typed, so its record is marked as a rehearsal and proves nothing.
    Rehearse {
        /// Name of the procedure (see `sayback procedures`)
        procedure: String,
        /// Type the lines of this file; `#` begins a comment
        #[arg(long, value_name = "FILE")]
        script: Option<PathBuf>,
        #[command(flatten)]
        job: JobOptions,
    },
    /// Serve the glance page without a job: the records, their reports and the procedures
    Page {
        /// The address to serve it at [default: 127.0.0.1, at the first free port from 7351]
        #[arg(value_name = "ADDRESS:PORT")]
        address: Option<std::net::SocketAddr>,
        /// Serve it to the local network over TLS; the QR code in this terminal lets viewers in
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
    /// List the vehicles and the procedures their sheets cover
    Vehicles {
        #[command(flatten)]
        shelf: ShelfOptions,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Show a procedure: what to lay out, steps, sizes, torques and hold points
    Procedure {
        /// Name of the procedure (see `sayback procedures`)
        name: String,
        #[command(flatten)]
        shelf: ShelfOptions,
        /// Show it with this vehicle's values (see `sayback vehicles`)
        #[arg(long, value_name = "NAME")]
        vehicle: Option<String>,
        /// The unit for what the job uses up: "ml", "l", "US qt", "imp pt" [default: the procedure's own]
        #[arg(long, value_name = "UNIT")]
        amounts_in: Option<steps::quantity::MeasureUnit>,
        /// Print JSON
        #[arg(long)]
        json: bool,
        /// Draw it into this file: the steps, the hold points, how long each fact holds, what is off
        #[arg(long, value_name = "FILE.svg")]
        picture: Option<PathBuf>,
        /// Write the purchase list into this file: parts with number, quantity, whether always new and whether the old one
        /// goes back, and what is used up
        #[arg(long, value_name = "FILE.csv")]
        parts: Option<PathBuf>,
        #[command(flatten)]
        export: export::ExportOptions,
    },
    /// Check your own procedures and vehicle sheets: what is wrong, where, and what to do about it
    ///
    /// A procedure is checked on its own and with every sheet that lists it; a sheet, with every procedure it lists.
    /// A mistake makes the exit code 1. A doubt, such as a torque that doesn't suit its thread, is only a warning: if it is
    /// right as it stands, accept it in the file with an [[accepted]] entry that gives the reason.
    Check {
        #[command(flatten)]
        check: check::CheckOptions,
    },
    /// Make a new procedure, or a vehicle sheet in a folder `vehicles`, by answering questions
    ///
    /// The answers may be piped in, one to a line. An existing file is never overwritten. The schema that lets an editor
    /// explain the keys is put beside the file.
    New {
        /// The new file; its name without .toml becomes the procedure's or the sheet's name
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// For a vehicle sheet: a table with one value per row (what it is, value, page); you confirm each row instead of typing
        /// it
        #[arg(long, value_name = "FILE.csv")]
        values: Option<PathBuf>,
    },
    /// Compare a vehicle sheet's values with their documents, as a second person, and approve them
    ///
    /// It shows each value that isn't approved as it is now, and asks whether its document says the same. Each approval is
    /// written to the sheet at once, with the value it was given for: a value that changes must be approved again.
    Approve {
        /// The sheet, in the folder `vehicles` of your procedures
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// Who compares the values; not the person who entered them
        #[arg(long, value_name = "PERSON")]
        by: String,
    },
    /// Release a procedure or a vehicle sheet: from then on, `work` takes only what is released
    ///
    /// It is refused while the checker finds a mistake, or while a value of the sheet has no source or isn't approved.
    /// The release is signed with this bay's key and holds for exactly this version.
    Release {
        /// The procedure, or the vehicle sheet as vehicles/NAME
        name: String,
        /// Who answers for it
        #[arg(long, value_name = "PERSON")]
        by: String,
        /// What has changed, or why
        #[arg(long, value_name = "WORDS")]
        because: Option<String>,
        #[command(flatten)]
        shelf: ShelfOptions,
    },
    /// Withdraw a released procedure or vehicle sheet: nobody can begin it any more
    Withdraw {
        /// The procedure, or the vehicle sheet as vehicles/NAME
        name: String,
        /// Who withdraws it
        #[arg(long, value_name = "PERSON")]
        by: String,
        /// The reason; told to whoever tries to begin it
        #[arg(long, value_name = "WORDS")]
        because: String,
        #[command(flatten)]
        shelf: ShelfOptions,
    },
    /// Show who released and withdrew a procedure or a vehicle sheet, when and why, and what changed each time
    ///
    /// Changes to hold points come first and are marked with an exclamation mark.
    Revisions {
        /// The procedure, or the vehicle sheet as vehicles/NAME
        name: String,
        #[command(flatten)]
        shelf: ShelfOptions,
    },
    /// Put procedure files into their usual form, keeping comments and the order of the keys
    Fmt {
        /// The procedure files
        #[arg(value_name = "FILE", required = true)]
        files: Vec<PathBuf>,
        /// Change nothing; exit with 1 if a file isn't in the usual form
        #[arg(long)]
        check: bool,
    },
    /// Show what differs between two versions of a procedure or a vehicle sheet: torques, steps, hold points
    ///
    /// Changes to hold points come first. The exit code is 0 whether they differ or not.
    Diff {
        /// The old version's file
        old: PathBuf,
        /// The new version's file
        new: PathBuf,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Draft a procedure from a list of steps: a table (.csv) or Markdown (.md)
    ///
    /// Counts, sizes, torques and tightening orders in the text become proposals. The draft can't be used until you have
    /// compared each one with your source and deleted its line `review = …`.
    Import {
        /// The list of steps
        list: PathBuf,
        /// The procedure file to write, NAME.toml
        #[arg(long, value_name = "NAME.toml")]
        out: PathBuf,
        #[command(flatten)]
        overwrite: Overwrite,
    },
    /// Do the trade's arithmetic without a job: units, adapters, clamp loads, patterns, fits
    ///
    /// The maker's service information comes before every answer. The exit code is 0 for any answer, “too weak” and “out of
    /// limits” included; 1 means that there is no answer, with the reason on standard error.
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
    /// Check how well it hears you: say ten phrases
    ///
    /// For each phrase it shows the level, the noise and how clearly it was understood, and at the end what to do about it.
    /// If anything was taken for a phrase that wasn't said, `--keep` makes this bay stricter.
    HearCheck {
        /// Make this bay stricter from now on, so that what was wrongly taken no longer counts
        #[arg(long)]
        keep: bool,
        /// Listen to a WAV file, or to a folder of them in the order of their names, instead of the microphone
        #[arg(long, value_name = "PATH")]
        sound: Option<PathBuf>,
        /// The microphone to use (see `sayback microphones`) [default: the system's]
        #[arg(long, value_name = "NAME", conflicts_with = "sound")]
        microphone: Option<String>,
        #[command(flatten)]
        ears: EarOptions,
    },
    /// Show how well it heard you in jobs worked with --keep-heard
    ///
    /// Nothing leaves the machine. `sayback discard` deletes these sounds along with the others.
    Heard {
        /// Name of the job (see `sayback records`) [default: all jobs]
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
    /// Compare many jobs: which steps take long, and where they run into trouble
    ///
    /// It also shows questions, refusals at hold points and readings out of limits. Rehearsals don't count. Steps with
    /// widely varying times or many questions are the ones to rewrite.
    Statistics {
        /// Name of the procedure (see `sayback procedures`)
        procedure: String,
        #[command(flatten)]
        records: RecordOptions,
        #[command(flatten)]
        search: PeriodOptions,
        /// Print JSON
        #[arg(long)]
        json: bool,
        /// Draw the statistics into this SVG file
        #[arg(long, value_name = "FILE")]
        picture: Option<PathBuf>,
        #[command(flatten)]
        overwrite: Overwrite,
    },
    /// Show the record of a job
    Record {
        /// Name of the job (see `sayback records`)
        id: String,
        #[command(flatten)]
        records: RecordOptions,
        /// Print the journal, entry by entry
        #[arg(long, conflicts_with = "json")]
        journal: bool,
        /// Print JSON
        #[arg(long)]
        json: bool,
        /// Only verify the record: is it unchanged, where was it changed, who signed it?
        #[arg(long, conflicts_with_all = ["journal", "json"])]
        verify: bool,
        /// With --verify: a hash it printed earlier and you kept elsewhere; shows whether the end was cut off since
        #[arg(long, value_name = "HASH", requires = "verify")]
        head: Option<String>,
        #[command(flatten)]
        keys: KeyOptions,
        /// Export the job into this ZIP file with its sounds, photos, procedure and signatures; `sayback verify` checks it
        /// on any machine
        #[arg(long, value_name = "FILE", conflicts_with_all = ["journal", "json", "verify"])]
        export: Option<PathBuf>,
    },
    /// Verify an exported job: is it unchanged, where was it changed, who signed it?
    Verify {
        /// The file that `sayback record ID --export FILE` wrote
        file: PathBuf,
        #[command(flatten)]
        keys: KeyOptions,
    },
    /// Show the public key that this bay signs its records with
    ///
    /// Give it to whoever is to verify the bay's records. The private key stays in `sayback/bay` in your configuration
    /// folder.
    Key {
        /// Name the bay; until then it goes by the machine's name
        #[arg(long, value_name = "NAME")]
        bay: Option<String>,
        /// Replace the key; the old key signs the new one
        #[arg(long)]
        replace: bool,
        /// Write the public key to this PEM file
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Copy whatever can still be read of damaged records into a new folder
    ///
    /// The damaged folder is left as it is, and whatever is lost is named.
    Repair {
        /// The folder of the damaged records
        damaged: PathBuf,
        /// The new folder to make
        new: PathBuf,
    },
    /// Delete sounds and photos that were kept long enough
    ///
    /// Only those of closed jobs are deleted. The journal stays and says what was discarded, when and by what rule.
    Discard {
        /// Name of the job whose sounds and photos to delete [default: all jobs]
        id: Option<String>,
        #[command(flatten)]
        records: RecordOptions,
        /// Days since the job was closed [default: `days` in `sayback/keeping.toml` in your configuration folder]
        #[arg(long)]
        days: Option<u32>,
        /// Only show what would be deleted
        #[arg(long)]
        look: bool,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Write the report of a job to hand over: HTML, PDF, CSV or JSON
    ///
    /// Without any file it prints JSON.
    Report {
        /// Name of the job (see `sayback records`)
        id: String,
        #[command(flatten)]
        records: RecordOptions,
        #[command(flatten)]
        files: report::ReportFiles,
    },
    /// Attach a photo to a job, or to one of its notes, while nobody is working it
    ///
    /// The photo is re-encoded, so where and with what it was taken doesn't get onto the record.
    Attach {
        /// Name of the job (see `sayback records`)
        id: String,
        /// The photo, JPEG or PNG
        file: PathBuf,
        /// The number of the note, as the report shows it
        #[arg(long, value_name = "N")]
        note: Option<usize>,
        #[command(flatten)]
        records: RecordOptions,
    },
    /// Play a whole job from spoken recordings, and show what is heard, said and recorded
    Demo {
        /// What the technician says beyond what the job asks for
        #[arg(long, value_name = "FILE")]
        talk: Option<PathBuf>,
        /// The folder of the recordings' script
        #[arg(long, value_name = "FOLDER", default_value = "audio-fixtures")]
        fixtures: PathBuf,
        /// Which of its voices speaks
        #[arg(long, value_name = "ID", default_value = "neural-man")]
        voice: String,
        /// Where to put the record and the spoken answers
        #[arg(long, value_name = "FOLDER", default_value = "target/demo")]
        out: PathBuf,
        /// Speak the answers aloud, in real time, instead of writing them to a WAV file
        #[arg(long)]
        aloud: bool,
        #[command(flatten)]
        page: page::PageOptions,
    },
    /// Print the completions of a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    Man,
}

/// Runs the program.
pub fn run() -> ExitCode {
    terminal::keep_names_whole();
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
            vehicle,
            amounts_in,
            json,
            picture,
            parts,
            export,
        } => {
            let shelf = shelf.shelf();
            let sheet = vehicle.map(|name| vehicles::sheet_of(&shelf, &name));
            let it = work::load(&shelf, &name, sheet.transpose()?.as_deref())?;
            let (picture, parts) = (picture.as_deref(), parts.as_deref());
            procedures::show(&it, amounts_in, json, picture, parts, &export)
        }
        Command::Vehicles { shelf, json } => vehicles::list(&shelf.shelf(), json),
        Command::Import {
            list,
            out,
            overwrite,
        } => import::import(&list, &out, overwrite),
        Command::Check { check } => check::check(&check),
        Command::New { file, values } => new::new(&file, values.as_deref()),
        Command::Approve { file, by } => approve::approve(&file, &by),
        Command::Release {
            name,
            by,
            because,
            shelf,
        } => release::release(&shelf.shelf(), &name, &by, because.as_deref()),
        Command::Withdraw {
            name,
            by,
            because,
            shelf,
        } => release::withdraw(&shelf.shelf(), &name, &by, &because),
        Command::Revisions { name, shelf } => release::revisions(&shelf.shelf(), &name),
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
