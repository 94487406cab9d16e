//! Checks how well somebody is heard in this bay: ten phrases, what each was taken for, and what to do about it.

use super::options::EarOptions;
use super::sound::recordings;
use ears::turn::Turn;
use ears::verdict::Raised;
use ears::{Evidence, Hypothesis, Stake};
use miette::{IntoDiagnostic, miette};
use sayback::config::bay;
use sayback::work::hearing::{Hearing, Meaning, Understood};
use sayback::work::live::{Listener, Recordings, Setup, Source, next_turn};
use std::path::Path;
use std::process::ExitCode;
use steps::{Certainty, Command, Decimal, Language, Listen, NumberWanted, Readback};

/// Below this speech-to-noise ratio, in decibel, words are lost more often (measured with the default ear
/// on synthetic voices in noise).
const NOISY_DB: f32 = 10.0;

/// Below this root mean square a voice lies near the converter's own noise: −45 dB of full scale (common
/// practice, no source).
const QUIET: f32 = 0.0056;

/// A readback as gates have them, with one of its denials.
const READBACK: &str = "both stands carry the weight and nothing moved when i pushed";
const DENIAL: &str = "both stands do not carry the weight";

/// What is asked to be said.
struct Asked {
    words: &'static str,
    listen: Listen,
    /// What it means; none for what must open nothing.
    means: Option<Command>,
}

fn asked() -> Vec<Asked> {
    let commands = [
        ("next", Command::Next),
        ("what torque", Command::WhatTorque),
        ("say again", Command::SayAgain),
        ("not yet", Command::NotYet),
        ("what size", Command::WhatSize),
        ("where am I", Command::WhereAmI),
        ("stop", Command::Stop),
    ];
    let all: Vec<Command> = commands
        .iter()
        .map(|(_, command)| command.clone())
        .collect();
    let at_a_gate = Listen {
        commands: all.clone(),
        readback: Some(Readback {
            gate: "bay".into(),
            words: READBACK.to_owned(),
            alternatives: Vec::new(),
            colour: None,
            decoys: vec![DENIAL.to_owned()],
        }),
        ..Listen::default()
    };
    let for_a_number = Listen {
        commands: vec![Command::Stop, Command::SayAgain],
        number: NumberWanted::whole(10, 250, "N·m"),
        ..Listen::default()
    };
    let mut asked: Vec<Asked> = commands
        .into_iter()
        .map(|(words, command)| Asked {
            words,
            listen: Listen {
                commands: all.clone(),
                ..Listen::default()
            },
            means: Some(command),
        })
        .collect();
    asked.push(Asked {
        words: "one hundred and forty",
        listen: for_a_number,
        means: Decimal::new(140, 0).map(|value| Command::Reading { value }),
    });
    asked.push(Asked {
        words: READBACK,
        listen: at_a_gate.clone(),
        means: Some(Command::Readback {
            gate: "bay".into(),
            colour: None,
        }),
    });
    asked.push(Asked {
        words: DENIAL,
        listen: at_a_gate,
        means: None,
    });
    asked
}

/// What the whole check came to.
#[derive(Default)]
struct Sum {
    right: usize,
    noisy: usize,
    quiet: usize,
    clipped: usize,
    raised: Raised,
    wrong: usize,
}

/// Asks for ten phrases one after the other and tells how well each was heard.
pub fn hear_check(
    sound: Option<&Path>,
    microphone: Option<&str>,
    ears: &EarOptions,
    keep: bool,
) -> miette::Result<ExitCode> {
    let mut hearing = ears.hearing(Language::English)?;
    let mut voice = voice::PrintOnly::new(std::io::sink(), voice::Settings::default());
    let mut source: Box<dyn Source> = match sound {
        Some(path) => Box::new(Recordings::new(recordings(path)?, None)),
        None => {
            let setup = Setup {
                device: microphone,
                early: None,
                ..Setup::default()
            };
            let listener = Listener::open(&setup, &voice).into_diagnostic()?;
            tell!("Listening to {}.", listener.name());
            Box::new(listener)
        }
    };
    let asked = asked();
    let count = asked.len();
    let mut sum = Sum::default();
    for one in asked {
        tell!("Say: {}", one.words);
        hearing.listen_for(&one.listen).into_diagnostic()?;
        let speech = next_turn(source.as_mut(), hearing.patience(), &mut voice)
            .map_err(|reason| miette!("the microphone is gone: {reason}"))?;
        let Some(speech) = speech else {
            tell!("  nothing more to hear");
            break;
        };
        sum.take(&mut hearing, &one, &speech.turn)?;
    }
    tell!("{} of {count} well heard.", sum.right);
    tell!("{}", sum.advice(count));
    if sum.wrong > 0 && keep {
        let file = bay::raise(&sum.raised)?;
        tell!(
            "From now on this bay asks for more before it takes such words: {}",
            file.display()
        );
    } else if sum.wrong > 0 {
        tell!("`hear-check --keep` makes this bay ask for more before it takes such words.");
    }
    Ok(if sum.right == count {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

impl Sum {
    fn take(&mut self, hearing: &mut Hearing, one: &Asked, turn: &Turn) -> miette::Result<()> {
        let utterance = &turn.utterance;
        let understood = hearing.hear(turn).into_diagnostic()?;
        let sure = understood.heard.certainty == Certainty::Sure;
        let taken = match &understood.meaning {
            Meaning::Told(command) => Some(command),
            Meaning::Called | Meaning::NotUnderstood | Meaning::Ignored => None,
        };
        let as_meant = taken == one.means.as_ref() || (one.means.is_none() && !sure);
        let wrong = !as_meant && sure;
        let best = first(&understood);
        if wrong {
            self.wrong += 1;
            self.raise_above(best.as_ref());
        }
        self.right += usize::from(as_meant && (sure || one.means.is_none()));
        self.noisy += usize::from(utterance.snr_db.is_some_and(|snr| snr < NOISY_DB));
        self.clipped += usize::from(utterance.clipped > 0.001);
        let level = level(&utterance.samples);
        self.quiet += usize::from(level < QUIET);
        tell!(
            "  {}: “{}”",
            match (as_meant, sure, &one.means) {
                (true, _, None) => "rightly not taken",
                (true, true, Some(_)) => "well heard",
                (true, false, Some(_)) => "heard, with doubt",
                (false, true, _) => "taken for something else",
                (false, false, _) => "not heard",
            },
            understood.heard.words,
        );
        let decibel = |value: Option<f32>| {
            value.map_or_else(|| "unknown".to_owned(), |it| format!("{it:.0} dB"))
        };
        tell!(
            "  level {:.0} dB, speech to noise {}{}",
            20.0 * level.max(1e-6).log10(),
            decibel(utterance.snr_db),
            best.map(|best| margins(&best.evidence)).unwrap_or_default(),
        );
        Ok(())
    }

    /// Half of the way from what was wrongly taken to certainty.
    fn raise_above(&mut self, wrong: Option<&Hypothesis>) {
        let Some(probability) = wrong.and_then(|it| it.evidence.probability) else {
            return;
        };
        let bar = 1.0 - (1.0 - probability) / 2.0;
        let place = match wrong.map(|it| it.stake) {
            Some(Stake::Number) => &mut self.raised.number,
            Some(Stake::Gate) => &mut self.raised.gate,
            Some(Stake::Ask | Stake::Stop | Stake::Move) | None => &mut self.raised.command,
        };
        *place = Some(place.map_or(bar, |before| before.max(bar)));
    }

    /// One plain sentence: what to do.
    fn advice(&self, count: usize) -> &'static str {
        if self.clipped > 0 {
            "The sound is too loud: move the microphone away or turn its level down."
        } else if self.noisy > 0 {
            "There is much noise beside the voice: move the microphone closer to your mouth."
        } else if self.quiet > 0 {
            "Your voice is faint: move the microphone closer, or turn its level up."
        } else if self.right < count {
            "Speak at your usual level, close to the microphone, and try again."
        } else {
            "You are well heard here."
        }
    }
}

/// What the first ear made of it.
fn first(understood: &Understood) -> Option<Hypothesis> {
    let kept = understood.heard.evidence.as_deref()?;
    let all: Vec<Option<Hypothesis>> = serde_json::from_str(kept).ok()?;
    all.into_iter().next().flatten()
}

fn margins(evidence: &Evidence) -> String {
    let part = |name: &str, value: Option<f32>| {
        value
            .map(|value| format!("; {name} {value:.1}"))
            .unwrap_or_default()
    };
    let probability = evidence
        .probability
        .map(|it| format!("; probability {:.1} %", 100.0 * it))
        .unwrap_or_default();
    format!(
        "{}{}{probability}",
        part("ahead of other phrases by", evidence.margin_runner_up),
        part("of denials by", evidence.margin_decoy),
    )
}

/// Root mean square.
fn level(samples: &[f32]) -> f32 {
    let power = samples.iter().map(|sample| sample * sample).sum::<f32>();
    (power / samples.len().max(1) as f32).sqrt()
}
