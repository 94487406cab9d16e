//! How much of the loudspeaker's sound is taken out, measured while it sounds.
//!
//! What the canceller suppresses proves nothing: it hollows out whatever comes while the loudspeaker sounds, also the sound of a
//! second ago. What it subtracts does: only where it has found the way from the loudspeaker is less left.

use super::FRAME;
use crate::sound::noise::{HighPass, NoiseFloor};

/// Frames that are measured together: half a second.
const BLOCK: usize = 50;

/// After subtraction no more than this share of the power may be left: 3 dB. In `tests/own_voice`, with 0.4 s of
/// reverberation, more than half of the blocks have 10 dB and one in a thousand less than 5; where the sound comes
/// too late it is none.
const SUBTRACTED: f32 = 0.5;

/// And after suppression no more than this: 15 dB.
const SUPPRESSED: f32 = 0.03;

/// Or so little above the quiet room: 6 dB, as where nothing comes back at all.
const ABOVE_FLOOR: f32 = 4.0;

/// From so many blocks on in which enough was taken out, less those in which it wasn't, the canceller is taken to know the
/// room, and down to so many still to know it: somebody who speaks over the loudspeaker looks like a room that
/// isn't known.
const KNOWN: usize = 8;
const STILL_KNOWN: usize = 4;

/// More aren't counted, so that a room that changes is noticed in 4 s.
const MOST_BLOCKS: usize = 12;

/// What is measured, above 120 Hz as the end-pointer listens: a hum that is there all the time is nobody's voice.
pub(super) struct Suppression {
    captured: Energy,
    subtracted: Energy,
    suppressed: Energy,
    frames: usize,
    floor: NoiseFloor,
    /// Blocks in which enough was taken out, less those in which it wasn't.
    good: usize,
    enough: bool,
}

impl Suppression {
    pub(super) fn new() -> Self {
        Self {
            captured: Energy::new(),
            subtracted: Energy::new(),
            suppressed: Energy::new(),
            frames: 0,
            floor: NoiseFloor::new(),
            good: 0,
            enough: false,
        }
    }

    /// Whether what is left of the loudspeaker's sound is too little to be taken for speech.
    pub(super) fn is_enough(&self) -> bool {
        self.enough
    }

    /// A frame in which the loudspeaker is silent, and the room too.
    pub(super) fn silent(&mut self, captured: &[f32; FRAME]) {
        self.floor.take(captured);
    }

    /// A frame in which it sounds, and what was left of it.
    pub(super) fn sounds(
        &mut self,
        captured: &[f32; FRAME],
        subtracted: &[f32; FRAME],
        suppressed: &[f32; FRAME],
    ) {
        self.captured.add(captured);
        self.subtracted.add(subtracted);
        self.suppressed.add(suppressed);
        self.frames += 1;
        if self.frames < BLOCK {
            return;
        }
        self.frames = 0;
        let captured = self.captured.take();
        let subtracted = self.subtracted.take();
        let suppressed = self.suppressed.take();
        let floor = self.floor.floor().unwrap_or(0.0) * (BLOCK * FRAME) as f32;
        let quiet = floor * ABOVE_FLOOR;
        let taken_out =
            subtracted <= captured * SUBTRACTED && suppressed <= (captured * SUPPRESSED).max(quiet);
        self.good = match taken_out || captured <= quiet {
            true => (self.good + 1).min(MOST_BLOCKS),
            false => self.good.saturating_sub(1),
        };
        self.enough = self.good >= if self.enough { STILL_KNOWN } else { KNOWN };
    }
}

/// The sum of squares of a block.
struct Energy {
    high_pass: HighPass,
    sum: f32,
}

impl Energy {
    fn new() -> Self {
        Self {
            high_pass: HighPass::new(),
            sum: 0.0,
        }
    }

    fn add(&mut self, samples: &[f32; FRAME]) {
        for sample in samples {
            self.sum += self.high_pass.filter(*sample).powi(2);
        }
    }

    fn take(&mut self) -> f32 {
        std::mem::take(&mut self.sum)
    }
}
