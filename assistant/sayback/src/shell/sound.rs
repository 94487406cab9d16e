//! Microphones, and how well one is heard.

use super::options::EarOptions;
use ears::sound::endpoint::Event;
use ears::sound::microphone::{Microphone, MicrophoneEvent, devices};
use ears::sound::{Utterance, endpoint, file, folder};
use miette::{IntoDiagnostic, miette};
use sayback::hearing::Meaning;
use serde_json::json;
use std::path::Path;
use std::process::ExitCode;
use steps::{Certainty, Command, Listen};

/// What is asked to be said: short and long, and what is said most.
const PHRASES: [(&str, Command); 6] = [
    ("next", Command::Next),
    ("what torque", Command::WhatTorque),
    ("say again", Command::SayAgain),
    ("not yet", Command::NotYet),
    ("what size", Command::WhatSize),
    ("where am I", Command::WhereAmI),
];

/// Below this speech-to-noise ratio, in decibel, words are lost more often (measured with the default ear
/// on synthetic voices in noise).
const NOISY_DB: f32 = 10.0;

pub fn microphones(as_json: bool) -> miette::Result<ExitCode> {
    let list = devices().into_diagnostic()?;
    if as_json {
        let list: Vec<_> = list
            .iter()
            .map(|it| json!({ "name": it.name, "description": it.description, "usual": it.usual }))
            .collect();
        tell!("{}", serde_json::to_string_pretty(&list).into_diagnostic()?);
    } else if list.is_empty() {
        tell!("No microphone was found.");
    } else {
        for it in list {
            tell!(
                "{}{}  {}",
                it.name,
                if it.usual { " (usual)" } else { "" },
                it.description
            );
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// The utterances of a recording, or of all recordings in a folder, in name order.
pub fn utterances(path: &Path) -> miette::Result<Vec<Utterance>> {
    let files = if path.is_dir() {
        folder::wav_files(path).into_diagnostic()?
    } else {
        vec![path.to_owned()]
    };
    let mut all = Vec::new();
    for path in files {
        let recording = file::read(&path).into_diagnostic()?;
        if let Some(truncation) = &recording.truncated {
            eprintln!("{}: {truncation}; what is there is used", path.display());
        }
        all.extend(endpoint::utterances(&recording.samples));
    }
    Ok(all)
}

/// Asks for some commands one after the other and tells how well each was heard.
pub fn hear_check(
    sound: Option<&Path>,
    microphone: Option<&str>,
    ears: &EarOptions,
) -> miette::Result<ExitCode> {
    let mut hearing = ears.hearing()?;
    let commands = PHRASES.iter().map(|(_, command)| command.clone()).collect();
    hearing
        .listen_for(&Listen {
            commands,
            ..Listen::default()
        })
        .into_diagnostic()?;
    let mut given = match sound {
        Some(path) => Source::Given(utterances(path)?.into_iter()),
        None => {
            let (microphone, events) = Microphone::open(microphone).into_diagnostic()?;
            tell!("Listening to {}.", microphone.name());
            Source::Live {
                _microphone: microphone,
                events,
            }
        }
    };
    let (mut right, mut noisy, mut clipped) = (0, 0, 0);
    for (words, command) in PHRASES {
        tell!("Say: {words}");
        let Some(utterance) = given.next()? else {
            tell!("  nothing more to hear");
            break;
        };
        let understood = hearing.hear(&utterance).into_diagnostic()?;
        let as_meant = understood.meaning == Meaning::Told(command);
        let sure = understood.heard.certainty == Certainty::Sure;
        right += usize::from(as_meant && sure);
        let snr = utterance
            .snr_db
            .map_or_else(|| "unknown".to_owned(), |snr| format!("{snr:.0} dB"));
        noisy += usize::from(utterance.snr_db.is_some_and(|snr| snr < NOISY_DB));
        clipped += usize::from(utterance.clipped > 0.001);
        tell!(
            "  {}: heard “{}”; speech to noise {snr}",
            match (as_meant, sure) {
                (true, true) => "well heard",
                (true, false) => "heard, with doubt",
                (false, _) => "not heard",
            },
            understood.heard.words,
        );
    }
    tell!("{right} of {} well heard.", PHRASES.len());
    if clipped > 0 {
        tell!("The sound is too loud: move the microphone away or turn its level down.");
    } else if noisy > 0 {
        tell!("There is much noise beside the voice: move the microphone closer to your mouth.");
    } else if right < PHRASES.len() {
        tell!("Speak at your usual level, close to the microphone, and try again.");
    }
    Ok(if right == PHRASES.len() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

enum Source {
    Given(std::vec::IntoIter<Utterance>),
    Live {
        _microphone: Microphone,
        events: crossbeam_channel::Receiver<MicrophoneEvent>,
    },
}

impl Source {
    fn next(&mut self) -> miette::Result<Option<Utterance>> {
        match self {
            Self::Given(all) => Ok(all.next()),
            Self::Live { events, .. } => loop {
                match events.recv() {
                    Ok(MicrophoneEvent::Heard(Event::Utterance(utterance))) => {
                        return Ok(Some(utterance));
                    }
                    Ok(MicrophoneEvent::Lost { reason }) => {
                        return Err(miette!("the microphone is gone: {reason}"));
                    }
                    Ok(
                        MicrophoneEvent::Heard(
                            Event::SpeechBegan | Event::CutShort(_) | Event::Discarded(_),
                        )
                        | MicrophoneEvent::Level { .. }
                        | MicrophoneEvent::Overrun { .. },
                    ) => {}
                    Err(_) => return Err(miette!("the microphone is gone")),
                }
            },
        }
    }
}
