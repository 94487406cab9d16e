//! How well a readback can be told from its denials, when several voices speak them and the real ear hears and judges
//! them.

use crate::work::hearing::phrases_of;
use ears::sound::endpoint::Patience;
use ears::sound::file;
use ears::turn::turns;
use ears::verdict::{Bars, Verdict};
use ears::{Hypothesis, PhraseSet, Recogniser};
use std::path::Path;
use steps::{Colour, Command, Language, Listen, Procedure, Readback};
use voice::fixtures::{Engine, FixtureVoice, Speaker};
use words::now::StateGrammar;

/// Denials of each readback that are spoken: the author's own, then the most dangerous by rule.
const DENIALS: usize = 24;

/// Why it couldn't be found out.
#[derive(Debug, thiserror::Error)]
pub enum SeparationError {
    /// The procedure's phrases can't be listened for.
    #[error(transparent)]
    Grammar(#[from] words::now::CannotListen),
    /// The ear failed.
    #[error(transparent)]
    Ear(#[from] ears::RecogniserError),
    /// A voice can't speak.
    #[error(transparent)]
    Voice(#[from] voice::VoiceError),
    /// A clip can't be read.
    #[error(transparent)]
    Clip(#[from] ears::sound::file::FileError),
}

/// What was found out about one readback.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Separation {
    /// The gate's name.
    pub gate: String,
    /// Its words.
    pub readback: String,
    /// Voices that spoke it.
    pub voices: usize,
    /// Of these, from how many it was taken at once.
    pub taken: usize,
    /// The same with each colour behind it, where one is asked for; `taken` is that of the first.
    pub colours: Vec<(Colour, usize)>,
    /// The least margin over a decoy (natural logarithm), with that decoy.
    pub nearest: Option<(f32, String)>,
    /// How many denials were spoken.
    pub denials: usize,
    /// Those that would have opened the gate.
    pub opening: Vec<String>,
}

/// In plain words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Apart {
    /// It is heard, and nothing else is taken for it.
    Well,
    /// It is often asked for again.
    Hardly,
    /// A denial opens the gate.
    No,
}

impl Separation {
    /// The verdict: three quarters of voices must be taken at once, half of them with each colour, and no denial.
    pub fn verdict(&self) -> Apart {
        if !self.opening.is_empty() {
            Apart::No
        } else if 4 * self.taken < 3 * self.voices || self.ill_heard().next().is_some() {
            Apart::Hardly
        } else {
            Apart::Well
        }
    }

    /// Colours behind the readback with which less than half of the voices are taken.
    pub fn ill_heard(&self) -> impl Iterator<Item = (Colour, usize)> {
        let colours = self.colours.iter().copied();
        colours.filter(|(_, taken)| 2 * taken < self.voices)
    }
}

/// Finds out about each readback of a procedure's gates, telling each as it is known.
///
/// # Errors
/// When a voice's program isn't installed, or the ear fails.
pub fn separations(
    procedure: &Procedure,
    ear: &mut dyn Recogniser,
    bars: &Bars,
    cache: &Path,
    mut tell: impl FnMut(&Separation),
) -> Result<Vec<Separation>, SeparationError> {
    let speaker = Speaker::with_voices(cache, voices());
    let mut all = Vec::new();
    let ways = procedure.gates.iter().flat_map(|(id, gate)| {
        let ways = gate.readbacks().map(str::to_owned);
        ways.map(move |words| (id, gate, words))
    });
    for (id, gate, words) in ways {
        let alternatives = gate.readbacks().filter(|it| *it != words);
        let alternatives: Vec<String> = alternatives.map(str::to_owned).collect();
        let with = |colour: Option<Colour>| Readback {
            gate: id.clone(),
            words: words.clone(),
            alternatives: alternatives.clone(),
            colour,
            decoys: gate.decoys.clone(),
        };
        let readback = with(gate.is_hold_point().then_some(Colour::ALL[0]));
        let in_full = readback.in_full(Language::English);
        let set = listen_for(ear, readback)?;
        let denials: Vec<String> = set
            .phrases
            .iter()
            .filter(|phrase| phrase.decoy)
            .map(|phrase| phrase.words.clone())
            .take(DENIALS)
            .collect();
        let ids: Vec<String> = speaker
            .voices()
            .iter()
            .map(|voice| voice.id.clone())
            .collect();
        let mut found = Separation {
            gate: id.to_string(),
            readback: in_full.clone(),
            voices: ids.len(),
            taken: 0,
            colours: Vec::new(),
            nearest: None,
            denials: denials.len(),
            opening: Vec::new(),
        };
        for voice in &ids {
            for heard in hear(ear, &speaker, voice, &in_full)? {
                found.take(&heard, &in_full, bars);
            }
        }
        // Every denial by one voice, in turn.
        for (denial, voice) in denials.iter().zip(ids.iter().cycle()) {
            let heard = hear(ear, &speaker, voice, denial)?;
            if heard.iter().any(|heard| opens(heard, bars)) {
                found.opening.push(denial.clone());
            }
        }
        let others = if gate.is_hold_point() {
            &Colour::ALL[1..]
        } else {
            &[]
        };
        found.colours.extend(
            gate.is_hold_point()
                .then_some((Colour::ALL[0], found.taken)),
        );
        for colour in others {
            let readback = with(Some(*colour));
            let in_full = readback.in_full(Language::English);
            listen_for(ear, readback)?;
            let mut taken = 0;
            for voice in &ids {
                let heard = hear(ear, &speaker, voice, &in_full)?;
                taken += usize::from(heard.iter().any(|heard| opens(heard, bars)));
            }
            found.colours.push((*colour, taken));
        }
        tell(&found);
        all.push(found);
    }
    Ok(all)
}

/// What is listened for at a gate.
fn listen_for(ear: &mut dyn Recogniser, readback: Readback) -> Result<PhraseSet, SeparationError> {
    let listen = Listen {
        commands: Command::ALL_PLAIN.to_vec(),
        readback: Some(readback),
        ..Listen::default()
    };
    let set = phrases_of(&StateGrammar::compile(&listen)?);
    ear.listen_for(&set)?;
    Ok(set)
}

impl Separation {
    fn take(&mut self, heard: &Hypothesis, readback: &str, bars: &Bars) {
        self.taken += usize::from(opens(heard, bars));
        let own = heard.words == readback && !heard.decoy;
        let margin = if own {
            heard.evidence.margin_decoy
        } else {
            Some(0.0)
        };
        let other = if own {
            heard.evidence.nearest_decoy.clone()
        } else {
            Some(heard.words.clone())
        };
        if let (Some(margin), Some(other)) = (margin, other)
            && self
                .nearest
                .as_ref()
                .is_none_or(|(least, _)| margin < *least)
        {
            self.nearest = Some((margin, other));
        }
    }
}

fn opens(heard: &Hypothesis, bars: &Bars) -> bool {
    heard.stake == ears::Stake::Gate && bars.judge(heard) == Verdict::Accept
}

fn hear(
    ear: &mut dyn Recogniser,
    speaker: &Speaker,
    voice: &str,
    words: &str,
) -> Result<Vec<Hypothesis>, SeparationError> {
    let clip = file::read(&speaker.wav(voice, words)?)?;
    let mut heard = Vec::new();
    for turn in turns(&clip.samples, Patience::READBACK) {
        heard.extend(ear.hear(&turn.utterance)?);
    }
    Ok(heard)
}

/// Eight ways of speaking of two engines, men and women, quick and slow.
fn voices() -> Vec<FixtureVoice> {
    let formant = |id: &str, speaker: &str, voice: &str, rate: u16, pitch: u8| FixtureVoice {
        id: id.to_owned(),
        speaker: speaker.to_owned(),
        engine: Engine::EspeakNg {
            voice: voice.to_owned(),
            rate,
            pitch,
        },
    };
    let recorded = |id: &str, speaker: &str, voice: &str, stretch: f64| FixtureVoice {
        id: id.to_owned(),
        speaker: speaker.to_owned(),
        engine: Engine::Flite {
            voice: voice.to_owned(),
            stretch,
            pitch_hz: None,
        },
    };
    vec![
        formant("author-man", "man", "en-us", 150, 45),
        formant("author-man-slow", "man", "en-us+m3", 120, 50),
        formant("author-woman", "woman", "en-us+f2", 155, 50),
        formant("author-scots", "man", "en-gb-scotland", 145, 50),
        recorded("author-recorded-woman", "woman", "slt", 1.0),
        recorded("author-recorded-man", "man", "rms", 1.0),
        recorded("author-recorded-man-quick", "man", "rms", 0.88),
        recorded("author-recorded-scots", "man", "awb", 1.0),
    ]
}
