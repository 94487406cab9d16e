//! Turns: everything somebody says until it is clear that they have finished.
//!
//! A readback with other talk around it isn't a readback: "… hangs from the hook … no wait, it moved",
//! "he wants me to say … the caliper hangs from the hook". So only whole turns count. A turn ends when nobody has
//! spoken for [`TURN_PAUSE`]; and a readback with other talk within [`BESIDE`] before or after it opens nothing, or is
//! closed again.
//!
//! Both follow from how long people pause. E. Campione and J. Véronis, "A Large-Scale Multilingual Study of Silent
//! Pause Duration" (Speech Prosody 2002; about 6000 pauses, read and spontaneous, five languages) find three groups:
//! brief pauses below 0.2 s, medium ones from 0.2 to 1 s, and long ones above 1 s, which occur only in spontaneous
//! speech. The medium ones are those within sentences, so a turn waits for all of them. Waiting costs time, looking
//! back doesn't, so [`BESIDE`] reaches into the long ones. In noise the end-pointer also ends a word up to a second early.

use crate::sound::endpoint::{EndPointer, Event, Patience, Settings};
use crate::sound::{SAMPLE_RATE, Utterance};
use crate::verdict::{Bars, Verdict, heard_word_for_word, letters_around, usual_seconds};
use crate::{Hypothesis, Phrase, PhraseSet, Recogniser, RecogniserError, Stake};
use std::time::Duration;

/// Silence that ends a turn in which a readback, a number or an answer that is kept may be said.
pub const TURN_PAUSE: Duration = Duration::from_millis(1_000);

/// Silence after which what was said is listened to, while it is still waited whether more is said. The benchmark `answer`
/// compares others.
pub const EARLY: Duration = Duration::from_millis(208);

/// Talk this soon before or after a readback, from voice to voice, belongs to it.
pub const BESIDE: Duration = Duration::from_millis(3_000);

impl Patience {
    /// Where only commands may be said.
    pub const COMMAND: Self = Self {
        command: Duration::from_millis(400),
        turn: Duration::from_millis(400),
    };

    /// Where an answer is kept, or moves past a warning: plain commands are as quick as ever.
    pub const ANSWER: Self = Self {
        turn: TURN_PAUSE,
        ..Self::COMMAND
    };

    /// Where a readback or a number may be said: people pause within them, so a command waits a little longer too.
    pub const READBACK: Self = Self {
        command: Duration::from_millis(550),
        turn: TURN_PAUSE,
    };

    /// Where a note is dictated: people think within it.
    pub const NOTE: Self = Self {
        command: Duration::from_millis(1_200),
        turn: Duration::from_millis(1_200),
    };

    /// What these phrases need.
    pub fn listening_for(set: &PhraseSet) -> Self {
        let kept = |phrase: &Phrase| match phrase.stake {
            Stake::Number | Stake::Gate => true,
            Stake::Ask | Stake::Stop | Stake::Move => false,
        };
        match set.phrases.iter().any(kept) {
            true => Self::READBACK,
            false => Self::COMMAND,
        }
    }
}

/// Everything somebody said until they had finished.
#[derive(Debug, Clone, PartialEq)]
pub struct Turn {
    /// Its sound.
    pub utterance: Utterance,
    /// What was said within [`BESIDE`] before it, unless it was a command or no speech.
    pub beside: Option<Beside>,
}

/// What was said shortly before a turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// Other talk.
    Talk,
    /// A readback that opened a gate.
    Opening,
}

impl Turn {
    /// A turn before which nothing was said.
    pub fn alone(utterance: Utterance) -> Self {
        Self {
            utterance,
            beside: None,
        }
    }
}

/// Makes turns of the utterances of one source of sound.
///
/// ```
/// use ears::sound::Utterance;
/// use ears::turn::{Beside, Turns};
///
/// let mut turns = Turns::default();
/// let talk = turns.take(Utterance::whole(vec![0.1; 16_000]));
/// assert_eq!(talk.beside, None);
/// let next = Utterance { begins_at: 32_000, ..Utterance::whole(vec![0.1; 16_000]) };
/// assert_eq!(turns.take(next).beside, Some(Beside::Talk), "a second after it");
/// ```
#[derive(Debug, Default)]
pub struct Turns {
    /// The last one, and when it ended, in samples of the source.
    last: Option<(Beside, u64)>,
    /// The one before it.
    before: Option<(Beside, u64)>,
}

impl Turns {
    /// Takes the next utterance.
    pub fn take(&mut self, utterance: Utterance) -> Turn {
        let pieces = &utterance.pieces;
        let began = utterance.begins_at + pieces.first().map_or(0, |it| it.start) as u64;
        let beside = self.last.filter(|(_, ended)| {
            let samples = began.saturating_sub(*ended) as f64;
            Duration::from_secs_f64(samples / f64::from(SAMPLE_RATE)) <= BESIDE
        });
        self.before = self.last;
        self.last = Some((Beside::Talk, ended(&utterance)));
        Turn {
            utterance,
            beside: beside.map(|(beside, _)| beside),
        }
    }

    /// Takes a piece of talk that never counts by itself, but spoils what follows.
    pub fn take_piece(&mut self, piece: &Utterance) {
        self.last = Some((Beside::Talk, ended(piece)));
    }

    /// The last turn opened a gate: what follows shortly may spoil it.
    pub fn opened(&mut self) {
        if let Some((beside, _)) = &mut self.last {
            *beside = Beside::Opening;
        }
    }

    /// The last turn was a command: what follows doesn't belong to it.
    pub fn forget(&mut self) {
        self.last = None;
    }

    /// The last turn was nobody's talk. What was said before it still matters.
    pub fn disregard(&mut self) {
        self.last = self.before;
    }
}

/// When the last voice of an utterance ended, in samples of its source.
fn ended(utterance: &Utterance) -> u64 {
    let end = utterance.pieces.last().map(|it| it.end);
    utterance.begins_at + end.unwrap_or(utterance.samples.len()) as u64
}

/// The turns of a whole recording, 16 kHz mono.
pub fn turns(samples: &[f32], patience: Patience) -> Vec<Turn> {
    turns_beside(samples, samples, patience)
}

/// The same, where one sound tells whether somebody speaks and another is kept, as for [`EndPointer::push_beside`].
pub fn turns_beside(heard: &[f32], kept: &[f32], patience: Patience) -> Vec<Turn> {
    let looked_at = looked_at(heard, kept, patience, None);
    looked_at.into_iter().map(|(turn, _)| turn).collect()
}

/// The turns of a whole recording, each with what had been said at every pause that was told of ([`Event::Pause`]), the
/// first after [`EARLY`].
pub fn turns_with_looks(samples: &[f32], patience: Patience) -> Vec<(Turn, Vec<Utterance>)> {
    looked_at(samples, samples, patience, Some(EARLY))
}

fn looked_at(
    heard: &[f32],
    kept: &[f32],
    patience: Patience,
    early: Option<Duration>,
) -> Vec<(Turn, Vec<Utterance>)> {
    let mut end_pointer = EndPointer::new(Settings {
        early,
        ..Settings::default()
    });
    end_pointer.set_patience(patience);
    let mut events = end_pointer.push_beside(heard, kept);
    events.extend(end_pointer.finish());
    let mut turns = Turns::default();
    let mut looks = Vec::new();
    let mut found = Vec::new();
    for event in events {
        match event {
            Event::Utterance(utterance) => {
                found.push((turns.take(utterance), std::mem::take(&mut looks)));
            }
            Event::CutShort(piece) => turns.take_piece(&piece),
            Event::Pause { said, .. } => looks.push(said),
            Event::Resumed => {}
            Event::SpeechBegan | Event::Discarded(_) => looks.clear(),
        }
    }
    found
}

/// Letters heard before or after a readback from which something else was said with it, where the turn has pauses in it:
/// "i wish … the wheels are chocked", "the wheels are chocked … wait". Without a pause it takes more
/// (the veto on what stands around a readback). Of 94 right readbacks with pauses by near-human voices, in all noises, one has so many.
const SAID_AROUND: usize = 3;

/// The least length of a question, in bytes, that is taken for one right after an opening. Chosen, not measured: "why" is
/// near "wait", and the other questions are longer.
const LONG_QUESTION: usize = 6;

/// The least share of the time that a readback usually takes in which a voice must stand out of the noise. Where less of it
/// does, talk before or after it would go unnoticed, too. 99 in 100 right readbacks of development have more, in all noises
/// down to 0 dB.
const NOTICED: f32 = 0.55;

/// What was heard in a turn.
#[derive(Debug, Clone, Default)]
pub struct HeardTurn {
    /// In all of it; nothing where no words were in it.
    pub whole: Option<Hypothesis>,
    /// In what is left of it without one of its ends, where a readback was heard in several pieces.
    pub parts: Vec<Hypothesis>,
}

/// Hears a turn.
///
/// # Errors
/// As [`Recogniser::hear`].
pub fn hear(ear: &mut dyn Recogniser, turn: &Turn) -> Result<HeardTurn, RecogniserError> {
    let whole = ear.hear(&turn.utterance)?;
    let readback = whole
        .as_ref()
        .is_some_and(|it| it.stake == Stake::Gate && !it.decoy);
    let mut parts = Vec::new();
    if readback {
        for part in turn.utterance.without_an_end() {
            parts.extend(ear.hear(&part)?);
        }
    }
    Ok(HeardTurn { whole, parts })
}

/// What a turn is worth, given what was heard in it. A readback counts only when nothing else was said with it: not before
/// it, not around it, and not in a piece without which it is still the same readback. "… away from the strut … wait" is
/// often transcribed without its "wait". And it must stand out of the noise so far that such talk would.
pub fn judge(turn: &Turn, hypothesis: &Hypothesis, parts: &[Hypothesis], bars: &Bars) -> Verdict {
    let talked_beside = turn.beside == Some(Beside::Talk);
    let talked_around =
        turn.utterance.pieces.len() > 1 && letters_around(hypothesis) >= SAID_AROUND;
    let in_a_part = parts
        .iter()
        .any(|part| part.words == hypothesis.words && bars.judge(part) != Verdict::Ignore);
    let more = talked_beside || talked_around || in_a_part || !is_noticed(turn, hypothesis);
    match bars.judge(hypothesis) {
        Verdict::Accept if hypothesis.stake == Stake::Gate && more => Verdict::Ask,
        verdict @ (Verdict::Accept | Verdict::Ask | Verdict::Ignore) => verdict,
    }
}

/// Whether so much of a readback stands out of the noise that other talk would.
fn is_noticed(turn: &Turn, readback: &Hypothesis) -> bool {
    let pieces = &turn.utterance.pieces;
    let samples: usize = pieces.iter().map(ExactSizeIterator::len).sum();
    let seconds = samples as f32 / SAMPLE_RATE as f32;
    pieces.is_empty() || seconds >= NOTICED * usual_seconds(&readback.words)
}

/// Whether a turn belongs to a readback that has just opened a gate and makes it a part of other talk: it is no command
/// heard word for word ("… he made me say it again" is near "say it again"). `hypothesis` is what was heard in it.
pub fn spoils_what_opened(turn: &Turn, hypothesis: Option<&Hypothesis>, bars: &Bars) -> bool {
    let may_correct = |it: &Hypothesis| it.stake == Stake::Ask && it.words.len() < LONG_QUESTION;
    let plain_command = |it: &Hypothesis| {
        bars.judge(it) == Verdict::Accept && heard_word_for_word(it) && !may_correct(it)
    };
    turn.beside == Some(Beside::Opening) && hypothesis.is_some_and(|it| !plain_command(it))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Description, Evidence};

    const READBACK: &str = "both stands carry the weight";

    /// A hypothesis that reaches every bar, with what was heard without a grammar.
    fn heard(words: &str, stake: Stake, free: &str) -> Hypothesis {
        Hypothesis {
            words: words.to_owned(),
            stake,
            decoy: false,
            evidence: Evidence {
                heard_by: Description {
                    recogniser: "test".to_owned(),
                    model: String::new(),
                    model_sha256: String::new(),
                },
                score: Some(20.0),
                margin_runner_up: Some(50.0),
                margin_decoy: Some(50.0),
                margin_free: Some(5.0),
                free_transcription: Some(free.to_owned()),
                free_score: None,
                probability: Some(1.0),
                nearest_decoy: None,
                ending: None,
                margin_decoy_by_sound: None,
                runner_up: None,
                confidence: Some(0.9),
                snr_db: None,
                seconds: 2.0,
            },
        }
    }

    fn spoken(seconds: f64, pieces: usize) -> Utterance {
        Utterance {
            begins_at: (seconds * f64::from(SAMPLE_RATE)) as u64,
            pieces: (0..pieces)
                .map(|n| n * 24_000..n * 24_000 + 20_000)
                .collect(),
            ..Utterance::whole(vec![0.1; pieces * 24_000])
        }
    }

    #[test]
    fn a_readback_counts_alone_and_not_with_talk_before_it() {
        let bars = Bars::default();
        let readback = heard(READBACK, Stake::Gate, "Both stands carry the weight.");
        let mut turns = Turns::default();
        let alone = turns.take(spoken(10.0, 1));
        assert_eq!(judge(&alone, &readback, &[], &bars), Verdict::Accept);
        // A second after it something, and a second later the readback again.
        let talk = turns.take(spoken(11.0, 1));
        assert_eq!(talk.beside, Some(Beside::Talk));
        let after_talk = turns.take(spoken(12.0, 1));
        assert_eq!(judge(&after_talk, &readback, &[], &bars), Verdict::Ask);
        // What was a command is no talk, and what was no speech changes nothing.
        turns.forget();
        assert_eq!(turns.take(spoken(13.0, 1)).beside, None);
        turns.opened();
        assert_eq!(turns.take(spoken(14.0, 1)).beside, Some(Beside::Opening));
        turns.disregard();
        assert_eq!(turns.take(spoken(15.0, 1)).beside, Some(Beside::Opening));
        // Nor is what was said long before.
        assert_eq!(turns.take(spoken(20.0, 1)).beside, None);
    }

    #[test]
    fn few_words_beside_a_readback_count_where_there_is_a_pause() {
        let bars = Bars::default();
        let with_talk = heard(READBACK, Stake::Gate, "I saw both stands carry the weight");
        let verdict = |pieces| {
            let turn = Turn::alone(spoken(0.0, pieces));
            judge(&turn, &with_talk, &[], &bars)
        };
        assert_eq!((verdict(1), verdict(2)), (Verdict::Accept, Verdict::Ask));
    }

    #[test]
    fn a_readback_that_is_whole_without_a_piece_of_its_turn_was_said_with_something_else() {
        let bars = Bars::default();
        let free = "Both stands carry the weight.";
        let readback = heard(READBACK, Stake::Gate, free);
        let turn = Turn::alone(spoken(0.0, 2));
        let other = heard("next", Stake::Move, "next");
        let verdict = |part| judge(&turn, &readback, &[part], &bars);
        assert_eq!(verdict(readback.clone()), Verdict::Ask);
        assert_eq!(verdict(other), Verdict::Accept);
    }

    #[test]
    fn a_readback_of_which_little_stands_out_is_asked_for_again() {
        let bars = Bars::default();
        let readback = heard(READBACK, Stake::Gate, "Both stands carry the weight.");
        // It usually takes 1.9 s.
        let verdict = |samples| {
            let mut turn = Turn::alone(spoken(0.0, 1));
            turn.utterance.pieces = std::iter::once(0..samples).collect();
            judge(&turn, &readback, &[], &bars)
        };
        assert_eq!(
            (verdict(17_000), verdict(16_000)),
            (Verdict::Accept, Verdict::Ask)
        );
    }

    #[test]
    fn talk_right_after_a_readback_spoils_it_and_a_clear_command_does_not() {
        let bars = Bars::default();
        let spoils = |stake, words, free| {
            let mut turns = Turns::default();
            turns.take(spoken(0.0, 1));
            turns.opened();
            let turn = turns.take(spoken(1.5, 1));
            spoils_what_opened(&turn, Some(&heard(words, stake, free)), &bars)
        };
        assert!(spoils(
            Stake::Ask,
            "say it again",
            "He made me say it again."
        ));
        assert!(spoils(
            Stake::Move,
            "that's done",
            "That's what he wants to hear."
        ));
        assert!(!spoils(Stake::Ask, "what torque", "What torque?"));
        assert!(!spoils(Stake::Move, "next", "Next."));
        assert!(spoils(Stake::Ask, "why", "Why?"), "it may have been “wait”");
        assert!(
            spoils(Stake::Ask, "why", "..."),
            "a word may be transcribed so"
        );
    }
}
