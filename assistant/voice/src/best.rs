//! The best voice that works on a machine.

use std::path::Path;

use files::IfThere;

use crate::{EspeakWav, Loudspeaker, PrintOnly, Settings, SpeechDispatcher, Voice, VoiceError};

/// The voice that was chosen, to be announced by its name, and why better ones weren't.
pub struct Chosen {
    /// What will speak.
    pub voice: Box<dyn Voice>,
    /// One reason for each better voice that doesn't work here.
    pub because: Vec<VoiceError>,
}

/// The best voice that works here, in this order: the loudspeaker, since what it plays is known and can be taken out of
/// what the microphone brings; speech-dispatcher, when one listens or when this machine has a loudspeaker and one can
/// be started; espeak-ng into the WAV file `wav`, or where none is named into one in a new folder of its own for temporary
/// files; lines on standard output. A file that is named is overwritten.
/// `voice` is the name of espeak-ng's voice for the language; through speech-dispatcher only English is spoken.
pub fn best_available(wav: Option<&Path>, settings: Settings, voice: &str) -> Chosen {
    let mut because = Vec::new();
    match Loudspeaker::open(voice, settings) {
        Ok(voice) => {
            return Chosen {
                voice: Box::new(voice),
                because,
            };
        }
        Err(error) => because.push(error),
    }
    if voice == ENGLISH {
        let heard = if has_loudspeaker() {
            SpeechDispatcher::open_or_start(settings)
        } else {
            SpeechDispatcher::open(settings)
        };
        match heard {
            Ok(voice) => {
                return Chosen {
                    voice: Box::new(voice),
                    because,
                };
            }
            Err(error) => because.push(error),
        }
    }
    match into_a_file(wav, settings, voice) {
        Ok(voice) => {
            return Chosen {
                voice: Box::new(voice),
                because,
            };
        }
        Err(error) => because.push(error),
    }
    Chosen {
        voice: Box::new(PrintOnly::new(std::io::stdout(), settings)),
        because,
    }
}

fn into_a_file(
    wav: Option<&Path>,
    settings: Settings,
    voice: &str,
) -> Result<EspeakWav, VoiceError> {
    if let Some(wav) = wav {
        return EspeakWav::create(wav, settings, voice, IfThere::Replace);
    }
    // A name that is always the same could be somebody else's file, or lead to one.
    let folder = tempfile::Builder::new()
        .prefix("sayback-")
        .tempdir()
        .map_err(|source| VoiceError::io(std::env::temp_dir().display(), source))?;
    let wav = folder.path().join("answers.wav");
    let begun = EspeakWav::create(&wav, settings, voice, IfThere::Keep)?;
    let _ = folder.keep();
    Ok(begun)
}

/// The voice of espeak-ng that speaks English.
pub const ENGLISH: &str = "en-us";

/// Whether sound can come out: a sound server that was named or runs, or a playback device of ALSA
/// (`pcmC0D0p` and the like).
fn has_loudspeaker() -> bool {
    let server = std::env::var_os("PULSE_SERVER").is_some_and(|server| !server.is_empty());
    let runs = std::env::var_os("XDG_RUNTIME_DIR").is_some_and(|folder| {
        let folder = Path::new(&folder);
        folder.join("pulse/native").exists() || folder.join("pipewire-0").exists()
    });
    let device = std::fs::read_dir("/dev/snd").is_ok_and(|devices| {
        devices.flatten().any(|device| {
            let name = device.file_name();
            let name = name.to_string_lossy();
            name.starts_with("pcm") && name.ends_with('p')
        })
    });
    server || runs || device
}
