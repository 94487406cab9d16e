//! Where speech begins and ends.
//!
//! A frame of 16 ms is speech when the voice-activity network ([`super::voice_activity`]) takes it for a voice *and* it
//! stands out of the background. The network alone takes voices far away for whoever works here; the power alone takes
//! every dropped spanner for speech.
//!
//! Voices that go on without a pause (several people at the next bench) are background, too: somebody close by must be
//! louder than they are. Otherwise nobody could finish a sentence beside them.
//!
//! A stretch that outgrows [`Settings::maximum`] never becomes an [`Event::Utterance`], nor does any
//! part of it: a phrase cut out of a longer sentence may say the opposite of the sentence.
//!
//! An utterance is a turn: everything said until nobody has spoken for [`Settings::hang_over`]. It may
//! hold several pieces of speech with pauses between them ([`Utterance::pieces`]).

use super::echo::Playback;
use super::noise::{BackgroundVoices, NoiseFloor, decibel};
use super::voice_activity::{CHUNK, VoiceActivity};
use super::{SAMPLE_RATE, Utterance, clipped_share, tame};
use std::collections::VecDeque;
use std::iter::once;
use std::ops::Range;
use std::time::Duration;

/// Samples of a frame: 16 ms.
const FRAME: usize = 256;

/// Decibel above the voices in the background from which somebody begins to speak, and speaks on. Chosen on the hearing
/// bench's development noises at 5, 10 and 20 dB, after ten seconds of each.
const BEGINS_ABOVE_DB: f32 = 6.0;
const GOES_ON_ABOVE_DB: f32 = 4.0;

/// Frames that a room sounds on after the loudspeaker: 0.4 s, the reverberation time of a small furnished room; a chosen value.
const REVERBERATION: usize = 25;

/// The scores from which speech begins and goes on over the assistant's own voice. Taking that out tears holes into
/// whoever speaks with it; but where it is taken out, little else is a voice. With the usual 0.5 and 0.35 the bay of
/// `tests/own_voice` misses 23 of 76 commands said over speech as loud as they are, with these 9, and the assistant
/// hears itself no more often.
const OVER_PLAYBACK: (f32, f32) = (0.15, 0.10);

/// A pause at least this long parts two pieces of speech. Shorter ones belong to the words themselves: E. Campione
/// and J. Véronis, "A Large-Scale Multilingual Study of Silent Pause Duration" (Speech Prosody 2002), find pauses in
/// three groups: brief below 200 ms, medium up to 1 s, long above.
const PIECE_PAUSE: Duration = Duration::from_millis(200);

/// What a stretch of speech is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// The network's score, 0 to 1, from which speech begins; its authors' 0.5.
    pub begin: f32,
    /// The score from which begun speech goes on; its authors' 0.15 below [`Settings::begin`].
    pub go_on: f32,
    /// How long `begin` must be held before speech has begun.
    pub onset: Duration,
    /// Decibel above the background from which a frame may be speech.
    pub above_floor_db: f32,
    /// Power in decibel of full scale (above 120 Hz) from which a frame may be speech.
    pub least_dbfs: f32,
    /// Sound kept from before speech began: soft consonants begin earlier than voice is found.
    pub pre_roll: Duration,
    /// Silence that ends an utterance. Recognisers need 0.3 s of it after the last word.
    pub hang_over: Duration,
    /// Silence after which the utterance may be over: [`Event::Pause`] tells what was said until then, so that it can
    /// be listened to while it is still waited whether more is said. `None`: isn't told.
    pub early: Option<Duration>,
    /// Silence that ends a plain command where readbacks and numbers are waited for longer: a second
    /// [`Event::Pause`] comes after it. Has no effect unless it lies between `early` and `hang_over`.
    pub command: Duration,
    /// Least speech of an utterance, pauses not counted.
    pub minimum: Duration,
    /// Most sound of an utterance, pre-roll and hang-over counted.
    pub maximum: Duration,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            begin: 0.5,
            go_on: 0.35,
            onset: Duration::from_millis(48),
            above_floor_db: 2.0,
            least_dbfs: -65.0,
            pre_roll: Duration::from_millis(300),
            hang_over: Duration::from_millis(400),
            early: None,
            command: Duration::from_millis(400),
            minimum: Duration::from_millis(80),
            maximum: Duration::from_secs(12),
        }
    }
}

/// What the end-pointer noticed.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// Somebody began to speak. One of the other events follows.
    SpeechBegan,
    /// Somebody has paused: this was said so far, and may be all ([`Settings::early`], [`Settings::command`]).
    /// One of the other events follows.
    Pause {
        /// What was said so far.
        said: Utterance,
        /// How long nobody has spoken since.
        silence: Duration,
    },
    /// It wasn't all: somebody speaks on.
    Resumed,
    /// Something was said, from pause to pause.
    Utterance(Utterance),
    /// A piece of a stretch that outgrew the maximum, or a stretch in which sound was lost. It may be searched for a "stop", but must never
    /// count as a readback: what it is a part of is unknown. Everything up to the next pause comes
    /// as such pieces.
    CutShort(Utterance),
    /// What began as speech was none.
    Discarded(Discard),
}

/// Why a stretch was no utterance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Discard {
    /// Less speech than [`Settings::minimum`]: a click, a knock.
    TooShort,
    /// It didn't stand out of the background: steady noise.
    Noise,
}

/// Cuts a stream of 16 kHz mono sound into utterances.
///
/// ```
/// use ears::sound::endpoint::EndPointer;
/// let mut end_pointer = EndPointer::default();
/// assert!(end_pointer.push(&[0.0; 16_000]).is_empty(), "nobody speaks in a second of silence");
/// ```
pub struct EndPointer {
    settings: Settings,
    detector: VoiceActivity,
    /// What the detector looks at next, and what it said of the last.
    chunk: [f32; CHUNK],
    voice: f32,
    noise: NoiseFloor,
    background: BackgroundVoices,
    /// Samples that don't fill a frame yet: those that tell whether somebody speaks, and those that are kept.
    partial: Vec<f32>,
    partial_kept: Vec<f32>,
    /// The last samples before speech.
    recent: VecDeque<f32>,
    /// Sound was lost, and there was no pause since.
    gap: bool,
    /// Frames since the loudspeaker's sound was last in what is pushed; as many as there may be where it never was.
    since_playback: usize,
    /// Whether that sound can't be taken out yet.
    learning: bool,
    /// Samples pushed since the source began, whole frames only.
    pushed: u64,
    state: State,
}

enum State {
    /// Nobody speaks; the last `run` frames were speech, too few to have begun, and the last `pause`
    /// frames weren't.
    Quiet {
        run: usize,
        pause: usize,
    },
    Speech(Stretch),
}

#[derive(Clone, Default)]
struct Stretch {
    samples: Vec<f32>,
    speech_frames: usize,
    speech_power: f32,
    /// Frames since the last one that was speech.
    pause: usize,
    /// Frames up to now that sound like speech, one after another.
    run: usize,
    /// Whether it has gone on for longer than anybody speaks to the assistant: then its voices are background.
    outgrown: bool,
    /// Whether pieces of it were given away already.
    cut: bool,
    /// Frames in which the loudspeaker sounded.
    under_playback: usize,
    /// Whether the last frame that was speech is one of them.
    ends_under_playback: bool,
    /// Whether that couldn't be taken out in all of them.
    uncancelled: bool,
    /// How many times its pause was told.
    pauses_told: u8,
    /// The pieces of speech in `samples`, apart by [`PIECE_PAUSE`] or more.
    pieces: Vec<Range<usize>>,
    /// When its first sample was pushed, in samples since the source began.
    begins_at: u64,
}

impl Default for EndPointer {
    fn default() -> Self {
        Self::new(Settings::default())
    }
}

impl EndPointer {
    /// With these settings.
    pub fn new(settings: Settings) -> Self {
        Self {
            settings,
            detector: VoiceActivity::new(),
            chunk: [0.0; CHUNK],
            voice: 0.0,
            noise: NoiseFloor::new(),
            background: BackgroundVoices::default(),
            partial: Vec::with_capacity(FRAME),
            partial_kept: Vec::with_capacity(FRAME),
            recent: VecDeque::new(),
            gap: false,
            since_playback: usize::MAX,
            learning: false,
            pushed: 0,
            state: State::Quiet { run: 0, pause: 0 },
        }
    }

    /// Whether somebody is speaking now.
    pub fn hears_speech(&self) -> bool {
        matches!(self.state, State::Speech(_))
    }

    /// How loud it is when nobody speaks, in decibel of full scale, once enough was heard to tell.
    pub fn noise_dbfs(&self) -> Option<f32> {
        self.noise.floor().map(decibel)
    }

    /// From now on this much silence ends a plain command, and an utterance.
    pub fn set_patience(&mut self, patience: Patience) {
        self.settings.command = patience.command;
        self.settings.hang_over = patience.turn;
    }

    /// What was said until now counts as over, without an event: it was taken by its [`Event::Pause`]. Where somebody
    /// has spoken on since, nothing changes.
    pub fn end_at_pause(&mut self) {
        if let State::Speech(stretch) = &mut self.state
            && stretch.pauses_told > 0
        {
            let stretch = std::mem::take(stretch);
            self.quiet_after(&stretch);
        }
    }

    /// Whether the loudspeaker's sound may be in what is pushed next.
    pub fn playing(&mut self, playback: Playback) {
        self.learning = playback == Playback::Learning;
        match playback {
            Playback::Silent => {}
            Playback::Cancelled | Playback::Learning => self.since_playback = 0,
        }
    }

    /// Takes the next samples, 16 kHz mono, in pieces of any size.
    pub fn push(&mut self, samples: &[f32]) -> Vec<Event> {
        self.push_beside(samples, samples)
    }

    /// The same, where one sound tells whether somebody speaks and another, of the same time and length, is kept for the
    /// utterance.
    pub fn push_beside(&mut self, heard: &[f32], kept: &[f32]) -> Vec<Event> {
        let mut events = Vec::new();
        for (sample, kept) in heard.iter().zip(kept) {
            self.partial.push(tame(*sample));
            self.partial_kept.push(tame(*kept));
            if self.partial.len() == FRAME {
                self.frame(&mut events);
                self.partial.clear();
                self.partial_kept.clear();
            }
        }
        events
    }

    /// Sound was lost before what is pushed next. What is being said, or begins before the next pause, has
    /// a hole that a "not" may have fallen into: it becomes [`Event::CutShort`] and no utterance.
    pub fn lost_sound(&mut self) {
        self.gap = true;
        match &mut self.state {
            State::Quiet { pause, .. } => *pause = 0,
            State::Speech(stretch) => stretch.cut = true,
        }
    }

    /// The sound is over: what is being said ends here. The next sound is taken for that of a new source.
    pub fn finish(&mut self) -> Vec<Event> {
        let mut events = Vec::new();
        let rest = std::mem::take(&mut self.partial_kept);
        if let State::Speech(mut stretch) =
            std::mem::replace(&mut self.state, State::Quiet { run: 0, pause: 0 })
        {
            stretch.samples.extend(rest);
            events.push(self.close(stretch, self.noise.floor()));
        }
        *self = Self::new(self.settings);
        events
    }

    fn frame(&mut self, events: &mut Vec<Event>) {
        self.pushed += FRAME as u64;
        let since_playback = self.since_playback;
        self.since_playback = since_playback.saturating_add(1);
        let level = self.noise.take(&self.partial);
        let score = self.voice_in_frame();
        let level_db = decibel(level.smoothed);
        let voices_db = self.background.loud_db();
        let stands_out = level_db >= self.settings.least_dbfs
            && level
                .floor
                .is_none_or(|floor| level_db - decibel(floor) >= self.settings.above_floor_db);
        let above_voices =
            |least_db: f32| voices_db.is_none_or(|voices_db| level_db >= voices_db + least_db);
        let over_playback = since_playback < REVERBERATION;
        let (begin, go_on) = match over_playback {
            true => OVER_PLAYBACK,
            false => (self.settings.begin, self.settings.go_on),
        };
        let begins = stands_out && score >= begin && above_voices(BEGINS_ABOVE_DB);
        let goes_on = stands_out && score >= go_on && above_voices(GOES_ON_ABOVE_DB);
        let in_background = match &self.state {
            State::Quiet { .. } => true,
            State::Speech(stretch) => stretch.outgrown,
        };
        // The assistant's own voice isn't the background's: whoever answers it needn't be louder than what is left of it.
        if in_background && !over_playback {
            let voice = score >= go_on;
            self.background.take(voice.then_some(level_db));
        }
        match &mut self.state {
            State::Quiet { run, pause } => {
                self.recent.extend(&self.partial_kept);
                (*run, *pause) = if begins {
                    (*run + 1, 0)
                } else {
                    (0, *pause + 1)
                };
                self.gap &= *pause < frames(self.settings.hang_over).max(1);
                let onset = frames(self.settings.onset).max(1);
                if *run >= onset {
                    events.push(Event::SpeechBegan);
                    let samples: Vec<f32> = self.recent.drain(..).collect();
                    let length = samples.len();
                    self.state = State::Speech(Stretch {
                        pieces: once(length.saturating_sub(onset * FRAME)..length).collect(),
                        begins_at: self.pushed - length as u64,
                        samples,
                        speech_frames: onset,
                        speech_power: level.smoothed * onset as f32,
                        cut: self.gap,
                        under_playback: (frames(self.settings.pre_roll) + onset)
                            .saturating_sub(since_playback),
                        ends_under_playback: since_playback == 0,
                        uncancelled: self.learning,
                        ..Stretch::default()
                    });
                } else {
                    let kept = samples(self.settings.pre_roll) + onset.saturating_sub(1) * FRAME;
                    let surplus = self.recent.len().saturating_sub(kept);
                    self.recent.drain(..surplus);
                }
            }
            State::Speech(stretch) => {
                stretch.samples.extend_from_slice(&self.partial_kept);
                stretch.run = if goes_on { stretch.run + 1 } else { 0 };
                // After a pause it takes as much as at the beginning: a click isn't somebody who speaks on.
                let onset = frames(self.settings.onset).max(1);
                if goes_on && (stretch.pause == 0 || stretch.run >= onset) {
                    stretch.speech_frames += 1;
                    stretch.speech_power += level.power;
                    stretch.speak();
                    stretch.ends_under_playback = since_playback == 0;
                    if std::mem::take(&mut stretch.pauses_told) > 0 {
                        events.push(Event::Resumed);
                    }
                } else {
                    stretch.pause += 1;
                }
                if since_playback == 0 {
                    stretch.under_playback += 1;
                    stretch.uncancelled |= self.learning;
                }
                // What was said last may be the assistant's own voice, which counts for little: whoever answers it soon
                // begins a turn of their own.
                let hang_over = match stretch.ends_under_playback {
                    true => self.settings.hang_over.min(self.settings.command),
                    false => self.settings.hang_over,
                };
                if stretch.pause >= frames(hang_over).max(1) {
                    let stretch = std::mem::take(stretch);
                    self.quiet_after(&stretch);
                    events.push(self.close(stretch, level.floor));
                } else if !stretch.cut
                    && stretch.speech_frames >= frames(self.settings.minimum)
                    && self
                        .settings
                        .pause_to_tell(stretch.pauses_told)
                        .is_some_and(|silence| stretch.pause >= frames(silence).max(1))
                {
                    stretch.pauses_told += 1;
                    events.push(Event::Pause {
                        said: stretch.clone().utterance(level.floor),
                        silence: duration(stretch.pause),
                    });
                } else if stretch.samples.len() >= samples(self.settings.maximum).max(FRAME) {
                    let piece = std::mem::take(stretch);
                    stretch.cut = true;
                    stretch.outgrown = true;
                    stretch.pause = piece.pause;
                    stretch.begins_at = self.pushed;
                    events.push(Event::CutShort(piece.utterance(level.floor)));
                }
            }
        }
    }

    /// How probable it is that there is a voice in this frame: by the last chunk that the detector has seen.
    fn voice_in_frame(&mut self) -> f32 {
        let half = match self.pushed as usize / FRAME % 2 {
            1 => 0..FRAME,
            _ => FRAME..CHUNK,
        };
        let whole = half.end == CHUNK;
        self.chunk[half].copy_from_slice(&self.partial);
        if whole {
            self.voice = self.detector.score(&self.chunk);
        }
        self.voice
    }

    fn quiet_after(&mut self, stretch: &Stretch) {
        self.state = State::Quiet {
            run: 0,
            pause: stretch.pause,
        };
        self.gap = false;
        // The end of this pause is the beginning of what may be said next.
        let kept = samples(self.settings.pre_roll).min(stretch.samples.len());
        self.recent
            .extend(&stretch.samples[stretch.samples.len() - kept..]);
    }

    fn close(&self, stretch: Stretch, floor: Option<f32>) -> Event {
        let speech_frames = stretch.speech_frames;
        let cut = stretch.cut;
        let utterance = stretch.utterance(floor);
        if cut {
            Event::CutShort(utterance)
        } else if speech_frames < frames(self.settings.minimum) {
            Event::Discarded(Discard::TooShort)
        } else if utterance.snr_db.is_some_and(|snr| snr < LEAST_SNR_DB) {
            Event::Discarded(Discard::Noise)
        } else {
            Event::Utterance(utterance)
        }
    }
}

/// Below this speech-to-noise ratio no recogniser hears words, and steady noise is all there is.
const LEAST_SNR_DB: f32 = -2.0;

impl Settings {
    /// The silence after which a pause is told next, when it was told so often already.
    fn pause_to_tell(&self, told: u8) -> Option<Duration> {
        match told {
            0 => self.early,
            1 => self
                .early
                .filter(|early| *early < self.command)
                .map(|_| self.command),
            _ => None,
        }
    }
}

/// How much silence ends what is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Patience {
    /// Ends a plain command ([`Settings::command`]).
    pub command: Duration,
    /// Ends anything ([`Settings::hang_over`]).
    pub turn: Duration,
}

impl Stretch {
    /// The last frames of `samples` were speech.
    fn speak(&mut self) {
        let end = self.samples.len();
        match self.pieces.last_mut() {
            Some(piece) if self.pause < frames(PIECE_PAUSE) => piece.end = end,
            Some(_) | None => self.pieces.push(end.saturating_sub(self.run * FRAME)..end),
        }
        self.pause = 0;
    }

    fn utterance(self, floor: Option<f32>) -> Utterance {
        let power = self.speech_power / self.speech_frames.max(1) as f32;
        let snr_db = floor
            .filter(|_| self.speech_frames > 0)
            .map(|floor| (decibel((power - floor).max(0.0)) - decibel(floor)).clamp(-10.0, 60.0));
        Utterance {
            clipped: clipped_share(&self.samples),
            under_playback: duration(self.under_playback).as_secs_f32(),
            ends_under_playback: self.ends_under_playback,
            uncancelled: self.uncancelled,
            snr_db,
            pieces: self.pieces,
            begins_at: self.begins_at,
            samples: self.samples,
        }
    }
}

/// The utterances of a whole recording, 16 kHz mono, by the usual settings. What [`Event::CutShort`]
/// and [`Event::Discarded`] stand for is left out; [`events`] has them.
pub fn utterances(samples: &[f32]) -> Vec<Utterance> {
    utterances_beside(samples, samples)
}

/// The same, where one sound tells whether somebody speaks and another is kept, as for [`EndPointer::push_beside`].
pub fn utterances_beside(heard: &[f32], kept: &[f32]) -> Vec<Utterance> {
    events_beside(heard, kept, Settings::default())
        .into_iter()
        .filter_map(|event| match event {
            Event::Utterance(utterance) => Some(utterance),
            Event::SpeechBegan
            | Event::Pause { .. }
            | Event::Resumed
            | Event::CutShort(_)
            | Event::Discarded(_) => None,
        })
        .collect()
}

/// Everything the end-pointer notices in a whole recording, 16 kHz mono.
pub fn events(samples: &[f32], settings: Settings) -> Vec<Event> {
    events_beside(samples, samples, settings)
}

fn events_beside(heard: &[f32], kept: &[f32], settings: Settings) -> Vec<Event> {
    let mut end_pointer = EndPointer::new(settings);
    let mut events = end_pointer.push_beside(heard, kept);
    events.extend(end_pointer.finish());
    events
}

fn samples(duration: Duration) -> usize {
    (duration.as_secs_f64() * f64::from(SAMPLE_RATE)) as usize
}

fn duration(frames: usize) -> Duration {
    Duration::from_secs_f64((frames * FRAME) as f64 / f64::from(SAMPLE_RATE))
}

fn frames(duration: Duration) -> usize {
    samples(duration).div_ceil(FRAME)
}
