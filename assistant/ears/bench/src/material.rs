//! What is said, by whom, in what noise, and what it means: the whole list of takes, the same each time.
//!
//! Development and report share no speaker, no readback, no noise; commands and talk differ too.

use super::gates::{Gate, SPLIT, near_misses, paused};
use super::listening::Context;
use super::shop::{Chance, Noise};
use super::talk;
use serde::{Deserialize, Serialize};

/// What a take is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Set {
    /// A command, said to be taken.
    Commands,
    /// A number, said to be taken.
    Numbers,
    /// "No" to a number that was said back.
    Denials,
    /// A gate's own readback.
    Readbacks,
    /// What sounds like a gate's readback and isn't.
    NearMisses,
    /// A gate's own readback with a pause in its middle.
    PausedReadbacks,
    /// A gate's readback with other talk before or after it, or both, and a pause between.
    SplitMisses,
    /// Talk while a gate is open to be answered, and commands are listened for.
    Talk,
    /// Noise alone in the same state.
    NoiseAlone,
    /// One of ten words, by people.
    PeopleWords,
    /// Other words by people, none of the ten; and real background noise.
    PeopleOther,
    /// One digit, by people.
    PeopleDigits,
    /// Three digits of one person, joined.
    PeopleThreeDigits,
    /// Three of the ten words by one person, joined.
    PeopleThreeWords,
}

/// Where the speaker is, or what else makes a sentence harder to hear than noise alone.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// At the microphone.
    #[default]
    Close,
    /// Across a hard-walled bay.
    Far,
    /// Behind a dust mask.
    Masked,
    /// With the head turned away.
    TurnedAway,
    /// Turning away in mid-sentence.
    Fading,
    /// A machine starts in mid-sentence.
    MachineStarts,
}

impl Place {
    /// All but the usual one.
    pub const HARD: [Self; 5] = [
        Self::Far,
        Self::Masked,
        Self::TurnedAway,
        Self::Fading,
        Self::MachineStarts,
    ];

    fn is_usual(&self) -> bool {
        *self == Self::Close
    }
}

/// One thing to hear.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Take {
    /// What it is for.
    pub set: Set,
    /// Whether bars and weights may be chosen on it.
    pub development: bool,
    /// Who speaks: a voice's name, or a person's.
    pub speaker: String,
    /// What is said, with [`PAUSE`] where there is a pause. Empty: nothing.
    pub words: String,
    /// How long each pause is, in seconds.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub pause_s: f32,
    /// Recordings to be joined, instead of a voice that speaks.
    #[serde(default)]
    pub recordings: Vec<std::path::PathBuf>,
    /// What is listened for meanwhile.
    pub context: Context,
    /// Whether what is said is to be taken for what it says.
    pub meant: bool,
    /// The background.
    pub noise: Noise,
    /// Active speech to noise in decibel.
    pub snr_db: f32,
    /// Where the speaker is.
    #[serde(default, skip_serializing_if = "Place::is_usual")]
    pub place: Place,
    /// How many times the same was said before, each time over another stretch of the noise.
    #[serde(default, skip_serializing_if = "is_first")]
    pub said_before: u8,
}

/// How many times a readback is said in noise.
pub const TRIES: u8 = 3;

/// Stands in a take's words where there is a pause.
pub const PAUSE: &str = " … ";

fn is_zero(seconds: &f32) -> bool {
    *seconds == 0.0
}

fn is_first(said_before: &u8) -> bool {
    *said_before == 0
}

impl Take {
    /// What is said between pauses.
    pub fn parts(&self) -> impl Iterator<Item = &str> {
        self.words.split(PAUSE)
    }
}

/// What takes are drawn for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Weights and bars are chosen on it.
    Development,
    /// It only reports.
    Report,
    /// It only reports, by voices of its own.
    Second,
}

/// How many takes of each kind, at most, on one side.
#[derive(Debug, Clone, Copy)]
pub struct Amounts {
    /// Readbacks in each noise at 10 dB; half as many at other levels. Where it is quiet: each by every voice.
    pub readbacks: usize,
    /// Near-misses.
    pub near_misses: usize,
    /// Near-misses with a pause between the readback and what else is said.
    pub split_misses: usize,
    /// Readbacks with a pause in the middle, in each noise at 10 dB.
    pub paused_readbacks: usize,
    /// Readbacks, commands, and twice as many near-misses in each [`Place`] and condition.
    pub in_places: usize,
    /// Commands where it is quiet; a third as many in each noise at each level.
    pub commands: usize,
    /// Numbers where it is quiet; a third as many in each noise at 10 dB.
    pub numbers: usize,
    /// Denials of what was said back.
    pub denials: usize,
    /// Sentences of talk.
    pub talk: usize,
}

impl Amounts {
    /// For development.
    pub const DEVELOPMENT: Self = Self {
        readbacks: 40,
        near_misses: 3000,
        split_misses: 2400,
        paused_readbacks: 24,
        in_places: 24,
        commands: 150,
        numbers: 60,
        denials: 150,
        talk: 500,
    };
    /// To report.
    pub const REPORT: Self = Self {
        readbacks: 120,
        near_misses: 5200,
        split_misses: 4800,
        paused_readbacks: 48,
        in_places: 48,
        commands: 300,
        numbers: 600,
        denials: 1500,
        talk: 8000,
    };
    /// A tenth of either, for a first look.
    pub fn tenth(self) -> Self {
        Self {
            readbacks: self.readbacks / 10,
            near_misses: self.near_misses / 10,
            split_misses: self.split_misses / 10,
            paused_readbacks: self.paused_readbacks / 10,
            in_places: self.in_places / 10,
            commands: self.commands / 10,
            numbers: self.numbers / 10,
            denials: self.denials / 10,
            talk: self.talk / 10,
        }
    }
}

/// Every third readback is for development.
pub fn is_development(gate: usize) -> bool {
    gate % 3 == 1
}

/// The conditions of one side: clean first, then all noises at 10, at 20, at 5 and at 0 dB.
pub fn conditions(development: bool) -> Vec<(Noise, f32)> {
    let mut all = vec![(Noise::Clean, 60.0)];
    for snr in [10.0, 20.0, 5.0, 0.0] {
        if development {
            all.extend(Noise::DEVELOPMENT.map(|noise| (noise, snr)));
        } else {
            all.extend([Noise::White, Noise::Pink, Noise::Babble].map(|noise| (noise, snr)));
            // Shop noise: its kinds in turn.
            all.push((Noise::ImpactWrench, snr));
        }
    }
    all
}

/// All takes of synthetic voices of one side. Those of one kind don't hang on how many there are of others.
pub fn takes(
    gates: &[Gate],
    commands: &[String],
    denials: &[String],
    voices: &[String],
    side: Side,
    amounts: Amounts,
) -> Vec<Take> {
    let drawn = match side {
        Side::Report => 0,
        Side::Development => 1,
        Side::Second => 1000,
    };
    let side = |seed: u64| Drawing {
        development: side == Side::Development,
        voices,
        gates,
        chance: Chance::new(2 * seed + drawn),
        amounts,
    };
    let mut takes = side(1).readbacks();
    takes.extend(side(2).near_misses());
    takes.extend(side(3).commands(commands));
    takes.extend(side(4).numbers());
    takes.extend(side(5).talk());
    takes.extend(side(6).denials(denials));
    takes.extend(side(7).split_misses());
    takes.extend(side(8).paused_readbacks());
    takes.extend(side(9).in_places(commands));
    takes
}

/// The commands of one side: every third is for development.
fn own(commands: &[String], development: bool) -> Vec<&String> {
    let all = commands.iter().enumerate();
    let own = all.filter(|(at, _)| (at % 3 == 1) == development);
    own.map(|(_, words)| words).collect()
}

struct Drawing<'a> {
    development: bool,
    voices: &'a [String],
    gates: &'a [Gate],
    chance: Chance,
    amounts: Amounts,
}

impl Drawing<'_> {
    fn own_gates(&self) -> Vec<usize> {
        let own = |gate: &usize| is_development(*gate) == self.development;
        (0..self.gates.len()).filter(own).collect()
    }

    fn voice(&mut self) -> String {
        let at = self.chance.below(self.voices.len());
        self.voices.get(at).cloned().unwrap_or_default()
    }

    /// Where shop noise is asked for, one of its kinds.
    fn kind(&mut self, noise: Noise) -> Noise {
        if noise == Noise::ImpactWrench {
            Noise::SHOP[self.chance.below(Noise::SHOP.len())]
        } else {
            noise
        }
    }

    /// Any noise of this side, at 20 or 10 dB, or none.
    fn usual_noise(&mut self) -> (Noise, f32) {
        let conditions = conditions(self.development);
        if self.chance.share() < 0.5 {
            return conditions[0];
        }
        // Those at 10 and at 20 dB.
        let loud = (conditions.len() - 1) / 2;
        let (noise, snr) = conditions[1 + self.chance.below(loud)];
        (self.kind(noise), snr)
    }

    fn take(
        &mut self,
        set: Set,
        words: &str,
        context: Context,
        (noise, snr_db): (Noise, f32),
    ) -> Take {
        Take {
            set,
            development: self.development,
            speaker: self.voice(),
            words: words.to_owned(),
            pause_s: 0.0,
            recordings: Vec::new(),
            context,
            meant: matches!(
                set,
                Set::Commands | Set::Numbers | Set::Denials | Set::Readbacks | Set::PausedReadbacks
            ),
            noise: self.kind(noise),
            snr_db,
            place: Place::Close,
            said_before: 0,
        }
    }

    fn readbacks(&mut self) -> Vec<Take> {
        let mut takes = Vec::new();
        let gates = self.own_gates();
        let voices = self.voices.to_vec();
        for condition in conditions(self.development) {
            // Every readback by every voice where it is quiet; enough of them elsewhere.
            let most = match condition {
                (Noise::Clean, _) => gates.len() * voices.len(),
                (_, 10.0) => self.amounts.readbacks,
                _ => self.amounts.readbacks / 2,
            };
            let mut pairs: Vec<(usize, &String)> = gates
                .iter()
                .flat_map(|gate| voices.iter().map(move |voice| (*gate, voice)))
                .collect();
            for at in (1..pairs.len()).rev() {
                pairs.swap(at, self.chance.below(at + 1));
            }
            for (gate, voice) in pairs.into_iter().take(most) {
                let words = self.gates[gate].in_full();
                let mut take = self.take(Set::Readbacks, &words, Context::Gate(gate), condition);
                take.speaker = voice.clone();
                // Without noise it would be the same sound each time.
                let tries = match condition {
                    (Noise::Clean, _) => 1,
                    _ => TRIES,
                };
                takes.extend((0..tries).map(|said_before| Take {
                    said_before,
                    ..take.clone()
                }));
            }
        }
        takes
    }

    /// Readbacks, commands and near-misses where the speaker isn't at the microphone, in quiet and in a mild noise.
    fn in_places(&mut self, commands: &[String]) -> Vec<Take> {
        let gates = self.own_gates();
        let quiet = (Noise::Clean, 60.0);
        let (hum, machine) = match self.development {
            true => (Noise::Brown, Noise::Compressor),
            false => (Noise::Pink, Noise::Engine),
        };
        let mut takes = Vec::new();
        for place in Place::HARD {
            let conditions = match place {
                Place::MachineStarts => [(machine, 10.0), (machine, 5.0)],
                _ => [quiet, (hum, 10.0)],
            };
            for condition in conditions {
                let own = own(commands, self.development);
                for number in 0..4 * self.amounts.in_places {
                    let gate = gates[self.chance.below(gates.len())];
                    let at_gate = Context::Gate(gate);
                    let take = match number % 4 {
                        0 => {
                            let words = self.gates[gate].in_full();
                            self.take(Set::Readbacks, &words, at_gate, condition)
                        }
                        1 => {
                            let words = own[self.chance.below(own.len())];
                            self.take(Set::Commands, words, Context::Commands, condition)
                        }
                        _ => {
                            let all = near_misses(&self.gates[gate], self.gates);
                            let words = &all[self.chance.below(all.len())];
                            self.take(Set::NearMisses, words, at_gate, condition)
                        }
                    };
                    takes.push(Take { place, ..take });
                }
            }
        }
        takes
    }

    fn near_misses(&mut self) -> Vec<Take> {
        let gates = self.own_gates();
        let all: Vec<(usize, String)> = gates
            .iter()
            .flat_map(|gate| {
                let words = near_misses(&self.gates[*gate], self.gates);
                words.into_iter().map(|words| (*gate, words))
            })
            .collect();
        (0..self.amounts.near_misses)
            .map(|_| {
                let (gate, words) = all[self.chance.below(all.len())].clone();
                let noise = self.usual_noise();
                self.take(Set::NearMisses, &words, Context::Gate(gate), noise)
            })
            .collect()
    }

    /// The pauses are those of people who think while they speak; the noises are all of this side, down to 5 dB.
    fn split_misses(&mut self) -> Vec<Take> {
        let gates = self.own_gates();
        let heard: Vec<_> = conditions(self.development)
            .into_iter()
            .filter(|(_, snr)| *snr >= 5.0)
            .collect();
        (0..self.amounts.split_misses)
            .map(|_| {
                let gate = gates[self.chance.below(gates.len())];
                let around = SPLIT[self.chance.below(SPLIT.len())];
                let words = around.replace("{}", &self.gates[gate].in_full());
                // A quarter where it is quiet.
                let noise = match self.chance.below(4) {
                    0 => heard[0],
                    _ => heard[self.chance.below(heard.len())],
                };
                let mut take = self.take(Set::SplitMisses, &words, Context::Gate(gate), noise);
                take.pause_s = self.chance.between(0.2, 1.5);
                take
            })
            .collect()
    }

    fn paused_readbacks(&mut self) -> Vec<Take> {
        let gates = self.own_gates();
        let mut takes = Vec::new();
        let conditions = conditions(self.development).into_iter();
        for condition in conditions.filter(|(noise, snr)| *noise == Noise::Clean || *snr == 10.0) {
            for _ in 0..self.amounts.paused_readbacks {
                let gate = gates[self.chance.below(gates.len())];
                let words = paused(&self.gates[gate].in_full());
                let mut take =
                    self.take(Set::PausedReadbacks, &words, Context::Gate(gate), condition);
                take.pause_s = self.chance.between(0.2, 0.6);
                takes.push(take);
            }
        }
        takes
    }

    fn commands(&mut self, commands: &[String]) -> Vec<Take> {
        let own = own(commands, self.development);
        let mut takes = Vec::new();
        for condition in conditions(self.development) {
            let share = if condition.0 == Noise::Clean { 1 } else { 3 };
            let most = self.amounts.commands / share;
            for _ in 0..most {
                let words = own[self.chance.below(own.len())].clone();
                takes.push(self.take(Set::Commands, &words, Context::Commands, condition));
            }
        }
        takes
    }

    /// Whole torques from 10 to 250, in one of the ways that they are said.
    fn numbers(&mut self) -> Vec<Take> {
        let mut takes = Vec::new();
        let conditions = conditions(self.development).into_iter();
        for condition in conditions.filter(|(noise, snr)| *noise == Noise::Clean || *snr == 10.0) {
            let share = if condition.0 == Noise::Clean { 1 } else { 3 };
            for _ in 0..self.amounts.numbers / share {
                let value = 10 + self.chance.below(241) as i64;
                let ways = super::listening::ways_to_say(value);
                let words = ways[self.chance.below(ways.len())].clone();
                takes.push(self.take(Set::Numbers, &words, Context::Torque, condition));
            }
        }
        takes
    }

    fn denials(&mut self, denials: &[String]) -> Vec<Take> {
        (0..self.amounts.denials)
            .map(|_| {
                let words = &denials[self.chance.below(denials.len())];
                let noise = self.usual_noise();
                self.take(Set::Denials, words, Context::SaidBack, noise)
            })
            .collect()
    }

    fn talk(&mut self) -> Vec<Take> {
        let gates = self.own_gates();
        let first = if self.development { 1_000_000 } else { 0 };
        (0..self.amounts.talk as u64)
            .map(|number| {
                let gate = gates[self.chance.below(gates.len())];
                // Mostly while a gate holds; also at a step, and while a number is waited for.
                let context = match number % 6 {
                    4 => Context::Commands,
                    5 => Context::Torque,
                    _ => Context::Gate(gate),
                };
                let words = talk::sentence(first + number);
                let noise = self.usual_noise();
                self.take(Set::Talk, &words, context, noise)
            })
            .collect()
    }
}
