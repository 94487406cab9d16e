//! Sounds of a shop, made here: nothing is recorded, every sample follows from a seed.
//!
//! They are no portraits. Each has what makes its kind hard to hear through: blows that mask a syllable, tones
//! that lie on a formant, hiss on the consonants, speech that isn't meant for us.

use std::f32::consts::TAU;

/// Samples a second.
pub const RATE: usize = 16_000;

/// A background.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Noise {
    /// No more than the converter's rounding.
    Clean,
    /// All frequencies alike.
    White,
    /// 3 dB less an octave.
    Pink,
    /// 6 dB less an octave: a fan far away.
    Brown,
    /// Six people at once.
    Babble,
    /// One voice from a small loudspeaker.
    Radio,
    /// Bursts of an impact wrench.
    ImpactWrench,
    /// A piston compressor beside the wall.
    Compressor,
    /// An angle grinder, pressed on and let go.
    Grinder,
    /// A hammer on steel.
    Hammer,
    /// A hose that blows off.
    AirHose,
    /// Plucked chords with a drum.
    Music,
    /// A four-cylinder engine, its speed wandering.
    Engine,
    /// A spray gun: hiss that rises and falls.
    Spray,
    /// Rain on a tin roof.
    Rain,
    /// Three people at the next bench.
    NextBench,
}

impl Noise {
    /// Those that weights and bars are chosen on.
    pub const DEVELOPMENT: [Self; 7] = [
        Self::Brown,
        Self::Compressor,
        Self::Hammer,
        Self::Music,
        Self::Spray,
        Self::Rain,
        Self::NextBench,
    ];
    /// Those of the shop that only report; white, pink and babble besides.
    pub const SHOP: [Self; 5] = [
        Self::ImpactWrench,
        Self::Grinder,
        Self::AirHose,
        Self::Radio,
        Self::Engine,
    ];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::White => "white",
            Self::Pink => "pink",
            Self::Brown => "brown",
            Self::Babble => "babble",
            Self::Radio => "radio",
            Self::ImpactWrench => "impact-wrench",
            Self::Compressor => "compressor",
            Self::Grinder => "grinder",
            Self::Hammer => "hammer",
            Self::AirHose => "air-hose",
            Self::Music => "music",
            Self::Engine => "engine",
            Self::Spray => "spray",
            Self::Rain => "rain",
            Self::NextBench => "next-bench",
        }
    }

    /// So many samples of it, of any level. `talk` is what voices say in the background.
    pub fn samples(self, length: usize, seed: u64, talk: &[Vec<f32>]) -> Vec<f32> {
        let mut chance = Chance::new(seed);
        match self {
            Self::Clean => vec![0.0; length],
            Self::White => (0..length).map(|_| chance.symmetric()).collect(),
            Self::Pink => pink(length, &mut chance),
            Self::Brown => leaky(length, 0.995, &mut chance),
            Self::Babble => voices(length, 6, talk, &mut chance),
            Self::Radio => small_loudspeaker(&voices(length, 1, talk, &mut chance)),
            Self::ImpactWrench => impact_wrench(length, &mut chance),
            Self::Compressor => compressor(length, &mut chance),
            Self::Grinder => grinder(length, &mut chance),
            Self::Hammer => hammer(length, &mut chance),
            Self::AirHose => air_hose(length, &mut chance),
            Self::Music => music(length, &mut chance),
            Self::Engine => engine(length, &mut chance),
            Self::Spray => spray(length, &mut chance),
            Self::Rain => rain(length, &mut chance),
            Self::NextBench => voices(length, 3, talk, &mut chance),
        }
    }
}

/// Numbers that look random and are always the same (G. Marsaglia, "Xorshift RNGs", 2003, with the shifts
/// 13, 7, 17).
pub struct Chance(u64);

impl Chance {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        let mut chance = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        for _ in 0..8 {
            chance.bits();
        }
        chance
    }

    /// 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// 0 to 1.
    pub fn share(&mut self) -> f32 {
        (self.bits() >> 40) as f32 / (1u64 << 24) as f32
    }

    /// −1 to 1.
    pub fn symmetric(&mut self) -> f32 {
        2.0 * self.share() - 1.0
    }

    /// From `low` to `high`.
    pub fn between(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.share()
    }

    /// One of so many.
    pub fn below(&mut self, count: usize) -> usize {
        (self.bits() % count.max(1) as u64) as usize
    }
}

/// White noise through three leaky sums (P. Kellet's economy filter).
fn pink(length: usize, chance: &mut Chance) -> Vec<f32> {
    let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
    (0..length)
        .map(|_| {
            let white = chance.symmetric();
            a = 0.997_65 * a + white * 0.099_046;
            b = 0.963 * b + white * 0.296_516_4;
            c = 0.57 * c + white * 1.052_691_3;
            a + b + c + white * 0.1848
        })
        .collect()
}

/// White noise through a sum that forgets.
fn leaky(length: usize, keep: f32, chance: &mut Chance) -> Vec<f32> {
    let mut sum = 0.0;
    (0..length)
        .map(|_| {
            sum = keep * sum + chance.symmetric();
            sum
        })
        .collect()
}

/// What is left of noise when its lower part is taken away.
fn hiss(length: usize, keep: f32, chance: &mut Chance) -> Vec<f32> {
    let mut low = 0.0;
    (0..length)
        .map(|_| {
            let white = chance.symmetric();
            low = keep * low + (1.0 - keep) * white;
            white - low
        })
        .collect()
}

/// So many people, each somewhere in what they say, at slightly different levels.
fn voices(length: usize, count: usize, talk: &[Vec<f32>], chance: &mut Chance) -> Vec<f32> {
    let mut sum = vec![0.0; length];
    if talk.is_empty() {
        return pink(length, chance);
    }
    for _ in 0..count {
        let gain = chance.between(0.6, 1.0);
        let mut at = 0;
        let mut skip = None;
        while at < length {
            let said = &talk[chance.below(talk.len())];
            let from = skip
                .take()
                .unwrap_or_else(|| chance.below(said.len() / 2 + 1));
            for sample in &said[from.min(said.len())..] {
                let Some(place) = sum.get_mut(at) else { break };
                *place += gain * sample;
                at += 1;
            }
            skip = Some(0);
            at += 1;
        }
    }
    sum
}

/// 300 Hz to 3 kHz, and a little overdriven.
fn small_loudspeaker(sound: &[f32]) -> Vec<f32> {
    let (mut low, mut rumble) = (0.0, 0.0);
    sound
        .iter()
        .map(|sample| {
            low += 0.68 * (sample - low);
            rumble += 0.11 * (low - rumble);
            (3.0 * (low - rumble)).tanh()
        })
        .collect()
}

/// Rings of steel: decaying tones from a blow at `at`.
fn blow(sound: &mut [f32], at: usize, strength: f32, modes: &[(f32, f32)]) {
    let length = (0.35 * RATE as f32) as usize;
    for (n, place) in sound.iter_mut().skip(at).take(length).enumerate() {
        let t = n as f32 / RATE as f32;
        for (hertz, decay) in modes {
            *place += strength * (TAU * hertz * t).sin() * (-t / decay).exp();
        }
    }
}

fn impact_wrench(length: usize, chance: &mut Chance) -> Vec<f32> {
    let air = hiss(length, 0.5, chance);
    let mut sound = vec![0.0; length];
    let modes = [
        (chance.between(1300.0, 1900.0), 0.010),
        (chance.between(2600.0, 3600.0), 0.007),
        (chance.between(4300.0, 5600.0), 0.005),
    ];
    let mut at = (chance.share() * 0.3 * RATE as f32) as usize;
    while at < length {
        let end = at + (chance.between(0.4, 1.6) * RATE as f32) as usize;
        let blows = chance.between(18.0, 28.0);
        let mut next = at;
        while next < end.min(length) {
            blow(&mut sound, next, chance.between(0.7, 1.0), &modes);
            next += (RATE as f32 / blows * chance.between(0.92, 1.08)) as usize;
        }
        for n in at..end.min(length) {
            sound[n] += 0.25 * air[n];
        }
        at = end + (chance.between(0.2, 0.7) * RATE as f32) as usize;
    }
    sound
}

fn compressor(length: usize, chance: &mut Chance) -> Vec<f32> {
    let rumble = leaky(length, 0.97, chance);
    let strokes = chance.between(14.0, 22.0);
    let hum = 49.0 * chance.between(0.98, 1.02);
    (0..length)
        .map(|n| {
            let t = n as f32 / RATE as f32;
            let stroke = (TAU * strokes * t).sin().max(0.0).powi(3);
            let tones = (1..6).map(|k| (TAU * hum * k as f32 * t).sin() / k as f32);
            rumble[n] * (0.25 + stroke) + 2.0 * tones.sum::<f32>()
        })
        .collect()
}

fn grinder(length: usize, chance: &mut Chance) -> Vec<f32> {
    let sparks = hiss(length, 0.7, chance);
    let (mut phase, mut load, mut wanted) = (0.0, 0.0f32, 1.0);
    let idle = chance.between(165.0, 190.0);
    (0..length)
        .map(|n| {
            if n % RATE == RATE / 2 {
                wanted = if chance.share() < 0.6 { 1.0 } else { 0.0 };
            }
            load += (wanted - load) * 2e-4;
            phase = (phase + (idle - 25.0 * load) / RATE as f32).fract();
            let whine = (1..14).map(|k| (TAU * phase * k as f32).sin() / (k as f32).sqrt());
            0.3 * whine.sum::<f32>() + sparks[n] * (0.3 + 1.6 * load)
        })
        .collect()
}

fn hammer(length: usize, chance: &mut Chance) -> Vec<f32> {
    let mut sound: Vec<f32> = leaky(length, 0.9, chance)
        .iter()
        .map(|x| 0.01 * x)
        .collect();
    let modes = [
        (chance.between(700.0, 1200.0), 0.05),
        (chance.between(1900.0, 2600.0), 0.04),
        (chance.between(3500.0, 4800.0), 0.03),
    ];
    let mut at = (chance.share() * 0.3 * RATE as f32) as usize;
    while at < length {
        blow(&mut sound, at, chance.between(0.5, 1.0), &modes);
        at += (chance.between(0.3, 0.8) * RATE as f32) as usize;
    }
    sound
}

fn air_hose(length: usize, chance: &mut Chance) -> Vec<f32> {
    let mut sound = hiss(length, 0.85, chance);
    let (mut open, mut wanted, mut left) = (0.0, 1.0, 0);
    for sample in &mut sound {
        if left == 0 {
            wanted = if wanted > 0.5 { 0.05 } else { 1.0 };
            left = (chance.between(0.3, 1.2) * RATE as f32) as usize;
        }
        left -= 1;
        open += (wanted - open) * 1e-3;
        *sample *= open;
    }
    sound
}

/// Strings by K. Karplus and A. Strong, "Digital Synthesis of Plucked-String and Drum Timbres" (1983).
fn music(length: usize, chance: &mut Chance) -> Vec<f32> {
    let mut sound = vec![0.0; length];
    let beat = (chance.between(0.3, 0.45) * RATE as f32) as usize;
    let chords: [[f32; 3]; 4] = [
        [130.8, 164.8, 196.0],
        [174.6, 220.0, 261.6],
        [196.0, 246.9, 293.7],
        [110.0, 130.8, 164.8],
    ];
    for (number, at) in (0..length).step_by(beat).enumerate() {
        for hertz in chords[number / 4 % 4] {
            let mut string: Vec<f32> = (0..(RATE as f32 / hertz) as usize)
                .map(|_| chance.symmetric())
                .collect();
            let period = string.len();
            for (n, place) in sound.iter_mut().skip(at).take(2 * beat).enumerate() {
                let sample = string[n % period];
                string[n % period] = 0.498 * (sample + string[(n + 1) % period]);
                *place += 0.5 * sample;
            }
        }
        blow(&mut sound, at, 0.8, &[(62.0, 0.08)]);
    }
    sound
}

fn engine(length: usize, chance: &mut Chance) -> Vec<f32> {
    let rumble = leaky(length, 0.98, chance);
    let (mut phase, mut speed, mut wanted) = (0.0, 13.0, 13.0);
    (0..length)
        .map(|n| {
            if n % RATE == 0 {
                wanted = chance.between(12.0, 24.0);
            }
            speed += (wanted - speed) * 1e-4;
            phase = (phase + speed / RATE as f32).fract();
            // Two firings a turn, none quite like the other.
            let fire = |k: f32| (TAU * phase * k).sin();
            let tones =
                fire(2.0) + 0.6 * fire(4.0) + 0.4 * fire(6.0) + 0.3 * fire(1.0) + 0.2 * fire(11.0);
            tones + 0.12 * rumble[n] * (1.0 + fire(2.0))
        })
        .collect()
}

fn spray(length: usize, chance: &mut Chance) -> Vec<f32> {
    let mut sound = hiss(length, 0.3, chance);
    let (strokes, depth) = (chance.between(0.6, 1.4), chance.between(0.2, 0.6));
    for (n, sample) in sound.iter_mut().enumerate() {
        let stroke = (TAU * strokes * n as f32 / RATE as f32).sin();
        *sample *= 1.0 + depth * stroke;
    }
    sound
}

/// Drops by the hundred, each a short ring of the sheet, over their own patter.
fn rain(length: usize, chance: &mut Chance) -> Vec<f32> {
    let mut sound: Vec<f32> = leaky(length, 0.6, chance).iter().map(|x| 0.1 * x).collect();
    let drops = length / RATE * 400 + 1;
    for _ in 0..drops {
        let at = chance.below(length);
        let (hertz, decay) = (chance.between(500.0, 5000.0), chance.between(0.001, 0.006));
        let strength = chance.share().powi(3);
        for (n, place) in sound.iter_mut().skip(at).take(RATE / 40).enumerate() {
            let t = n as f32 / RATE as f32;
            *place += strength * (TAU * hertz * t).sin() * (-t / decay).exp();
        }
    }
    sound
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Noise; 15] = [
        Noise::White,
        Noise::Pink,
        Noise::Brown,
        Noise::Babble,
        Noise::Radio,
        Noise::ImpactWrench,
        Noise::Compressor,
        Noise::Grinder,
        Noise::Hammer,
        Noise::AirHose,
        Noise::Music,
        Noise::Engine,
        Noise::Spray,
        Noise::Rain,
        Noise::NextBench,
    ];

    #[test]
    fn every_noise_sounds_the_same_each_time_and_holds_numbers_alone() {
        let talk = vec![(0..RATE).map(|n| (n as f32 * 0.1).sin()).collect()];
        for noise in ALL {
            let once = noise.samples(2 * RATE, 7, &talk);
            assert_eq!(once, noise.samples(2 * RATE, 7, &talk), "{}", noise.name());
            assert_ne!(once, noise.samples(2 * RATE, 8, &talk), "{}", noise.name());
            let power = once.iter().map(|x| x * x).sum::<f32>() / once.len() as f32;
            assert!(
                power.is_finite() && power > 1e-5,
                "{} {power}",
                noise.name()
            );
        }
    }

    #[test]
    fn no_noise_both_develops_and_reports() {
        assert!(
            Noise::DEVELOPMENT
                .iter()
                .all(|noise| !Noise::SHOP.contains(noise))
        );
    }
}
