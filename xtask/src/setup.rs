//! Set-up: installs what a task needs and the machine lacks, and reports what could not be had.

use std::path::{Path, PathBuf};

use crate::Failure;
use crate::artefacts::{self, Artefact};
use crate::fetch::{self, Arrival};
use crate::progress::{Step, Steps};
use crate::{browser, cache, environment, progress, system, tools, vosk_ear};

/// What a set-up is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// The demonstration and the spoken fixtures: whatever builds the program, hears and speaks.
    Demonstration,
    /// The tests and the benchmarks: all of the above, and the second ear, the browser, and independent libraries.
    Tests,
    /// The check of the dependencies' licences.
    Licences,
    /// Every task.
    Everything,
}

/// What the machine can do after set-up.
pub struct Ready {
    /// Where everything is.
    pub cache: PathBuf,
    /// A sentence for each thing that couldn't be had.
    pub lacking: Vec<Failure>,
    /// The rest of the task; set-up is done with its own steps.
    pub steps: Steps,
}

/// Fetches, checks and places what isn't there yet. The task itself goes on with `then`, which only serves to
/// say how long all of it takes.
///
/// Fails only when nothing of the workspace can be built; anything else that is lacking is printed and returned.
pub fn run(purpose: Purpose, then: Vec<Step>) -> Result<Ready, Failure> {
    let cache = cache::folder()?;
    let _lock = cache::lock(&cache)?;
    let parts: Vec<Part> = Part::of(purpose)
        .into_iter()
        .filter(|part| !part.is_there(&cache))
        .collect();
    let own = parts.iter().map(Part::step);
    let mut steps = Steps::new(own.chain(then).collect());
    let mut lacking = Vec::new();
    let mut cannot_build = None;
    for part in &parts {
        steps.begin_next();
        match part.bring(&cache) {
            Ok(()) => {}
            Err(Amiss::Incomplete(told)) => {
                eprintln!("{told}");
                lacking.push(told);
            }
            Err(Amiss::CannotBuild(told)) => cannot_build = Some(told),
        }
    }
    match cannot_build {
        Some(told) => Err(told),
        None => Ok(Ready {
            cache,
            lacking,
            steps,
        }),
    }
}

/// What is amiss with a part.
pub enum Amiss {
    /// The workspace can't be built.
    CannotBuild(Failure),
    /// It can be built; some of it can't be run or tested.
    Incomplete(Failure),
}

/// One thing that set-up brings.
enum Part {
    System(Purpose),
    Artefact(Artefact),
    /// Something of which there is no build for this machine's processor, and what doesn't work without it.
    NoBuild(&'static str, &'static str),
    Python(&'static environment::Packages),
    Browser,
    VoskEar,
}

impl Part {
    /// Everything that serves this purpose, in the order in which it is brought.
    fn of(purpose: Purpose) -> Vec<Self> {
        let speak = [
            Self::System(purpose),
            Self::Artefact(artefacts::EAR),
            Self::Artefact(artefacts::NEURAL_VOICE),
            Self::Python(&environment::SPEECH),
        ];
        let test = [
            Self::tool(tools::NEXTEST),
            artefacts::vosk().map_or(
                Self::NoBuild("the Vosk library", artefacts::WITHOUT_VOSK),
                Self::Artefact,
            ),
            Self::VoskEar,
            Self::Artefact(artefacts::KOREAN_MODEL),
            Self::Artefact(artefacts::NEAR_HUMAN_VOICES),
            Self::Python(&environment::INDEPENDENT),
            Self::Browser,
        ];
        let licences = [Self::tool(tools::DENY)];
        match purpose {
            Purpose::Demonstration => speak.into(),
            Purpose::Tests => speak.into_iter().chain(test).collect(),
            Purpose::Licences => licences.into(),
            Purpose::Everything => speak.into_iter().chain(test).chain(licences).collect(),
        }
    }

    fn tool(tool: tools::Tool) -> Self {
        let (what, without) = (tool.what, tool.without);
        tool.for_this_processor()
            .map_or(Self::NoBuild(what, without), Self::Artefact)
    }

    fn is_there(&self, cache: &Path) -> bool {
        match self {
            Self::System(purpose) => system::are_there(*purpose),
            Self::Artefact(artefact) => fetch::is_there(cache, artefact),
            Self::NoBuild(..) => false,
            Self::Python(packages) => environment::is_there(cache, packages),
            Self::Browser => browser::is_there(cache),
            Self::VoskEar => vosk_ear::is_there(cache),
        }
    }

    /// How long it takes is a guess for a connection of some 10 MB a second.
    fn step(&self) -> Step {
        match self {
            Self::System(_) => Step::new("Install system packages", 60),
            Self::Artefact(artefact) => {
                let bytes: u64 = artefact.files.iter().map(|file| file.size).sum();
                let seconds = 3 + bytes / 10_000_000;
                Step::new(
                    format!("Fetch {}", artefact.what),
                    u32::try_from(seconds).unwrap_or(u32::MAX),
                )
            }
            Self::NoBuild(what, _) => Step::new(format!("Fetch {what}"), 0),
            Self::Python(packages) => {
                Step::new(format!("Install {}", packages.what), packages.seconds)
            }
            Self::Browser => Step::new("Install the packages that drive a browser", 10),
            Self::VoskEar => Step::new("Build the program that runs Vosk", 25),
        }
    }

    fn bring(&self, cache: &Path) -> Result<(), Amiss> {
        match self {
            Self::System(purpose) => system::ensure(*purpose),
            Self::Artefact(artefact) => {
                match fetch::ensure(cache, artefact).map_err(Amiss::Incomplete)? {
                    Arrival::WasThere | Arrival::Fetched => {}
                    Arrival::ByHand => progress::line(&format!(
                        "Found {} in {}, its checksums are right",
                        artefact.what, artefact.folder
                    )),
                }
                Ok(())
            }
            Self::NoBuild(what, without) => Err(Amiss::Incomplete(Failure::new(format!(
                "Can't be had: {what}: there is no build of it for this processor ({}).\n  {without}",
                std::env::consts::ARCH
            )))),
            Self::Python(packages) => {
                environment::ensure(cache, packages).map_err(Amiss::Incomplete)
            }
            Self::Browser => browser::ensure(cache).map_err(Amiss::Incomplete),
            Self::VoskEar => vosk_ear::ensure(cache).map_err(Amiss::Incomplete),
        }
    }
}
