//! Sound: files, the microphone, where speech begins and ends.
//!
//! Whatever the source, sound is 16 kHz mono from here on. [`file`] and [`folder`] read recordings,
//! [`microphone`] captures live, and [`endpoint`] cuts either into [`Utterance`]s.

pub mod echo;
pub mod endpoint;
pub mod file;
pub mod folder;
pub mod microphone;
mod noise;
mod resample;
pub(crate) mod voice_activity;

use std::ops::Range;

/// A stretch of sound that holds one thing said.
#[derive(Debug, Clone, PartialEq)]
pub struct Utterance {
    /// 16 kHz mono, −1 to 1.
    pub samples: Vec<f32>,
    /// Speech-to-noise ratio in decibel, where it could be measured.
    pub snr_db: Option<f32>,
    /// Share of the samples that were clipped, 0 to 1.
    pub clipped: f32,
    /// Seconds of it in which the assistant's own loudspeaker sounded; 0 where that isn't known.
    pub under_playback: f32,
    /// Whether it still sounded, or the room of it, as the last was said.
    pub ends_under_playback: bool,
    /// Whether that sound could not be taken out of all of it.
    pub uncancelled: bool,
    /// Where in the samples somebody speaks: pieces of speech with pauses of 0.2 s or more between them. Empty where
    /// nobody has looked.
    pub pieces: Vec<Range<usize>>,
    /// Samples of the source before the first one here.
    pub begins_at: u64,
}

impl Utterance {
    /// Takes samples as they are (16 kHz mono) for one utterance, without looking for speech in them.
    /// The speech-to-noise ratio stays unknown.
    pub fn whole(samples: Vec<f32>) -> Self {
        let clipped = clipped_share(&samples);
        Self {
            samples,
            snr_db: None,
            clipped,
            under_playback: 0.0,
            ends_under_playback: false,
            uncancelled: false,
            pieces: Vec::new(),
            begins_at: 0,
        }
    }

    /// These pieces of speech alone, with a little of the silence around them.
    fn of_pieces(&self, chosen: Range<usize>) -> Option<Self> {
        let pieces = self.pieces.get(chosen.clone())?;
        let (first, last) = (pieces.first()?, pieces.last()?);
        let before = chosen.start.checked_sub(1).map(|at| self.pieces[at].end);
        let after = self.pieces.get(chosen.end).map(|it| it.start);
        let from = first.start.saturating_sub(MARGIN).max(before.unwrap_or(0));
        let to = (last.end + MARGIN).min(after.unwrap_or(self.samples.len()));
        Some(Self {
            samples: self.samples[from..to].to_vec(),
            pieces: pieces
                .iter()
                .map(|it| it.start - from..it.end - from)
                .collect(),
            begins_at: self.begins_at + from as u64,
            ..self.clone()
        })
    }

    /// The last piece of speech alone, where there were others before it.
    pub fn last_piece(&self) -> Option<Self> {
        let count = self.pieces.len();
        (count > 1).then(|| self.of_pieces(count - 1..count))?
    }

    /// What is left of it when all pieces before, or after, one of its pauses are taken away. Only where those may hold a
    /// word of whoever said the rest, and the rest is the greater part.
    pub fn without_an_end(&self) -> Vec<Self> {
        let count = self.pieces.len();
        let pauses = self.pieces.windows(2).map(|it| it[0].end..it[1].start);
        let pauses_db = self.level_db(pauses);
        let samples =
            |pieces: &[Range<usize>]| pieces.iter().map(ExactSizeIterator::len).sum::<usize>();
        let cuts = (1..count).flat_map(|cut| [(0..cut, cut..count), (cut..count, 0..cut)]);
        let rest = |(end, rest): (Range<usize>, Range<usize>)| {
            let (end, kept) = (&self.pieces[end], &self.pieces[rest.clone()]);
            let rest_db = self.level_db(kept.iter().cloned());
            let is_a_word = |piece: &Range<usize>| {
                let db = self.level_db(std::iter::once(piece.clone()));
                piece.len() as f32 >= WORD_SECONDS * SAMPLE_RATE as f32
                    && db >= pauses_db + OVER_PAUSES_DB
                    && db >= rest_db - QUIETER_DB
            };
            let holds = samples(kept) > samples(end) && end.iter().any(is_a_word);
            holds.then(|| self.of_pieces(rest))?
        };
        cuts.filter_map(rest).collect()
    }

    /// The mean level of these ranges, in decibels of full scale.
    fn level_db(&self, ranges: impl Iterator<Item = Range<usize>>) -> f32 {
        let (mut power, mut samples) = (0.0, 0);
        for range in ranges {
            samples += range.len();
            power += self.samples[range].iter().map(|it| it * it).sum::<f32>();
        }
        10.0 * (power / samples.max(1) as f32).max(1e-12).log10()
    }

    /// Length in seconds.
    pub fn seconds(&self) -> f32 {
        self.samples.len() as f32 / SAMPLE_RATE as f32
    }
}

/// The shortest word that is said by itself: "if" takes 0.3 s or more.
const WORD_SECONDS: f32 = 0.2;

/// Noise that was taken for speech is about as loud as the pauses; a word in noise at a speech-to-noise ratio of 5 dB stands
/// out by 6 dB. Measured in takes of development: noise at most 3.7 dB.
const OVER_PAUSES_DB: f32 = 5.0;

/// What is quieter than the rest by more than this is taken for somebody else's, farther away. Chosen on the hearing bench's
/// report: at 12 dB, babble 10 dB below cost right readbacks.
const QUIETER_DB: f32 = 8.0;

/// Samples kept around a piece of speech that is taken out of its utterance: 0.3 s.
const MARGIN: usize = 4_800;

/// Samples a second of every [`Utterance`].
pub const SAMPLE_RATE: u32 = 16_000;

/// A sample this close to full scale counts as clipped. Resampling rounds the flat tops of clipped
/// sound off by about a percent, so that exactly 1 would miss most of them.
const CLIPPED: f32 = 0.99;

/// Share of the samples at full scale, 0 to 1; 0 for no samples.
fn clipped_share(samples: &[f32]) -> f32 {
    if samples.is_empty() {
        return 0.0;
    }
    samples
        .iter()
        .filter(|sample| sample.abs() >= CLIPPED)
        .count() as f32
        / samples.len() as f32
}

/// A sample that arithmetic can be done on: NaN becomes silence, everything else is held to −1 to 1.
pub(crate) fn tame(sample: f32) -> f32 {
    if sample.is_nan() {
        0.0
    } else {
        sample.clamp(-1.0, 1.0)
    }
}

/// Averages interleaved channels into one. A last frame that misses channels is dropped.
fn mix_to_mono(interleaved: &[f32], channels: usize) -> impl Iterator<Item = f32> {
    let channels = channels.max(1);
    interleaved
        .chunks_exact(channels)
        .map(move |frame| frame.iter().copied().map(tame).sum::<f32>() / channels as f32)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two pieces of these lengths and amplitudes, with half a second of this amplitude between them.
    fn with_pieces(first: (usize, f32), pause: f32, last: (usize, f32)) -> Utterance {
        let (end, begins) = (first.0, first.0 + 8_000);
        let samples = [
            vec![first.1; first.0],
            vec![pause; 8_000],
            vec![last.1; last.0],
        ];
        Utterance {
            pieces: vec![0..end, begins..begins + last.0],
            ..Utterance::whole(samples.concat())
        }
    }

    #[test]
    fn a_word_at_one_end_is_left_out_and_noise_or_a_click_is_not() {
        let rests = |first, pause, last| {
            let parts = with_pieces(first, pause, last).without_an_end();
            parts.into_iter().map(|it| it.begins_at).collect::<Vec<_>>()
        };
        let sentence = (32_000, 0.3);
        let word = (5_000, 0.2);
        assert_eq!(rests(word, 0.01, sentence), [8_200]);
        assert_eq!(rests(sentence, 0.01, word), [0]);
        // A piece as loud as the pauses is noise; one of 0.1 s is a click; one far quieter is somebody else's.
        assert!(rests((5_000, 0.1), 0.1, sentence).is_empty());
        assert!(rests((1_600, 0.2), 0.01, sentence).is_empty());
        assert!(rests((5_000, 0.1), 0.01, sentence).is_empty());
        // Where there is only one piece, nothing is left.
        assert!(
            Utterance::whole(vec![0.3; 16_000])
                .without_an_end()
                .is_empty()
        );
    }
}
