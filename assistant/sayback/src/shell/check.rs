//! Checks procedures: what is wrong, where, and what to do.

use super::terminal;
use ears::verdict::Bars;
use ears::{vosk, whisper};
use miette::{IntoDiagnostic, WrapErr, miette};
use notify::Watcher;
use sayback::author::findings::{self, Found, Tally};
use sayback::author::separation::{Apart, separations};
use sayback::author::{self, Dictionary, Vocabulary};
use sayback::library::Shelf;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;
use steps::Procedure;
use steps::procedure::{Code, Finding, Problems, SheetInputs, Vehicle};

/// What `check` is asked for.
#[derive(Debug, clap::Args)]
pub struct CheckOptions {
    /// The procedure files; for a folder, every procedure in it
    #[arg(value_name = "FILE", required_unless_present = "explain")]
    files: Vec<PathBuf>,
    /// How to print the findings
    #[arg(long, value_enum, default_value_t = Format::Human)]
    format: Format,
    /// Exit with 1 for a doubt that isn't accepted, too
    #[arg(long)]
    strict: bool,
    /// Explain a finding by its code, or `all` of them
    #[arg(long, value_name = "CODE", conflicts_with_all = ["files", "heard", "format"])]
    explain: Option<String>,
    /// Check again each time a file is saved, until stopped
    #[arg(long, conflicts_with_all = ["explain", "heard"])]
    watch: bool,
    /// The folder of an English Vosk model; words it doesn't know are reported
    #[arg(long, value_name = "FOLDER", conflicts_with = "explain")]
    vosk: Option<PathBuf>,
    /// Also have each readback and its denials spoken and heard, to see whether they can be told apart. Takes minutes, and
    /// needs espeak-ng and flite. Exits with 1 if a denial would open a gate
    #[arg(long)]
    heard: bool,
}

/// How findings are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// Drawn at the place in the file, on standard error
    Human,
    /// A JSON list of findings
    Json,
    /// SARIF 2.1.0, for editors and build servers
    Sarif,
}

/// Checks each file: that it can be read and used, and that everything to be said in it can be heard apart. What looks
/// like a slip is drawn, and no failure.
pub fn check(options: &CheckOptions) -> miette::Result<ExitCode> {
    if let Some(code) = &options.explain {
        return explain(code);
    }
    let mut vocabulary = vocabulary(options)?;
    match options.watch {
        true => watch(options, &mut vocabulary),
        false => once(options, &mut vocabulary),
    }
}

/// How long further changes are waited for: an editor writes a file in several goes.
const SETTLING: Duration = Duration::from_millis(150);

/// Checks, and again after each change in the folders of the files, parts included.
fn watch(options: &CheckOptions, vocabulary: &mut Vocabulary) -> miette::Result<ExitCode> {
    let (changed, changes) = crossbeam_channel::unbounded();
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        let written = |event: notify::Event| {
            let toml = |path: &PathBuf| path.extension().is_some_and(|it| it == "toml");
            // Reading them is an event too.
            let written =
                event.kind.is_create() || event.kind.is_modify() || event.kind.is_remove();
            written && event.paths.iter().any(toml)
        };
        if event.is_ok_and(written) {
            // Nobody listens any more only when the program ends.
            let _ = changed.send(());
        }
    })
    .into_diagnostic()?;
    let mut folders = BTreeSet::new();
    for file in &options.files {
        let folder = match file.is_dir() {
            true => file.clone(),
            false => folder_and_name(file)?.0,
        };
        if folders.insert(folder.clone()) {
            watcher
                .watch(&folder, notify::RecursiveMode::Recursive)
                .into_diagnostic()
                .wrap_err_with(|| format!("{} can't be watched", folder.display()))?;
        }
    }
    loop {
        if let Err(report) = once(options, vocabulary) {
            terminal::draw(&report);
        }
        tell!("Checked. It is checked again when a file is saved; Ctrl-C ends it.");
        if !terminal::is_read() || changes.recv().is_err() {
            return Ok(ExitCode::SUCCESS);
        }
        while changes.recv_timeout(SETTLING).is_ok() {}
    }
}

fn once(options: &CheckOptions, vocabulary: &mut Vocabulary) -> miette::Result<ExitCode> {
    let mut all = Vec::new();
    let mut sound = true;
    let human = options.format == Format::Human;
    // With a vehicle only what isn't found without it is told.
    let mut told: Vec<Finding> = Vec::new();
    for (folder, name, sheet) in to_check(&options.files, human, &mut all)? {
        let shelf = Shelf::Folder(folder.clone());
        let looked = author::look(&shelf, &name, sheet.as_deref(), vocabulary).into_diagnostic()?;
        let mut examined = looked.examined;
        if sheet.is_some() {
            examined.findings.retain(|it| !is_known(it, &told));
        }
        told.extend(examined.findings.iter().cloned());
        let tally = Tally::of(&examined.findings);
        if human {
            for finding in &examined.findings {
                terminal::draw(&miette::Report::new(finding.clone()));
            }
        }
        let found = examined.findings.into_iter();
        all.extend(found.map(|finding| Found::in_folder(&folder, finding)));
        let Some(it) = examined.procedure else {
            if human {
                let mistakes = tally.mistakes;
                let with = sheet.map(|sheet| format!(" with the sheet “{sheet}”"));
                warn!(
                    "“{name}” can't be used{}: {mistakes} {} to put right.",
                    with.unwrap_or_default(),
                    things(mistakes)
                );
            }
            continue;
        };
        if human {
            passed(&it, tally, looked.said.len());
        }
        if options.heard && !it.language.is_default() {
            warn!(
                "“{name}” is in {}: no ear here understands it, so whether its readbacks are heard apart isn't known.",
                it.language.name()
            );
        } else if options.heard {
            sound &= told_apart(&it)?;
        }
    }
    let printed = match options.format {
        Format::Human => None,
        Format::Json => Some(findings::json(&all)),
        Format::Sarif => Some(findings::sarif(&all)),
    };
    if let Some(printed) = printed {
        terminal::tell_json(&printed)?;
    }
    let tally = Tally::of(all.iter().map(|it| &it.finding));
    let fails = tally.mistakes > 0 || (options.strict && tally.doubts > 0) || !sound;
    Ok(if fails {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    })
}

/// What words are compared with. Without the dictionary the rest is checked all the same.
fn vocabulary(options: &CheckOptions) -> miette::Result<Vocabulary> {
    let cache = voice::fixtures::cache_folder().unwrap_or_default();
    let dictionary = match Dictionary::of_set_up(&cache) {
        Ok(dictionary) => Some(dictionary),
        Err(error) => {
            warn!(
                "Not checked: whether every word is known to a recogniser, and whether readbacks sound apart ({}).",
                steps::with_causes(&error)
            );
            None
        }
    };
    let model = options.vosk.as_deref().map(vosk::Vosk::load);
    Ok(Vocabulary {
        dictionary,
        model: model.transpose().into_diagnostic()?,
    })
}

fn things(count: usize) -> &'static str {
    if count == 1 { "thing" } else { "things" }
}

fn tell_of(finding: Finding, folder: &Path, human: bool, all: &mut Vec<Found>) {
    if human {
        terminal::draw(&miette::Report::new(finding.clone()));
    }
    all.push(Found::in_folder(folder, finding));
}

/// Whether a finding with a vehicle says nothing new: it was told already, or is there only because the vehicle leaves some
/// of the procedure out.
fn is_known(finding: &Finding, told: &[Finding]) -> bool {
    let of_what_is_left_out = matches!(
        finding.code,
        Code::AcceptedStale | Code::FactUnneeded | Code::BranchUnreached | Code::ReasonUnneeded
    );
    let same = |it: &Finding| {
        it.message == finding.message
            && it.place == finding.place
            && it.file.name() == finding.file.name()
    };
    of_what_is_left_out || told.iter().any(same)
}

/// The folder of procedures that a folder of vehicle sheets lies in; `None` for any other folder.
pub(super) fn in_procedures(folder: &Path) -> Option<PathBuf> {
    // Whoever stands in it names no folder.
    let whole = std::path::absolute(folder).ok()?;
    if whole.file_name()? != "vehicles" {
        return None;
    }
    Some(match folder.parent() {
        Some(parent) if folder.file_name().is_some() => match parent.as_os_str().is_empty() {
            true => PathBuf::from("."),
            false => parent.to_owned(),
        },
        Some(_) | None => PathBuf::from(".."),
    })
}

/// What is checked: each procedure by itself and with each sheet that is for it; of a sheet each procedure that it is for.
fn to_check(
    asked: &[PathBuf],
    human: bool,
    all: &mut Vec<Found>,
) -> miette::Result<Vec<(PathBuf, String, Option<String>)>> {
    let (mut to_check, mut seen) = (Vec::new(), BTreeSet::new());
    for file in files(asked)? {
        let (folder, name) = folder_and_name(&file)?;
        if let Some(folder) = in_procedures(&folder) {
            match Vehicle::load(&name, &Shelf::Folder(folder.clone())) {
                Ok(vehicle) if vehicle.names.is_empty() => {
                    if human {
                        tell!("“{name}” is a type: it is checked with each vehicle of that type.");
                    }
                }
                Ok(vehicle) => {
                    let fits = vehicle.fits.into_iter();
                    to_check.extend(fits.map(|it| (folder.clone(), it, Some(name.clone()))));
                }
                Err(Problems { problems, .. }) => {
                    for finding in problems {
                        tell_of(finding, &folder, human, all);
                    }
                }
            }
            continue;
        }
        let shelf = Shelf::Folder(folder.clone());
        let (vehicles, faulty) = shelf.vehicles().into_diagnostic()?;
        if seen.insert(folder.clone()) {
            for finding in faulty.into_iter().flat_map(|it| it.problems) {
                tell_of(finding, &folder, human, all);
            }
        }
        let vehicles: Vec<&Vehicle> = vehicles
            .iter()
            .filter(|it| !it.names.is_empty() && it.fits.contains(&name))
            .collect();
        let inputs = SheetInputs::of(&name, &shelf).unwrap_or_default();
        let needs_one = inputs.values.iter().any(|it| it.practice.is_none());
        if vehicles.is_empty() || !needs_one {
            to_check.push((folder.clone(), name.clone(), None));
        }
        let with = vehicles.into_iter().map(|it| Some(it.id.to_string()));
        to_check.extend(with.map(|sheet| (folder.clone(), name.clone(), sheet)));
    }
    Ok(to_check)
}

fn passed(it: &Procedure, tally: Tally, said: usize) {
    let look_again = match tally.doubts {
        0 => String::new(),
        count => format!(", {count} {} to look at again", things(count)),
    };
    let accepted = match tally.accepted {
        0 => String::new(),
        count => format!(", {count} accepted by the author"),
    };
    let advice = match tally.advice {
        0 => String::new(),
        count => format!(", {count} that could be worded better"),
    };
    let on = it.sheet.as_ref().map(|sheet| format!(", {}", sheet.id));
    tell!(
        "{}{}: nothing to put right{look_again}{accepted}{advice}. {} steps, {} gates, {said} things to say on the straight way through.",
        it.title,
        on.unwrap_or_default(),
        it.steps.len(),
        it.gates.len(),
    );
}

/// The files themselves, and of a folder its procedures; parts are checked where they are included.
fn files(asked: &[PathBuf]) -> miette::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for path in asked {
        if !path.is_dir() || path.extension().is_some_and(|it| it == "toml") {
            files.push(path.clone());
            continue;
        }
        let names = Shelf::Folder(path.clone()).names().into_diagnostic()?;
        if names.is_empty() {
            return Err(miette!(
                "no procedure in {}: name a folder with .toml files",
                path.display()
            ));
        }
        files.extend(names.iter().map(|name| path.join(format!("{name}.toml"))));
    }
    Ok(files)
}

/// The folder that a procedure lies in, and its name.
pub(super) fn folder_and_name(file: &Path) -> miette::Result<(PathBuf, String)> {
    let folder = file
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let name = file
        .file_name()
        .and_then(|name| name.to_str())
        .and_then(|name| name.strip_suffix(".toml"))
        .ok_or_else(|| miette!("{} is not a .toml file", file.display()))?;
    Ok((folder.to_owned(), name.to_owned()))
}

/// Explains a code, or all.
fn explain(name: &str) -> miette::Result<ExitCode> {
    let told = |code: Code| {
        tell!(
            "{code} ({})\n\n{}",
            code.severity().name(),
            code.explanation()
        );
        if code.can_be_accepted() {
            tell!(
                "\nWhere it is right as it stands: an [[accepted]] entry with this code, `at` and `reason`."
            );
        }
    };
    if name == "all" {
        for (at, code) in Code::ALL.iter().enumerate() {
            if at > 0 {
                tell!("\n{}\n", "-".repeat(60));
            }
            told(*code);
        }
        return Ok(ExitCode::SUCCESS);
    }
    if let Some(code) = Code::named(name) {
        told(code);
        return Ok(ExitCode::SUCCESS);
    }
    let near: Vec<String> = Code::near(name).iter().map(ToString::to_string).collect();
    Err(match near.is_empty() {
        true => miette!("no finding has the code “{name}”: `--explain all` lists them"),
        false => miette!(
            "no finding has the code “{name}”: did you mean {}?",
            near.join(", ")
        ),
    })
}

/// Has the readbacks spoken and heard, and says of each whether it can be told from its denials.
fn told_apart(it: &Procedure) -> miette::Result<bool> {
    let cache = voice::fixtures::cache_folder()
        .ok_or_else(|| miette!("no cache folder: set SAYBACK_CACHE or HOME"))?;
    let mut ear = whisper::ClosedSet::load(&whisper::default_model_dir(), 2).into_diagnostic()?;
    // Without the folder it only takes longer.
    let _ = ear.keep_priors_in(&cache.join("priors"));
    let all = separations(it, &mut ear, &Bars::default(), &cache, |found| {
        tell!("\n“{}”", found.readback);
        tell!("  taken at once from {} of {} voices", found.taken, found.voices);
        for (colour, taken) in found.ill_heard() {
            tell!(
                "  with “{}” behind it from {taken} only",
                colour.word(it.language)
            );
        }
        if let Some((margin, other)) = &found.nearest {
            tell!("  nearest to it: “{other}”, by {margin:.1}");
        }
        for opening in &found.opening {
            tell!("  “{opening}” would open it");
        }
        tell!(
            "  {}",
            match found.verdict() {
                Apart::Well => "well told apart from its denials",
                Apart::Hardly => "hardly heard: shorter, plainer words that don't rhyme with each other help",
                Apart::No => "not told apart: reword it, so that its denial changes more than one short word",
            }
        );
    })
    .into_diagnostic()?;
    tell!("\nVoices made by programs stand for people here. Say the words yourself too.");
    Ok(all.iter().all(|found| found.verdict() != Apart::No))
}
