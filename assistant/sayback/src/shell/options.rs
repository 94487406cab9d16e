//! Options that several commands share.

use super::page::PageOptions;
use clap::{Args, ValueEnum};
use ears::verdict::Bars;
use ears::{Recogniser, vosk, whisper};
use files::IfThere;
use miette::{IntoDiagnostic, WrapErr, miette};
use record::{Archive, JobSummary, RecordError};
use sayback::author::Dictionary;
use sayback::config::{bay, key, people, tools};
use sayback::library::Shelf;
use sayback::work::attention::{self, Attention, Listening};
use sayback::work::hearing::Hearing;
use sayback::work::live::Duplex;
use sayback::work::speech::Speech;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use steps::quantity::TorqueUnit;
use steps::{Language, Mode, Procedure, Settings, Wording};
use words::sound::{Sounds, phrases};

/// Where procedures come from.
#[derive(Debug, Args)]
pub struct ShelfOptions {
    /// The folder of the procedures [default: those that come with the program]
    #[arg(long, value_name = "FOLDER")]
    procedures: Option<PathBuf>,
}

impl ShelfOptions {
    /// The shelf.
    pub fn shelf(&self) -> Shelf {
        self.procedures
            .clone()
            .map_or(Shelf::Shipped, Shelf::Folder)
    }

    /// What has to be typed so that another command finds the same ones.
    pub fn as_typed(&self) -> String {
        let named = self.procedures.as_deref();
        named.map_or_else(String::new, |it| format!(" --procedures {}", typed(it)))
    }
}

/// Where records are kept.
#[derive(Debug, Args)]
pub struct RecordOptions {
    /// The folder of the records [default: `sayback` in your data folder]
    #[arg(long, value_name = "FOLDER")]
    records: Option<PathBuf>,
}

impl RecordOptions {
    fn folder(&self) -> miette::Result<PathBuf> {
        match &self.records {
            Some(folder) => Ok(folder.clone()),
            None => data_folder().ok_or_else(|| {
                miette::miette!("no home folder is set: name a folder with --records")
            }),
        }
    }

    /// The shop's records, to add to them; made where there are none. What is added is signed with the bay's key, where it
    /// has one.
    pub fn archive(&self) -> miette::Result<Archive> {
        let archive = Archive::open(&self.folder()?).into_diagnostic()?;
        self.signed(archive)
    }

    fn signed(&self, archive: Archive) -> miette::Result<Archive> {
        self.warn_of_readers(archive.folder());
        match key::open() {
            Ok(Some((key, found))) => {
                super::proof::tell_found(found);
                Ok(archive.signed_by(key))
            }
            Ok(None) => Ok(archive),
            // The work counts more than its signature: the record says that it has none.
            Err(error) => {
                warn!("Records aren't signed: {error:#}.");
                Ok(archive)
            }
        }
    }

    /// The shop's records, for a command that adds to what is there: a mistyped folder isn't made.
    pub fn archive_that_is_there(&self) -> miette::Result<Archive> {
        self.is_there()?;
        self.archive()
    }

    /// The shop's records, to show them, and to add photos where they can be written and are whole.
    pub fn to_serve(&self) -> miette::Result<Archive> {
        self.is_there()?;
        let archive = Archive::open(&self.folder()?);
        // A file that can be opened may be damaged all the same.
        match archive.and_then(|archive| archive.jobs().map(|_| archive)) {
            Ok(archive) => self.signed(archive),
            Err(RecordError::ReadOnly { .. }) => {
                warn!("These records can't be written: they are only shown.");
                self.to_read()
            }
            Err(RecordError::Damaged { .. }) => {
                warn!("These records are damaged: they are only shown.");
                let archive = Archive::open_damaged(&self.folder()?).into_diagnostic()?;
                super::proof::tell_lost(archive.lost());
                Ok(archive)
            }
            Err(error) => Err(error).into_diagnostic(),
        }
    }

    /// The shop's records, only to read them: nothing is written.
    pub fn to_read(&self) -> miette::Result<Archive> {
        self.reading()?.into_diagnostic()
    }

    /// What is read of the records, and of damaged ones what can be: [`Archive::lost`] names the rest.
    pub fn read_around<T>(
        &self,
        read: impl Fn(&Archive) -> Result<T, RecordError>,
    ) -> miette::Result<(Archive, Result<T, RecordError>)> {
        let found = |archive: Archive| {
            let read = read(&archive);
            (archive, read)
        };
        match self.reading()?.map(found) {
            Err(RecordError::Damaged { .. }) | Ok((_, Err(RecordError::Damaged { .. }))) => {
                Archive::open_damaged(&self.folder()?).map(found)
            }
            read => read,
        }
        .into_diagnostic()
    }

    fn reading(&self) -> miette::Result<Result<Archive, RecordError>> {
        self.is_there()?;
        let folder = self.folder()?;
        if self.records.is_none() && !folder.exists() {
            // Nothing was ever kept here.
            let nothing = record::sqlite::Records::open_to_read(&folder).into_diagnostic()?;
            return Ok(Ok(Archive::with(&folder, Arc::new(nothing))));
        }
        let archive = Archive::open_to_read(&folder);
        if archive.is_ok() {
            self.warn_of_readers(&folder);
        }
        Ok(archive)
    }

    /// A folder that was named may be mistyped.
    fn is_there(&self) -> miette::Result<()> {
        let missing = |folder: &&PathBuf| {
            let about = std::fs::metadata(folder);
            about.is_err_and(|error| error.kind() == std::io::ErrorKind::NotFound)
        };
        match self.records.as_ref().filter(missing) {
            Some(folder) => Err(miette!(
                "there are no records in {}: look at the folder's name",
                folder.display()
            )),
            None => Ok(()),
        }
    }

    fn warn_of_readers(&self, folder: &Path) {
        if record::others_can_read(folder) {
            warn!(
                "Other accounts on this machine can read the records, sounds and photos in {0}. To keep them out: chmod -R go= {1}",
                folder.display(),
                typed(folder)
            );
        }
    }

    /// What has to be typed so that another command finds these records.
    pub fn as_typed(&self) -> String {
        let named = self.records.as_deref();
        named.map_or_else(String::new, |it| format!(" --records {}", typed(it)))
    }
}

/// A path as a shell takes it.
fn typed(path: &Path) -> String {
    let text = path.display().to_string();
    let plain = |it: char| it.is_alphanumeric() || "/._-+,=@".contains(it);
    match text.chars().all(plain) {
        true => text,
        false => format!("'{}'", text.replace('\'', r"'\''")),
    }
}

/// What is done with a file that is there.
#[derive(Debug, Clone, Copy, Args)]
pub struct Overwrite {
    /// Overwrite existing files
    #[arg(long)]
    overwrite: bool,
}

impl Overwrite {
    /// The same for whoever writes.
    pub fn if_there(self) -> IfThere {
        match self.overwrite {
            true => IfThere::Replace,
            false => IfThere::Refuse,
        }
    }
}

/// Of these names the ones that were probably meant, the nearest first.
pub fn near<'n>(wanted: &str, names: impl IntoIterator<Item = &'n str>) -> Vec<&'n str> {
    let likeness = |name: &str| strsim::jaro_winkler(wanted, name);
    let mut near: Vec<(f64, &str)> = names.into_iter().map(|it| (likeness(it), it)).collect();
    near.retain(|(likeness, _)| *likeness >= 0.85);
    near.sort_by(|one, other| other.0.total_cmp(&one.0));
    near.into_iter().take(3).map(|(_, name)| name).collect()
}

/// Of these jobs the ones that were probably meant, the nearest first. Jobs of one day share its date, which says nothing
/// about which was meant, so what stands behind the date must be near.
fn near_jobs<'n>(wanted: &str, mut jobs: Vec<&'n str>) -> Vec<&'n str> {
    fn undated(id: &str) -> &str {
        id.trim_start_matches(|it: char| it.is_ascii_digit() || it == '-')
    }
    jobs.retain(|job| !near(undated(wanted), [undated(job)]).is_empty());
    let likeness = |job: &str| strsim::jaro_winkler(wanted, job);
    jobs.sort_by(|one, other| likeness(other).total_cmp(&likeness(one)));
    jobs.truncate(3);
    jobs
}

/// The job of this name.
///
/// # Errors
/// When none on record is called so.
pub fn known_job(archive: &Archive, id: &str) -> miette::Result<JobSummary> {
    let jobs = archive.jobs().into_diagnostic()?;
    if let Some(known) = jobs.iter().find(|job| job.id.as_str() == id) {
        return Ok(known.clone());
    }
    let near = near_jobs(id, jobs.iter().map(|job| job.id.as_str()).collect());
    Err(match near.is_empty() {
        true => miette!("no job on record is called {id}: see `sayback records`"),
        false => miette!(
            "no job on record is called {id}: did you mean {}?",
            near.join(", ")
        ),
    })
}

/// What is wrong with a job, and if there is none of this name, which ones are called nearly so.
pub fn or_near(archive: &Archive, id: &str, error: RecordError) -> miette::Report {
    match (&error, known_job(archive, id)) {
        (RecordError::NoSuchJob { .. }, Err(near)) => near,
        (_, Err(_) | Ok(_)) => miette::Report::from_err(error),
    }
}

fn data_folder() -> Option<PathBuf> {
    let set = |name| {
        std::env::var_os(name)
            .filter(|value| !value.is_empty())
            .map(PathBuf::from)
    };
    let data = set("XDG_DATA_HOME").or_else(|| set("HOME").map(|home| home.join(".local/share")));
    data.map(|data| data.join("sayback"))
}

/// The unit of the technician's torque wrench, as it is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WrenchUnit {
    /// Newton metres
    #[value(name = "N.m", aliases = ["Nm", "N-m", "N·m"])]
    NewtonMetre,
    /// Foot-pounds
    #[value(name = "lbf.ft", aliases = ["lbf·ft", "ft.lbf", "ft-lbf", "ft.lb", "ft-lb", "ft-lbs", "lb.ft", "lb-ft"])]
    PoundFoot,
    /// Inch-pounds
    #[value(name = "lbf.in", aliases = ["lbf·in", "in.lbf", "in-lbf", "in.lb", "in-lb", "in-lbs", "lb.in", "lb-in"])]
    PoundInch,
    /// Kilogram-force metres
    #[value(name = "kgf.m", aliases = ["kgf·m", "kgm", "kg.m", "kg-m"])]
    KilogramForceMetre,
}

impl From<WrenchUnit> for TorqueUnit {
    fn from(unit: WrenchUnit) -> Self {
        match unit {
            WrenchUnit::NewtonMetre => Self::NewtonMetre,
            WrenchUnit::PoundFoot => Self::PoundFoot,
            WrenchUnit::PoundInch => Self::PoundInch,
            WrenchUnit::KilogramForceMetre => Self::KilogramForceMetre,
        }
    }
}

/// What speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Speaks {
    /// espeak-ng on the usual sound device; you can talk over it
    Loudspeaker,
    /// A neural voice on the usual sound device, English only; you can talk over it
    Neural,
    /// The machine's speech-dispatcher, with the voice set there
    SpeechDispatcher,
    /// Nothing is spoken, only printed
    Nothing,
}

/// How a job is talked through.
#[derive(Debug, Args)]
pub struct JobOptions {
    #[command(flatten)]
    pub shelf: ShelfOptions,
    #[command(flatten)]
    pub records: RecordOptions,
    /// The vehicle's name or its sheet's name (see `sayback vehicles`); its sheet gives the torques, sizes and limits
    #[arg(long, value_name = "NAME")]
    pub vehicle: Option<String>,
    /// The unit your torque wrench is marked in [default: the one you last asked for by voice, else N.m]
    #[arg(long, value_enum, ignore_case = true)]
    pub unit: Option<WrenchUnit>,
    /// Your torque wrenches, sockets and adapters [default: $SAYBACK_TOOLS, else `sayback/tools.toml` in your configuration
    /// folder, if it is there]
    #[arg(long, value_name = "FILE")]
    pub tools: Option<PathBuf>,
    /// Who is working; goes onto the record
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// The names of the bay's people, who can take a job over and sign it off by saying so [default: `sayback/people.toml`
    /// in your configuration folder, if it is there]
    #[arg(long, value_name = "FILE")]
    pub people: Option<PathBuf>,
    /// Say the short wording of a step where there is one
    #[arg(long)]
    pub short: bool,
    /// Write what it says to this WAV file instead of speaking it
    #[arg(long, value_name = "FILE")]
    pub answers: Option<PathBuf>,
    #[command(flatten)]
    pub overwrite: Overwrite,
    /// Print only what is said, not the record
    #[arg(long)]
    pub quiet: bool,
    /// Fill the terminal with what the glance page shows, instead of printing line by line; Ctrl+C leaves the job. Has no
    /// effect if the output isn't a terminal or the job is typed
    #[arg(long)]
    pub screen: bool,
    /// Keep the sound of everything said to it, and of talk that came close to a command, so that `sayback heard` can show
    /// how well it hears. Without this, only the sound of hold points, readings, names and notes is kept
    #[arg(long)]
    pub keep_heard: bool,
    /// The voice [default: the best one that works here]
    #[arg(long, value_enum)]
    pub voice: Option<Speaks>,
    /// While it speaks, hear only “stop” and corrections. Without this it takes most commands while it speaks, except through
    /// speech-dispatcher
    #[arg(long)]
    pub half_duplex: bool,
    /// Listen only when called by this name, for ten seconds each time. Choose a name that nobody says otherwise. Say
    /// “listen to everything” or “wait for your name” to change that
    #[arg(long, value_name = "WORDS")]
    pub name: Option<String>,
    /// Listen only when Enter is pressed, for ten seconds each time; many foot switches and headset buttons can send it
    #[arg(long, conflicts_with = "name")]
    pub press: bool,
    /// The same, and also after any key of this input device: a foot switch or a headset's button under
    /// `/dev/input/by-id`, wherever the terminal is
    #[cfg(target_os = "linux")]
    #[arg(long, value_name = "FILE", conflicts_with = "name")]
    pub press_device: Option<PathBuf>,
    #[command(flatten)]
    pub page: PageOptions,
}

impl JobOptions {
    /// Refuses what a resumed job doesn't take from the command line: it goes on as it is on record.
    ///
    /// # Errors
    /// When one of these was given, and how it is done instead.
    pub fn refuse_what_is_on_record(&self) -> miette::Result<()> {
        let given = [
            (
                self.unit.is_some(),
                "--unit",
                "the job goes on in its own unit; to change it say “my wrench is in foot pounds”, or in whatever it is",
            ),
            (
                self.vehicle.is_some(),
                "--vehicle",
                "the job goes on with the vehicle it was begun on",
            ),
            (
                self.tools.is_some(),
                "--tools",
                "the job goes on with the tools it was begun with",
            ),
            (
                self.people.is_some(),
                "--people",
                "the job goes on with the people it was begun with",
            ),
            (
                self.by.is_some(),
                "--by",
                "who takes a job over says so aloud: “Mara takes over”",
            ),
            (
                self.short,
                "--short",
                "the job goes on with its own wording; to change it say “short answers”",
            ),
        ];
        match given.into_iter().find(|(is_given, ..)| *is_given) {
            Some((_, option, why)) => Err(miette!("`resume` doesn't take {option}: {why}")),
            None => Ok(()),
        }
    }

    /// The sheet of the vehicle that was named.
    ///
    /// # Errors
    /// When no vehicle is called so.
    pub fn sheet(&self) -> miette::Result<Option<String>> {
        let shelf = self.shelf.shelf();
        let named = self.vehicle.as_deref();
        named
            .map(|name| super::vehicles::sheet_of(&shelf, name))
            .transpose()
    }

    /// To whom it listens.
    ///
    /// # Errors
    /// When the name can't be told from what may be said.
    pub fn listening(&self, job: Option<&Procedure>) -> miette::Result<Listening> {
        let name = match &self.name {
            Some(wanted) => Some(checked_name(wanted, job)?),
            None => None,
        };
        let attention = match (&name, self.on_press()) {
            (Some(name), _) => Attention::ByName(name.clone()),
            (None, true) => Attention::OnPress,
            (None, false) => Attention::Open,
        };
        Ok(Listening::new(attention, name, self.on_press()))
    }

    /// Whether it listens only after something was pressed.
    pub fn on_press(&self) -> bool {
        #[cfg(target_os = "linux")]
        let device = self.press_device.is_some();
        #[cfg(not(target_os = "linux"))]
        let device = false;
        self.press || device
    }

    /// How the ears and the voice share the room.
    pub fn duplex(&self) -> Duplex {
        match self.half_duplex {
            true => Duplex::Half,
            false => Duplex::Full,
        }
    }

    /// What a job is opened with.
    ///
    /// # Errors
    /// When the tools file or the people file is wrong.
    pub fn settings(&self, mode: Mode) -> miette::Result<Settings> {
        let kept = Speech::kept()?;
        let wording = match self.short {
            true => Wording::Short,
            false => kept.wording.unwrap_or_default(),
        };
        let unit = self.unit.map(TorqueUnit::from).or(kept.unit);
        Ok(Settings {
            mode,
            unit: unit.unwrap_or(TorqueUnit::NewtonMetre),
            wording,
            tools: tools::load(self.tools.as_deref())?,
            people: people::load(self.people.as_deref(), self.by.as_deref())?,
            usual_seconds: BTreeMap::new(),
            colours: true,
            // A rehearsal is typed: whoever types has time to look.
            corrections: mode != Mode::Rehearsal,
            in_fives: true,
            released: Vec::new(),
            // Nobody works at a vehicle in a rehearsal.
            pauses: mode != Mode::Rehearsal,
        })
    }
}

/// The dictionary is of English: of a job in another language only the name's form is looked at.
fn checked_name(wanted: &str, job: Option<&Procedure>) -> miette::Result<String> {
    let english = job.is_none_or(|job| job.language == Language::English);
    let cache = voice::fixtures::cache_folder().filter(|_| english);
    let dictionary = cache.and_then(|cache| Dictionary::of_set_up(&cache).ok());
    let lexicon = dictionary.as_ref().map(Dictionary::lexicon);
    let own = job.map(|job| job.sounds_like.clone()).unwrap_or_default();
    let sounds = lexicon.as_ref().map(|lexicon| Sounds::new(lexicon, &own));
    if sounds.is_none() {
        warn!("Without a pronouncing dictionary the name's sound isn't checked.");
    }
    let said = job.map(phrases).unwrap_or_default().into_iter();
    let said: Vec<String> = said.map(|it| it.words).collect();
    attention::name(wanted, sounds, &said).into_diagnostic()
}

/// Which recognisers listen.
#[derive(Debug, Args)]
pub struct EarOptions {
    /// The folder of the default recogniser's weights [default: where set-up put them]
    #[arg(long, value_name = "FOLDER")]
    ear: Option<PathBuf>,
    /// The folder of an English Vosk model, which then listens too; a hold point opens only if both hear the readback
    #[arg(long, value_name = "FOLDER")]
    vosk: Option<PathBuf>,
}

impl EarOptions {
    /// The ears, ready to be told what to listen for. The default ear knows English; a Vosk model alone tells its
    /// confidence, by which no gate opens.
    pub fn hearing(&self, language: Language) -> miette::Result<Hearing> {
        match language {
            Language::English => self.english(),
            Language::Spanish => self.model_alone(language),
        }
    }

    fn model_alone(&self, language: Language) -> miette::Result<Hearing> {
        let name = language.name();
        let Some(model) = &self.vosk else {
            return Err(miette!(
                help = "`sayback rehearse` takes typed words. With the folder of a model of that language, \
                        `--vosk MODEL` answers to what is spoken; its confidence alone opens no hold point",
                "the procedure is in {name}, and the default ear understands English only"
            ));
        };
        let ear: Box<dyn Recogniser> = Box::new(vosk::Vosk::load(model).into_diagnostic()?);
        warn!(
            "The procedure is in {name}: only the Vosk model listens, and by its confidence alone no hold point opens. \
             The job can't be worked past its first one."
        );
        let bars = Bars::default().raised(&bay::raised()?);
        Hearing::new(language, vec![ear], bars).into_diagnostic()
    }

    fn english(&self) -> miette::Result<Hearing> {
        let folder = self.ear.clone().unwrap_or_else(whisper::default_model_dir);
        let threads = std::thread::available_parallelism()
            .map_or(1, usize::from)
            .min(4);
        let mut default_ear = whisper::ClosedSet::load(&folder, threads)
            .into_diagnostic()
            .wrap_err("the default ear can't listen; `sayback rehearse` works without it")?;
        let kept = whisper::default_model_dir().with_file_name("priors");
        if let Err(error) = default_ear.keep_priors_in(&kept) {
            warn!(
                "{} can't be used ({error}): each hold point takes a moment longer to get ready.",
                kept.display()
            );
        }
        let mut ears: Vec<Box<dyn Recogniser>> = vec![Box::new(default_ear)];
        if let Some(model) = &self.vosk {
            ears.push(Box::new(vosk::Vosk::load(model).into_diagnostic()?));
        }
        let bars = Bars::default().raised(&bay::raised()?);
        Hearing::new(Language::English, ears, bars).into_diagnostic()
    }
}
