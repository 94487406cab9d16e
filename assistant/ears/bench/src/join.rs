//! Clips said one after the other.

use super::shop::RATE;
use std::ops::Range;

/// Clips one after the other, with so many seconds of silence from the last sound of one to the first sound of the next.
pub fn with_pauses(clips: &[Vec<f32>], seconds: f32) -> Vec<f32> {
    let silence = vec![0.0; (seconds * RATE as f32) as usize];
    let mut all = Vec::new();
    for (number, clip) in clips.iter().enumerate() {
        let sounds = sounding(clip);
        let begin = if number == 0 { 0 } else { sounds.start };
        let end = match number + 1 == clips.len() {
            true => clip.len(),
            false => sounds.end,
        };
        if number > 0 {
            all.extend_from_slice(&silence);
        }
        all.extend_from_slice(&clip[begin..end]);
    }
    all
}

/// From the first to the last piece of 10 ms that lies at most 40 dB below the loudest: a synthesiser's own breath
/// before and after what it says is silence to a listener.
fn sounding(clip: &[f32]) -> Range<usize> {
    let piece = RATE / 100;
    let powers: Vec<f32> = clip
        .chunks(piece)
        .map(|piece| piece.iter().map(|x| x * x).sum::<f32>() / piece.len() as f32)
        .collect();
    let loudest = powers.iter().copied().fold(0.0, f32::max);
    let sounds = |power: &f32| *power > loudest / 10_000.0;
    let first = powers.iter().position(sounds).unwrap_or(0);
    let last = powers.iter().rposition(sounds).unwrap_or(0);
    first * piece..((last + 1) * piece).min(clip.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pause_lasts_from_sound_to_sound() {
        let clip: Vec<f32> = (0..RATE)
            .map(|n| {
                if (4_000..12_000).contains(&n) {
                    0.5
                } else {
                    1e-4
                }
            })
            .collect();
        let joined = with_pauses(&[clip.clone(), clip], 0.5);
        let silent = joined.iter().skip(4_000).skip_while(|x| **x > 0.1);
        let pause = silent.take_while(|x| **x < 0.1).count();
        assert!(pause.abs_diff(RATE / 2) <= RATE / 50, "{pause}");
    }
}
