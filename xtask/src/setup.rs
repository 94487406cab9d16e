//! All set-up in one go: what is there stays, what isn't is fetched, what can't be had is told.

use std::path::PathBuf;

use crate::Failure;
use crate::artefacts::{self, Artefact};
use crate::fetch::{self, Arrival};
use crate::{browser, cache, environment, progress, system};

/// What the machine can do after set-up.
pub struct Ready {
    /// Where everything is.
    pub cache: PathBuf,
    /// A sentence for each thing that couldn't be had.
    pub lacking: Vec<Failure>,
}

/// Fetches, checks and places what isn't there yet.
///
/// Fails only when nothing of the workspace can be built; whatever else is lacking is told and returned.
pub fn run() -> Result<Ready, Failure> {
    let cache = cache::folder()?;
    let _lock = cache::lock(&cache)?;
    let mut lacking = Vec::new();
    let mut cannot_build = None;
    match system::ensure() {
        Ok(()) => {}
        Err(system::Amiss::Incomplete(told)) => lacking.push(told),
        Err(system::Amiss::CannotBuild(told)) => cannot_build = Some(told),
    }
    let mut place = |artefact: &Artefact| match fetch::ensure(&cache, artefact) {
        Ok(Arrival::WasThere) => {}
        Ok(Arrival::Fetched) => {
            progress::line(&format!("Placed {} in {}", artefact.what, artefact.folder));
        }
        Ok(Arrival::ByHand) => {
            progress::line(&format!(
                "Found {} in {}, sums right",
                artefact.what, artefact.folder
            ));
        }
        Err(told) => lacking.push(told),
    };
    place(&artefacts::EAR);
    let vosk = artefacts::vosk();
    if let Some(vosk) = &vosk {
        place(vosk);
    }
    place(&artefacts::KOREAN_MODEL);
    place(&artefacts::NEURAL_VOICE);
    place(&artefacts::NEAR_HUMAN_VOICES);
    if vosk.is_none() {
        lacking.push(Failure::new(format!(
            "Can't be had: the Vosk library: there is no build of it for this processor ({}).\n  {}",
            std::env::consts::ARCH,
            artefacts::WITHOUT_VOSK
        )));
    }
    if let Err(told) = environment::ensure(&cache) {
        lacking.push(told);
    }
    if let Err(told) = browser::ensure(&cache) {
        lacking.push(told);
    }
    for told in &lacking {
        eprintln!("{told}");
    }
    match cannot_build {
        Some(told) => Err(told),
        None => Ok(Ready { cache, lacking }),
    }
}
