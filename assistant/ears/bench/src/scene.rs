//! One take as sound: somebody speaks after a moment of background, and it goes on after the last word.

use super::material::{Place, Take};
use super::place;
use super::shop::{Noise, RATE};

/// Background before what is said, in seconds.
const BEFORE: f32 = 4.0;

/// The same where it is of voices: work has gone on beside them for longer than the end-pointer takes to know them.
const BEFORE_VOICES: f32 = 17.0;

/// Background after what is said, in seconds: as long as talk may still spoil a readback.
const AFTER: f32 = 3.5;

fn before(noise: Noise) -> f32 {
    match noise {
        Noise::Babble | Noise::Radio | Noise::NextBench => BEFORE_VOICES,
        _ => BEFORE,
    }
}

/// Sounds of people to make babble and radio talk of, of one side.
pub type Background = [Vec<f32>];

/// The take's sound; `speech` is empty where nobody speaks, and then it lasts so many seconds.
pub fn sound(
    take: &Take,
    speech: &[f32],
    seconds: f32,
    seed: u64,
    background: &Background,
) -> Vec<f32> {
    let spoken = speech;
    let speech = &place::heard_from(take.place, spoken);
    // Whoever turns away is quieter, and the noise is what it was.
    let compared = match take.place {
        Place::Far => speech,
        Place::Close | Place::Masked | Place::TurnedAway | Place::Fading | Place::MachineStarts => {
            spoken
        }
    };
    let before = (before(take.noise) * RATE as f32) as usize;
    let length = if speech.is_empty() {
        (seconds * RATE as f32) as usize
    } else {
        before + speech.len() + (AFTER * RATE as f32) as usize
    };
    let (noise, wanted) = match take.noise {
        Noise::Clean => (Noise::White, 1e-6),
        noise if speech.is_empty() => (noise, 0.01),
        noise => (
            noise,
            active_power(compared) / 10f32.powf(take.snr_db / 10.0),
        ),
    };
    let mut mixed = noise.samples(length, seed, background);
    let present = mixed.iter().map(|x| x * x).sum::<f32>() / length.max(1) as f32;
    let gain = (wanted / present.max(1e-12)).sqrt();
    mixed.iter_mut().for_each(|sample| *sample *= gain);
    if take.place == Place::MachineStarts {
        let starts = before + speech.len() / 2;
        let quiet = mixed.iter_mut().take(starts);
        quiet.for_each(|sample| *sample *= 1e-3);
    }
    for (place, sample) in mixed.iter_mut().skip(before).zip(speech) {
        *place += sample;
    }
    // A microphone is set so that nothing clips.
    let peak = mixed
        .iter()
        .fold(0.0f32, |peak, sample| peak.max(sample.abs()));
    if peak > 0.95 {
        mixed.iter_mut().for_each(|sample| *sample *= 0.95 / peak);
    }
    mixed
}

/// Mean square of what is speech: pieces of 20 ms that lie at most 20 dB below the loudest.
pub fn active_power(speech: &[f32]) -> f32 {
    let powers: Vec<f32> = speech
        .chunks(RATE / 50)
        .map(|piece| piece.iter().map(|x| x * x).sum::<f32>() / piece.len() as f32)
        .collect();
    let loudest = powers.iter().copied().fold(0.0, f32::max);
    let active: Vec<f32> = powers
        .into_iter()
        .filter(|power| *power >= loudest / 100.0)
        .collect();
    active.iter().sum::<f32>() / active.len().max(1) as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::listening::Context;
    use crate::material::Set;

    #[test]
    fn the_noise_has_the_level_that_was_asked_for() {
        let speech: Vec<f32> = (0..RATE).map(|n| 0.1 * (n as f32 * 0.3).sin()).collect();
        let take = Take {
            set: Set::Commands,
            development: false,
            speaker: String::new(),
            words: String::new(),
            pause_s: 0.0,
            recordings: Vec::new(),
            context: Context::Commands,
            meant: true,
            noise: Noise::White,
            snr_db: 10.0,
            place: Place::Close,
            said_before: 0,
        };
        let sound = sound(&take, &speech, 0.0, 1, &[]);
        let lead = &sound[..(BEFORE * RATE as f32) as usize];
        let power = lead.iter().map(|x| x * x).sum::<f32>() / lead.len() as f32;
        assert!((power / 0.0005 - 1.0).abs() < 0.1, "{power}");
    }
}
