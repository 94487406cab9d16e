//! Whose voice was that, and what may be done about what it said?
//!
//! Over the assistant's own voice nothing that is kept as proof counts, and neither do words that it was saying itself.
//! A command that isn't quite clear only silences it, so that it can be said again.
//!
//! In the first three seconds of speech the canceller learns the room, eight where nothing comes back, and only “stop”
//! counts. The same holds for longer if the sound comes back too late for the canceller or isn't removed, which
//! `ears::sound::echo` measures: a canceller hollows out a late echo as well, so suppression proves nothing. Where it
//! isn't known what is being played, everything is half-duplex.
//!
//! `tests/own_voice` plays prompts up to 6 dB louder than a technician. The hiss of the voice is random, and so is what a
//! command over it may be taken for. A command that moves the job on may never be taken for another; one that only asks
//! may, rarely.

use crate::work::hearing::{Meaning, Understood};
use ears::sound::Utterance;
use ears::sound::endpoint::Event;
use ears::sound::microphone::MicrophoneEvent;
use std::collections::BTreeMap;
use std::time::{Duration, Instant};
use steps::procedure::as_heard;
use steps::{Certainty, Command};
use words::wording;

/// Whose voice an utterance may be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trust {
    /// A person's.
    Whole,
    /// It was said while the assistant spoke, and the assistant's own sound was taken out of it, if never wholly.
    OverOwnVoice {
        /// The words that the assistant said meanwhile.
        own_words: Vec<String>,
    },
    /// It may be the assistant's own.
    OnlyStop,
}

/// What is done about something understood, as far as it may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Allowed {
    Counts,
    /// It may be a command: the assistant falls silent, so that it can be said again and heard better.
    Hushes,
    Nothing,
}

impl Trust {
    /// What may be done about what was understood. Over the assistant's own voice no readback opens anything and no
    /// number, name or note is taken, nor what the assistant was just saying itself; a command that isn't quite
    /// clear only silences it, and so does a "yes". `corrects` tells whether what was understood takes back what was just
    /// kept; `sounds_like`, how the assistant says some of the procedure's words.
    pub fn allows(
        &self,
        understood: &Understood,
        corrects: bool,
        sounds_like: &BTreeMap<String, String>,
    ) -> Allowed {
        let sure = understood.heard.certainty == Certainty::Sure;
        // "Stop" only silences it, and a correction only closes what was opened.
        let needs_no_proof = match &understood.meaning {
            Meaning::Told(Command::Stop | Command::TakeBack) => true,
            Meaning::Told(_) => corrects && sure,
            Meaning::Called | Meaning::NotUnderstood | Meaning::Ignored => false,
        };
        match self {
            Self::Whole => Allowed::Counts,
            // What comes back of its own voice would be talk beside a readback.
            Self::OverOwnVoice { .. } | Self::OnlyStop if understood.by_talk => Allowed::Nothing,
            Self::OnlyStop if needs_no_proof => Allowed::Counts,
            Self::OnlyStop => Allowed::Nothing,
            Self::OverOwnVoice { own_words } => {
                let said = match &understood.meaning {
                    // What is kept as a proof is said in silence.
                    Meaning::Told(_) => needs_no_proof || understood.keep_sound.is_none(),
                    Meaning::Called => true,
                    Meaning::NotUnderstood | Meaning::Ignored => false,
                };
                // Speech that its voice hollows out is easily heard as a short word, and this one agrees to something.
                let agrees = understood.meaning == Meaning::Told(Command::Yes);
                let words = wording::as_it_sounds(&understood.heard.words, sounds_like);
                if !said || says(own_words, &words) {
                    Allowed::Nothing
                } else if needs_no_proof || sure && understood.clear && !agrees {
                    Allowed::Counts
                } else if sure {
                    Allowed::Hushes
                } else {
                    Allowed::Nothing
                }
            }
        }
    }
}

/// Seconds of the loudspeaker's sound, its tail counted, that may be in an utterance that is a person's for all that: whoever
/// answers quickly begins in the tail. The assistant's own voice ends in it, too.
const OVERLAP_SECONDS: f32 = 0.5;

/// How much earlier than its utterance a word may have begun to sound: the time that sound waits in the devices, and the
/// silence that ends an utterance.
const EARLIER: Duration = Duration::from_millis(1_500);

/// The same where its own sound isn't taken out, and may come as late as through a wireless loudspeaker: 2.5 s (common
/// practice, no source), a word of half a second, and the second of silence that ends a turn.
const EARLIER_UNCANCELLED: Duration = Duration::from_millis(4_000);

/// The shortest and the longest time that a room is taken to go on sounding after the assistant fell silent.
const SHORTEST_TAIL: Duration = Duration::from_millis(200);
const LONGEST_TAIL: Duration = Duration::from_millis(1_200);

/// The tail before it was measured.
const USUAL_TAIL: Duration = Duration::from_millis(400);

/// Louder than the quiet room by this is not yet quiet, in decibels.
const STILL_SOUNDS_DB: f32 = 6.0;

/// What is taken of an utterance where the loudspeaker's own sound is taken out of the microphone's: hangs on how much of
/// that sounded in it, and on the words that began to sound within a time.
pub fn trust_over_playback(
    utterance: &Utterance,
    words_within: impl FnOnce(Duration) -> Option<Vec<String>>,
) -> Trust {
    if !utterance.ends_under_playback && utterance.under_playback <= OVERLAP_SECONDS {
        return Trust::Whole;
    }
    let earlier = match utterance.uncancelled {
        true => EARLIER_UNCANCELLED,
        false => EARLIER,
    };
    match words_within(Duration::from_secs_f32(utterance.seconds()) + earlier) {
        // A short sound of its own is no speech: whoever speaks is a person.
        Some(own_words) if own_words.is_empty() => Trust::Whole,
        Some(own_words) if !utterance.uncancelled => Trust::OverOwnVoice { own_words },
        Some(_) | None => Trust::OnlyStop,
    }
}

/// Whether what the microphone brings may be the assistant's own voice, where what the loudspeaker plays isn't known:
/// then only "stop" is taken while it speaks, and for as long after as the room goes on sounding.
#[derive(Debug)]
pub struct HalfDuplex {
    spoke_until: Instant,
    speaking: bool,
    tail: Duration,
    /// The tail that is going on isn't measured yet.
    measuring: bool,
    /// The stretch of speech that is going on began in it.
    began_in_it: bool,
    /// Events that waited while an utterance was judged and the assistant spoke: whose voice they hold
    /// can't be told any more.
    distrusted: usize,
}

impl Default for HalfDuplex {
    fn default() -> Self {
        Self {
            spoke_until: Instant::now(),
            speaking: false,
            tail: USUAL_TAIL,
            measuring: false,
            began_in_it: false,
            distrusted: 0,
        }
    }
}

impl HalfDuplex {
    /// To be told as often as possible whether the assistant speaks.
    pub fn speaks(&mut self, speaking: bool) {
        if speaking {
            self.spoke_until = Instant::now();
        }
        self.measuring |= self.speaking && !speaking;
        self.speaking = speaking;
    }

    /// To be told how loud it is: the tail is measured by it. A longer one counts at once, a shorter one little by little.
    pub fn level(&mut self, rms_dbfs: f32, noise_dbfs: Option<f32>) {
        let quiet = noise_dbfs.is_some_and(|noise| rms_dbfs < noise + STILL_SOUNDS_DB);
        if self.measuring && !self.speaking && quiet {
            self.measuring = false;
            let measured = self.spoke_until.elapsed();
            // Talk that follows at once is no tail.
            if measured <= LONGEST_TAIL {
                let tail = measured.max(self.tail * 9 / 10);
                self.tail = tail.clamp(SHORTEST_TAIL, LONGEST_TAIL);
            }
        }
    }

    /// What may be taken of this event, the next one.
    pub fn trust(&mut self, event: &MicrophoneEvent) -> Trust {
        let waited = self.distrusted > 0;
        self.distrusted = self.distrusted.saturating_sub(1);
        let echoes = waited || self.spoke_until.elapsed() < self.tail;
        let began = matches!(
            event,
            MicrophoneEvent::Heard {
                event: Event::SpeechBegan,
                ..
            }
        );
        if began {
            self.began_in_it = echoes;
        }
        match echoes || self.began_in_it {
            true => Trust::OnlyStop,
            false => Trust::Whole,
        }
    }

    /// An utterance was judged and answered; so many events waited meanwhile.
    pub fn answered(&mut self, spoke: bool, waiting: usize) {
        if spoke {
            self.spoke_until = Instant::now();
            self.distrusted = waiting;
        }
    }
}

/// Whether these words are said in one piece among others.
fn says(all: &[String], words: &str) -> bool {
    let (all, words) = (as_heard(&all.join(" ")), as_heard(words));
    !words.is_empty() && format!(" {all} ").contains(&format!(" {words} "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use steps::Heard;

    #[test]
    fn a_room_that_sounds_long_is_waited_for_and_a_short_one_less_and_less() {
        let mut own = HalfDuplex::default();
        own.speaks(true);
        own.speaks(false);
        own.spoke_until -= Duration::from_millis(900);
        own.level(-20.0, Some(-50.0));
        assert_eq!(own.tail, USUAL_TAIL, "it still sounds");
        own.level(-48.0, Some(-50.0));
        assert!(own.tail >= Duration::from_millis(900), "{:?}", own.tail);
        let long = own.tail;
        own.speaks(true);
        own.speaks(false);
        own.level(-49.0, Some(-50.0));
        assert!(own.tail < long && own.tail >= long * 8 / 10);
    }

    fn understood(meaning: Meaning, by_talk: bool) -> Understood {
        Understood {
            meaning,
            heard: Heard {
                words: "wait".to_owned(),
                certainty: Certainty::Sure,
                evidence: None,
                sound: None,
            },
            keep_sound: None,
            clear: false,
            near: false,
            is_speech: true,
            by_talk,
        }
    }

    #[test]
    fn over_its_own_voice_a_correction_closes_what_was_opened_and_mere_talk_does_not() {
        let own_words = ["Heard", "and", "recorded"].map(str::to_owned).to_vec();
        let over_it = [Trust::OnlyStop, Trust::OverOwnVoice { own_words }];
        let allowed = |trust: &Trust, command, by_talk, corrects| {
            let understood = understood(Meaning::Told(command), by_talk);
            trust.allows(&understood, corrects, &BTreeMap::new())
        };
        for trust in &over_it {
            let wait = Command::HoldOn;
            assert_eq!(
                allowed(trust, wait.clone(), false, true),
                Allowed::Counts,
                "{trust:?}"
            );
            assert_ne!(
                allowed(trust, wait, false, false),
                Allowed::Counts,
                "{trust:?}"
            );
            let talk = Command::TakeBack;
            assert_eq!(
                allowed(trust, talk.clone(), true, true),
                Allowed::Nothing,
                "{trust:?}"
            );
        }
        let talk = allowed(&Trust::Whole, Command::TakeBack, true, true);
        assert_eq!(talk, Allowed::Counts);
    }

    #[test]
    fn over_a_mere_sound_of_its_own_a_person_speaks() {
        let utterance = |uncancelled| Utterance {
            under_playback: 1.0,
            ends_under_playback: true,
            uncancelled,
            ..Utterance::whole(vec![0.1; 16_000])
        };
        for uncancelled in [false, true] {
            let trust = |words: &[&str]| {
                let words = words.iter().map(|word| (*word).to_owned()).collect();
                trust_over_playback(&utterance(uncancelled), |_| Some(words))
            };
            assert_eq!(trust(&[]), Trust::Whole);
            assert_ne!(trust(&["pushed"]), Trust::Whole);
        }
    }
}
