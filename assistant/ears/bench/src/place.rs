//! What a sentence is like at the microphone when the speaker isn't right in front of it.

use super::material::Place;
use super::shop::{Chance, RATE};
use realfft::RealFftPlanner;
use std::sync::LazyLock;

/// The sentence as it is heard from there.
pub fn heard_from(place: Place, speech: &[f32]) -> Vec<f32> {
    match place {
        Place::Close | Place::MachineStarts => speech.to_vec(),
        Place::Far => reverberant(speech),
        Place::Masked => duller(speech, MASK_HZ, MASK_DB),
        Place::TurnedAway => {
            let quieter = 10f32.powf(TURNED_AWAY_DB / 20.0);
            let mut sound = duller(speech, BEHIND_HZ, BEHIND_DB);
            sound.iter_mut().for_each(|sample| *sample *= quieter);
            sound
        }
        Place::Fading => {
            let length = speech.len().max(1) as f32;
            let fade = |(at, sample): (usize, &f32)| {
                sample * 10f32.powf(FADES_DB * at as f32 / length / 20.0)
            };
            speech.iter().enumerate().map(fade).collect()
        }
    }
}

/// A dust mask takes some 6 dB above 2 kHz and next to nothing below: R. M. Corey, U. Jones and A. C. Singer, "Acoustic effects
/// of medical, cloth, and transparent face masks on speech signals" (2020); rounded, from memory.
const MASK_HZ: f32 = 2_000.0;
const MASK_DB: f32 = -6.0;

/// Behind a talker's head speech is some 4 dB quieter at low frequencies and 12 dB more above 1 kHz: W. T. Chu and
/// A. C. C. Warnock, "Detailed directivity of sound fields around human talkers" (2002); rounded, from memory.
const TURNED_AWAY_DB: f32 = -4.0;
const BEHIND_HZ: f32 = 1_000.0;
const BEHIND_DB: f32 = -12.0;

/// From the first to the last sample of a sentence during which the head turns away; a chosen value.
const FADES_DB: f32 = -10.0;

/// The sound with everything above a frequency lowered: the high shelf of R. Bristow-Johnson's "Audio EQ Cookbook", slope 1.
fn duller(sound: &[f32], hertz: f32, decibel: f32) -> Vec<f32> {
    let amplitude = 10f32.powf(decibel / 40.0);
    let (sine, cosine) = (std::f32::consts::TAU * hertz / RATE as f32).sin_cos();
    let width = amplitude.sqrt() * sine * std::f32::consts::SQRT_2;
    let (more, less) = (amplitude + 1.0, amplitude - 1.0);
    let from_sound = [
        amplitude * (more + less * cosine + width),
        -2.0 * amplitude * (less + more * cosine),
        amplitude * (more + less * cosine - width),
    ];
    let from_itself = [
        more - less * cosine + width,
        2.0 * (less - more * cosine),
        more - less * cosine - width,
    ];
    let (mut before, mut made) = ([0.0; 2], [0.0; 2]);
    sound
        .iter()
        .map(|&sample| {
            let inputs = [sample, before[0], before[1]];
            let sum: f32 = from_sound.iter().zip(inputs).map(|(a, b)| a * b).sum();
            let one = (sum - from_itself[1] * made[0] - from_itself[2] * made[1]) / from_itself[0];
            (before, made) = ([sample, before[0]], [one, made[0]]);
            one
        })
        .collect()
}

/// A bay with hard walls, which sounds on for a second: its size, where speaker and microphone are, in metres, and the share of
/// the pressure that a wall gives back.
const BAY: [f64; 3] = [7.0, 5.0, 3.2];
const SPEAKER: [f64; 3] = [2.0, 2.2, 1.0];
const MICROPHONE: [f64; 3] = [4.6, 3.1, 1.5];
const REFLECTION: f64 = 0.925;

/// What lies below a hundredth of the sampling rate is taken out, as the method's authors do: images that only ever add to one
/// another make a rumble that no room has.
const RUMBLE_HZ: f32 = RATE as f32 / 100.0;

/// How far an image is moved at most, in metres.
const MOVED: f64 = 0.02;

/// How long the response is followed, in seconds.
const RESPONSE: f64 = 0.8;

/// Metres a second.
const SPEED_OF_SOUND: f64 = 343.0;

/// The bay's response to a click, by image sources: J. B. Allen and D. A. Berkley, "Image method for efficiently simulating
/// small-room acoustics", JASA 65 (1979). Each image is moved by up to 2 cm (a chosen value) against the sweeping echoes of a
/// perfect box: E. De Sena, N. Antonello, M. Moonen and T. van Waterschoot, "On the modeling of rectangular geometries in room
/// acoustic simulations" (2015), from memory. It begins with the direct sound.
fn response() -> Vec<f32> {
    let mut chance = Chance::new(1979);
    let mut found = vec![0f32; (RESPONSE * RATE as f64) as usize];
    let direct = distance(SPEAKER, MICROPHONE);
    let reach = SPEED_OF_SOUND * RESPONSE + direct;
    let most = BAY.map(|length| (reach / (2.0 * length)).ceil() as i64);
    for x in -most[0]..=most[0] {
        for y in -most[1]..=most[1] {
            for z in -most[2]..=most[2] {
                for mirrored in 0..8 {
                    let cell = [x, y, z];
                    let mut image = [0.0; 3];
                    let mut walls = 0;
                    for axis in 0..3 {
                        let is_mirrored = i64::from(mirrored >> axis & 1);
                        let side = 1.0 - 2.0 * is_mirrored as f64;
                        image[axis] = side * SPEAKER[axis] + 2.0 * cell[axis] as f64 * BAY[axis];
                        walls += (2 * cell[axis] - is_mirrored).abs();
                    }
                    let mut away = distance(image, MICROPHONE);
                    if walls > 0 {
                        away += f64::from(chance.symmetric()) * MOVED;
                    }
                    let at = ((away - direct) / SPEED_OF_SOUND * RATE as f64).round();
                    if at >= 0.0
                        && let Some(place) = found.get_mut(at as usize)
                    {
                        *place += (REFLECTION.powi(walls as i32) * direct / away) as f32;
                    }
                }
            }
        }
    }
    let keep = (-std::f32::consts::TAU * RUMBLE_HZ / RATE as f32).exp();
    let mut rumble = 0.0;
    for sample in &mut found {
        rumble = keep * rumble + (1.0 - keep) * *sample;
        *sample -= rumble;
    }
    found
}

fn distance(one: [f64; 3], other: [f64; 3]) -> f64 {
    let squares = one.iter().zip(other).map(|(a, b)| (a - b).powi(2));
    squares.sum::<f64>().sqrt()
}

/// The sentence in the bay, its echo after it included.
fn reverberant(speech: &[f32]) -> Vec<f32> {
    static BAY: LazyLock<Vec<f32>> = LazyLock::new(response);
    if speech.is_empty() {
        return Vec::new();
    }
    let length = speech.len() + BAY.len() - 1;
    let size = length.next_power_of_two();
    let mut planner = RealFftPlanner::<f32>::new();
    let (there, back) = (
        planner.plan_fft_forward(size),
        planner.plan_fft_inverse(size),
    );
    // The transforms fail only on lengths other than their plans', and all of these are theirs.
    let fits = "a transform of the length that was planned";
    let spectrum = |samples: &[f32]| {
        let mut padded = samples.to_vec();
        padded.resize(size, 0.0);
        let mut spectrum = there.make_output_vec();
        there.process(&mut padded, &mut spectrum).expect(fits);
        spectrum
    };
    let mut product = spectrum(speech);
    for (one, other) in product.iter_mut().zip(spectrum(&BAY)) {
        *one *= other;
    }
    // A real signal's first and last value have no imaginary part; rounding may leave some, which the way back refuses.
    for end in [0, product.len() - 1] {
        product[end].im = 0.0;
    }
    let mut sound = back.make_output_vec();
    back.process(&mut product, &mut sound).expect(fits);
    sound.truncate(length);
    // The bay adds power; a microphone's gain is set to what comes.
    let peak = |sound: &[f32]| sound.iter().fold(1e-9f32, |most, it| most.max(it.abs()));
    let gain = peak(speech) / peak(&sound);
    sound.iter_mut().for_each(|sample| *sample *= gain);
    sound
}

#[cfg(test)]
mod tests {
    use super::*;

    /// pyroomacoustics 0.10.1 (`ShoeBox`, image sources to order 80) in the same bay: a reverberation time of 0.94 s (ISO 3382-2's
    /// T20, from the energy that is left, integrated from behind: M. R. Schroeder, "New Method of Measuring Reverberation Time",
    /// 1965), and 1.05 dB more energy in the first 50 ms than after (ISO 3382-1's C50). A tenth more or less time, or a decibel,
    /// is about what a listener just notices (ISO 3382-1, annex A, from memory: 5 % and 1 dB).
    #[test]
    fn the_bay_sounds_on_as_an_independent_implementation_has_it() {
        let mut left: Vec<f32> = response().iter().map(|it| it * it).collect();
        for at in (0..left.len() - 1).rev() {
            left[at] += left[at + 1];
        }
        let falls_by = |decibel: f32| {
            let level = left[0] * 10f32.powf(-decibel / 10.0);
            left.iter().position(|it| *it < level).unwrap() as f64 / RATE as f64
        };
        let reverberation = 3.0 * (falls_by(25.0) - falls_by(5.0));
        assert!((reverberation - 0.94).abs() < 0.1, "{reverberation} s");
        let late = left[RATE / 20];
        let clarity = 10.0 * ((left[0] - late) / late).log10();
        assert!((clarity - 1.05).abs() < 1.0, "{clarity} dB");
    }

    #[test]
    fn a_mask_leaves_what_is_low_and_takes_what_is_high() {
        let tone = |hertz: f32| -> Vec<f32> {
            let step = std::f32::consts::TAU * hertz / RATE as f32;
            (0..RATE).map(|n| (step * n as f32).sin()).collect()
        };
        let power = |sound: &[f32]| sound.iter().map(|it| it * it).sum::<f32>();
        let change = |hertz: f32| {
            let tone = tone(hertz);
            10.0 * (power(&heard_from(Place::Masked, &tone)) / power(&tone)).log10()
        };
        assert!(change(200.0) > -0.5, "{}", change(200.0));
        assert!(
            (-6.5..-4.0).contains(&change(6_000.0)),
            "{}",
            change(6_000.0)
        );
    }
}
