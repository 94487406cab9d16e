//! How whoever works wants to be spoken to, kept from one job to the next beside the tools file.

use files::IfThere;
use miette::{IntoDiagnostic, WrapErr, miette};
use serde::{Deserialize, Serialize};
use std::path::PathBuf;
use steps::quantity::TorqueUnit;
use steps::{Manner, Wording};
use voice::{Timbre, Volume, WordsPerMinute};

/// The largest such file that is read, in bytes.
const MAX_BYTES: u64 = 100_000;

/// Percent of full volume of one notch.
const NOTCH: u8 = 15;

/// The softest that can be asked for, in percent: nobody silences it for ever by "softer".
const SOFTEST: u8 = 25;

/// What is kept. What nobody has asked for is left to the program.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Speech {
    /// Words a minute.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate: Option<WordsPerMinute>,
    /// Percent of full volume.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume: Option<Volume>,
    /// The voice.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub timbre: Option<Timbre>,
    /// How much is said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wording: Option<Wording>,
    /// What the torque wrench is marked in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<TorqueUnit>,
}

impl Speech {
    /// What was kept; nothing where there is no file.
    ///
    /// # Errors
    /// When the file is there and can't be read, or holds something else.
    pub fn kept() -> miette::Result<Self> {
        let Some(path) = place().filter(|path| path.exists()) else {
            return Ok(Self::default());
        };
        let text = files::read_text(&path, MAX_BYTES).into_diagnostic()?;
        toml::from_str(&text)
            .into_diagnostic()
            .wrap_err_with(|| format!("{} can't be used: correct or delete it", path.display()))
    }

    /// Keeps it.
    ///
    /// # Errors
    /// When there is no place for it, or it can't be written.
    pub fn keep(&self) -> miette::Result<()> {
        let path =
            place().ok_or_else(|| miette!("no home folder is set: there is nowhere to keep it"))?;
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).into_diagnostic()?;
        }
        let text = toml::to_string(self).into_diagnostic()?;
        let text = format!("# How you want to be spoken to; changed by voice.\n{text}");
        files::write(&path, text.as_bytes(), IfThere::Replace).into_diagnostic()
    }

    /// How the voice speaks.
    pub fn voice(&self) -> voice::Settings {
        let usual = voice::Settings::default();
        voice::Settings {
            rate: self.rate.unwrap_or(usual.rate),
            volume: self.volume.unwrap_or(usual.volume),
            timbre: self.timbre.unwrap_or(usual.timbre),
        }
    }

    /// Takes in what was asked for, by whoever is spoken to so.
    pub fn changed(&mut self, manner: Manner, voice: voice::Settings) {
        match manner {
            Manner::Slower | Manner::Faster => self.rate = Some(voice.rate),
            Manner::Louder | Manner::Softer => self.volume = Some(voice.volume),
            Manner::AnotherVoice => self.timbre = Some(voice.timbre),
            Manner::Shorter => self.wording = Some(Wording::Short),
            Manner::Fuller => self.wording = Some(Wording::Long),
            Manner::Unit(unit) => self.unit = Some(unit),
            // Who talks beside the vehicle is another matter each day.
            Manner::ToEverything | Manner::ByName | Manner::OnPress => {}
        }
    }
}

/// How a voice speaks that was asked to speak otherwise.
pub fn asked(manner: Manner, now: voice::Settings) -> voice::Settings {
    let mut asked = now;
    let percent = now.volume.percent();
    match manner {
        Manner::Slower => asked.rate = now.rate.slower(),
        Manner::Faster => asked.rate = now.rate.faster(),
        Manner::Louder => asked.volume = Volume::new(percent.saturating_add(NOTCH)),
        Manner::Softer => asked.volume = Volume::new(percent.saturating_sub(NOTCH).max(SOFTEST)),
        Manner::AnotherVoice => asked.timbre = now.timbre.other(),
        Manner::Shorter
        | Manner::Fuller
        | Manner::Unit(_)
        | Manner::ToEverything
        | Manner::ByName
        | Manner::OnPress => {}
    }
    asked
}

fn place() -> Option<PathBuf> {
    crate::config::tools::usual_place().map(|tools| tools.with_file_name("speech.toml"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn softer_again_and_again_never_silences_it() {
        let mut settings = voice::Settings::default();
        for _ in 0..20 {
            settings = asked(Manner::Softer, settings);
        }
        assert_eq!(settings.volume, Volume::new(SOFTEST));
        assert!(asked(Manner::Louder, settings).volume > settings.volume);
    }

    #[test]
    fn another_voice_and_another_is_the_first() {
        let first = voice::Settings::default();
        let second = asked(Manner::AnotherVoice, first);
        assert_ne!(second, first);
        assert_eq!(asked(Manner::AnotherVoice, second), first);
    }

    #[test]
    fn what_was_asked_for_reads_as_it_was_written() {
        let mut speech = Speech::default();
        speech.changed(Manner::Slower, voice::Settings::default());
        speech.changed(Manner::Shorter, voice::Settings::default());
        speech.changed(
            Manner::Unit(TorqueUnit::PoundFoot),
            voice::Settings::default(),
        );
        let text = toml::to_string(&speech).unwrap();
        assert_eq!(toml::from_str::<Speech>(&text).unwrap(), speech, "{text}");
        assert_eq!(speech.volume, None);
    }
}
