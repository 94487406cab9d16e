//! Which voice a machine can have.

use std::path::Path;

use crate::{EspeakWav, Loudspeaker, PrintOnly, Settings, SpeechDispatcher, Voice, VoiceError};

/// The voice that was chosen, to be announced by its name, and why better ones weren't.
pub struct Chosen {
    /// What will speak.
    pub voice: Box<dyn Voice>,
    /// One reason for each better voice that can't be had.
    pub because: Vec<VoiceError>,
}

/// The best voice that works here, in this order: the loudspeaker, since what it plays is known and can be taken out of
/// what the microphone brings; speech-dispatcher, when one listens or when this machine has a loudspeaker and one can
/// be started; espeak-ng into the WAV file `wav`; lines on standard output.
/// `voice` is the name of espeak-ng's voice for the language; through speech-dispatcher only English is spoken.
pub fn best_available(wav: &Path, settings: Settings, voice: &str) -> Chosen {
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
    match EspeakWav::create(wav, settings, voice) {
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
