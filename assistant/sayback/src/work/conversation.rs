//! One job being talked through: what happened goes in, the job's effects are spoken, shown, recorded.

use crate::work::attention::Listening;
use crate::work::hearing::{
    Hearing, HearingError, ListenFilter, MAX_DEAF_MOMENTS, Meaning, Understood,
};
use crate::work::live::{Allowed, Trust};
use crate::work::speech;
use crate::work::viewers::ViewerRequests;
use ears::sound::endpoint::Patience;
use ears::turn::Turn;
use page::{Attaching, ViewerAction};
use record::{JournaledJob, RecordError};
use std::sync::Arc;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use steps::{
    Certainty, Command, Decimal, Effect, Entry, Heard, Input, Job, Language, Manner, Moment,
    Sentence, SystemNotice, Tone, harmless, with_causes,
};
use voice::{Earcon, Voice, VoiceError};
use words::now::{NotUnderstood, StateGrammar};
use words::wording;

/// Something to show as the talk goes on.
#[derive(Debug)]
pub enum Line<'a> {
    /// What was heard or typed.
    Heard(&'a Understood),
    Said(&'a Sentence),
    /// What went onto the record.
    Recorded(&'a Entry),
    /// How things stand; told before anything is said of it.
    Stands(&'a Job),
    /// The voice was muted, or may speak again.
    Muted(bool),
    /// It was asked to speak otherwise, and now speaks so.
    Manner(Manner, voice::Settings),
    /// Something went wrong, in words for the technician.
    Trouble(&'a str),
}

/// What is heard before the answer, or in its stead: that a hold point opened, or that something counts to which nothing is said.
fn earcon(effects: &[Effect]) -> Option<Earcon> {
    let opened = |effect: &Effect| matches!(effect, Effect::Write(Entry::GateOpened { .. }));
    let answered = |effect: &Effect| matches!(effect, Effect::Say(_) | Effect::Hush);
    let written = |effect: &Effect| matches!(effect, Effect::Write(_));
    if effects.iter().any(opened) {
        Some(Earcon::Opened)
    } else if effects.iter().any(written) && !effects.iter().any(answered) {
        Some(Earcon::Heard)
    } else {
        None
    }
}

/// Why a conversation can't go on.
#[derive(Debug, thiserror::Error)]
pub enum ConversationError {
    /// The record can't be written or read.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The ears fail.
    #[error(transparent)]
    Hearing(#[from] HearingError),
}

/// One job being talked through.
pub struct Conversation<'a> {
    worked: JournaledJob,
    hearing: Option<Hearing>,
    grammar: Arc<StateGrammar>,
    voice: Box<dyn Voice>,
    show: &'a mut dyn FnMut(Line<'_>),
    wake: Option<Moment>,
    /// Utterances in a row at which the recogniser failed.
    deaf_moments: u8,
    /// An ear was lost at a turn that may not be over yet: it is to be said again.
    ear_lost_in_turn: bool,
    /// Whether the voice is silent because a viewer wants it so. The job doesn't know.
    muted: bool,
    /// What was said last, to be said again for a viewer.
    last_said: Vec<Sentence>,
    /// The value that is being said back.
    said_back: Option<Decimal>,
    /// The value that was denied when it was said back, while it is said once more.
    denied: Option<Decimal>,
    /// To whom it listens.
    listening: Listening,
    /// Whether it listened for what may be said in the job's state when it was asked last.
    awake: bool,
    /// Whether the sound of all that was, or may have been, said to it is kept.
    keeps_heard: bool,
    /// How much sooner recordings were heard than they take to play.
    ahead: Duration,
}

/// How long it takes until a time that came while the record couldn't be written is tried again.
const TELL_AGAIN: Duration = Duration::from_secs(5);

/// The most characters of a line that is typed: a long note, and no book.
const MAX_TYPED: usize = 1_000;

/// What time it is.
pub fn now() -> Moment {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    Moment(u64::try_from(since.as_millis()).unwrap_or(u64::MAX))
}

impl<'a> Conversation<'a> {
    /// A conversation about a job; without ears it is typed.
    ///
    /// # Errors
    /// When what may be said in the job's state can't be listened for.
    pub fn new(
        worked: JournaledJob,
        hearing: Option<Hearing>,
        voice: Box<dyn Voice>,
        show: &'a mut dyn FnMut(Line<'_>),
    ) -> Result<Self, ConversationError> {
        let grammar = StateGrammar::compile(&worked.job().listen()).map_err(HearingError::from)?;
        let grammar = Arc::new(grammar);
        let mut conversation = Self {
            worked,
            hearing,
            grammar,
            voice,
            show,
            wake: None,
            deaf_moments: 0,
            ear_lost_in_turn: false,
            muted: false,
            last_said: Vec::new(),
            said_back: None,
            denied: None,
            listening: Listening::default(),
            awake: true,
            keeps_heard: false,
            ahead: Duration::ZERO,
        };
        conversation.listen()?;
        Ok(conversation)
    }

    /// Listens so from now on.
    ///
    /// # Errors
    /// When what may be said can't be listened for.
    pub fn set_attention(&mut self, listening: Listening) -> Result<(), ConversationError> {
        self.listening = listening;
        self.awake = self.listening.is_awake();
        self.listen()
    }

    /// From now on keeps the sound of all that is taken for a command, asked about, not understood, or came near something that
    /// may be said and counts for nothing; not of other talk. The technician must have allowed it.
    pub fn keep_what_is_heard(&mut self) {
        self.keeps_heard = true;
    }

    /// Somebody called it, or pressed the key: it listens for a while.
    ///
    /// # Errors
    /// When what may be said can't be listened for.
    pub fn pressed(&mut self) -> Result<(), ConversationError> {
        self.listening.wake();
        self.voice.sound(Earcon::Attention);
        self.doze()?;
        Ok(())
    }

    /// Stops listening for what may be said where it wasn't called for a while, and begins again where it was. Tells whether
    /// that changed. To be asked now and then.
    ///
    /// # Errors
    /// When what may be said can't be listened for.
    pub fn doze(&mut self) -> Result<bool, ConversationError> {
        if self.awake && self.voice.is_speaking() {
            self.listening.wake();
        }
        let awake = self.listening.is_awake();
        let changed = std::mem::replace(&mut self.awake, awake) != awake;
        if changed {
            self.listen()?;
        }
        Ok(changed)
    }

    /// The job.
    pub fn job(&self) -> &Job {
        self.worked.job()
    }

    /// The record of the job.
    pub fn worked(&self) -> &JournaledJob {
        &self.worked
    }

    /// The voice.
    pub fn voice(&mut self) -> &mut dyn Voice {
        self.voice.as_mut()
    }

    /// What time it is for the job: by the clock, and by the sound of recordings, which pass faster than they take.
    pub fn now(&self) -> Moment {
        now().after(self.ahead)
    }

    /// So much sound of recordings has passed.
    pub fn pass(&mut self, sound: Duration) {
        self.ahead += sound;
    }

    /// How long it is until the job wants to be woken next.
    pub fn until_due(&self) -> Option<Duration> {
        self.wake.map(|at| at.since(self.now()))
    }

    /// Whether the job wants to be woken now.
    pub fn is_due(&self) -> bool {
        self.until_due().is_some_and(|due| due.is_zero())
    }

    /// Takes an input: onto the record first, then to the job, then its effects.
    ///
    /// A record that can't be written is said and shown, and the job holds: nothing has happened.
    ///
    /// # Errors
    /// When the ears can't listen for what may be said next.
    pub fn take(&mut self, input: Input) -> Result<(), ConversationError> {
        let effects = match self.worked.take(input, self.now()) {
            Ok(effects) => effects,
            Err(error) => {
                let told = format!(
                    "I can't write the record, so nothing counts until I can: {}",
                    with_causes(&error)
                );
                (self.show)(Line::Trouble(&told));
                self.tell(SystemNotice::CannotRecord);
                // A time that has come is told again in a while, not at once and for ever.
                if self.is_due() {
                    self.wake = Some(self.now().after(TELL_AGAIN));
                }
                return Ok(());
            }
        };
        self.act_on(&effects)
    }

    /// Does what the job asks for: speaks, shows, listens.
    ///
    /// # Errors
    /// When the ears can't listen for what may be said next.
    pub fn act_on(&mut self, effects: &[Effect]) -> Result<(), ConversationError> {
        // The voice queues, so what was being said gives way to the newer answer.
        if effects
            .iter()
            .any(|effect| matches!(effect, Effect::Say(_) | Effect::Hush))
        {
            self.voice.stop();
        }
        self.wake = None;
        // Whoever looks sees it at once; a voice takes its time.
        (self.show)(Line::Stands(self.worked.job()));
        let said = effects.iter().filter_map(|effect| match effect {
            Effect::Say(sentence) => Some(sentence.clone()),
            Effect::Hush | Effect::Manner(_) | Effect::Write(_) | Effect::Wake(_) => None,
        });
        let said: Vec<Sentence> = said.collect();
        if !said.is_empty() {
            self.last_said = said;
        }
        let asks = |effect: &Effect| matches!(effect, Effect::Say(sentence) if matches!(sentence.tone, Tone::Question | Tone::Hold));
        if effects.iter().any(asks) {
            self.listening.wake();
        }
        match earcon(effects) {
            // The words that tell it come only when the gate can't be closed again.
            Some(Earcon::Opened) if self.voice.lacks_sounds() => {
                let heard = SystemNotice::Heard.told_in(self.language());
                self.say(&Sentence::new(Tone::Answer, heard));
            }
            Some(earcon) => self.voice.sound(earcon),
            None => {}
        }
        for effect in effects {
            match effect {
                Effect::Say(sentence) => self.say(sentence),
                Effect::Hush => self.voice.stop(),
                Effect::Manner(manner) => self.speak(*manner),
                Effect::Write(entry) => (self.show)(Line::Recorded(entry)),
                Effect::Wake(at) => self.wake = Some(*at),
            }
        }
        self.listen()
    }

    fn listen(&mut self) -> Result<(), ConversationError> {
        if self.worked.job().outcome().is_some() {
            // A closed job listens for nothing.
            return Ok(());
        }
        let listen = self.worked.job().listen();
        self.grammar = Arc::new(StateGrammar::compile(&listen).map_err(HearingError::from)?);
        let answer_is_kept = self.answer_is_kept();
        if let Some(hearing) = &mut self.hearing {
            let heed = ListenFilter {
                name: self.listening.name().map(str::to_owned),
                only_called: !self.awake,
                answer_is_kept,
                denied: self.denied,
            };
            match hearing.listen_and_heed(heed, Arc::clone(&self.grammar)) {
                Ok(_) => {}
                Err(error @ HearingError::EarLost { .. }) => self.tell_of_lost_ear(&error),
                Err(error) => return Err(error.into()),
            }
        }
        Ok(())
    }

    /// The job goes on with the other ear.
    fn tell_of_lost_ear(&mut self, error: &HearingError) {
        self.deaf_moments = 0;
        (self.show)(Line::Trouble(&format!(
            "I go on with one ear: {}",
            with_causes(error)
        )));
        self.tell(SystemNotice::OneEarLeft);
        if matches!(error, HearingError::EarLost { decided: true, .. }) {
            self.tell(SystemNotice::OpensNoGate);
        }
    }

    /// Says something that isn't the job's: that the ears are gone, or back.
    pub fn tell(&mut self, what: SystemNotice) {
        let told = what.told_in(self.language());
        self.say(&Sentence::new(steps::Tone::Refusal, told));
    }

    /// The language of the job.
    fn language(&self) -> Language {
        self.job().procedure().language
    }

    /// Does what viewers asked for by now. Gives whether the voice has to do with any of it.
    pub fn attend(&mut self, requests: &ViewerRequests) -> bool {
        for Attaching { kept, done } in requests.photos.try_iter() {
            // Whoever asked may have gone.
            let _ = done.send(self.worked.attach(kept, self.now()));
        }
        let mut heard = false;
        for action in requests.actions.try_iter() {
            self.do_for_viewer(action);
            heard = true;
        }
        heard
    }

    /// Does what a viewer asked for. The job is given nothing, and nothing goes onto its record.
    pub fn do_for_viewer(&mut self, action: ViewerAction) {
        match action {
            ViewerAction::Repeat => {
                self.voice.stop();
                for sentence in self.last_said.clone() {
                    self.say(&sentence);
                }
            }
            ViewerAction::Mute => {
                self.voice.stop();
                self.mute(true);
            }
            ViewerAction::Unmute => self.mute(false),
        }
    }

    fn speak(&mut self, manner: Manner) {
        let before = self.voice.settings();
        let asked = speech::asked(manner, before);
        if let Err(error) = self.voice.set(asked) {
            (self.show)(Line::Trouble(&format!(
                "I can't speak otherwise: {}",
                with_causes(&error)
            )));
        }
        let settings = self.voice.settings();
        (self.show)(Line::Manner(manner, settings));
        let told = match manner {
            Manner::AnotherVoice if settings.timbre == before.timbre => {
                Some(SystemNotice::NoOtherVoice)
            }
            Manner::AnotherVoice => Some(SystemNotice::AnotherVoice),
            Manner::ToEverything => Some(self.listening.open()),
            Manner::ByName => Some(self.listening.by_name()),
            Manner::OnPress => Some(self.listening.on_press()),
            Manner::Slower
            | Manner::Faster
            | Manner::Louder
            | Manner::Softer
            | Manner::Shorter
            | Manner::Fuller
            | Manner::Unit(_) => None,
        };
        if let Some(what) = told {
            self.listening.wake();
            let told = what.told_in(self.language());
            let told = match (what, self.listening.name()) {
                (SystemNotice::CallFirst, Some(name)) => format!("{told}: {name}."),
                (_, _) => told,
            };
            self.say(&Sentence::new(Tone::Answer, told));
        }
    }

    fn mute(&mut self, muted: bool) {
        self.muted = muted;
        (self.show)(Line::Muted(muted));
    }

    fn say(&mut self, sentence: &Sentence) {
        (self.show)(Line::Said(sentence));
        if self.muted {
            return;
        }
        let sounds_like = &self.job().procedure().sounds_like;
        let language = self.language();
        let text = wording::as_it_sounds(&sentence.text, sounds_like);
        if sentence.tone == Tone::Hold {
            self.voice.sound(Earcon::Hold);
        }
        let said = match sentence.slowly {
            true => self.say_slowly(&wording::spoken_slowly(language, &text)),
            false => self.voice.say(&wording::spoken(language, &text)),
        };
        if let Err(error) = said {
            self.cannot_speak(&error);
        }
    }

    /// Tells on the screen when something can't be heard that was to be said.
    pub fn look_after_the_voice(&mut self) {
        if let Some(error) = self.voice.lost() {
            self.cannot_speak(&error);
        }
    }

    /// What was to be said stands on the screen; the job goes on.
    fn cannot_speak(&mut self, error: &VoiceError) {
        (self.show)(Line::Trouble(&format!(
            "I can't speak: {}",
            with_causes(error)
        )));
    }

    fn say_slowly(&mut self, words: &str) -> Result<(), VoiceError> {
        let usual = self.voice.settings();
        self.voice.set(voice::Settings {
            rate: usual.rate.slower(),
            ..usual
        })?;
        let said = self.voice.say(words);
        self.voice.set(usual)?;
        said
    }

    /// How much silence ends what is said in this state. What is kept, or moves past a warning, is waited for longer than a
    /// plain command.
    pub fn patience(&self) -> Patience {
        let heard = self.hearing.as_ref().map(Hearing::patience);
        match heard.unwrap_or(Patience::COMMAND) {
            Patience::COMMAND if self.answer_is_kept() => Patience::ANSWER,
            patience => patience,
        }
    }

    /// Whether a "yes" or a "next" is kept now.
    fn answer_is_kept(&self) -> bool {
        self.job().asks() || self.job().step().is_some_and(|step| step.warning.is_some())
    }

    /// Hears a turn and takes what was meant by it.
    ///
    /// # Errors
    /// When a recogniser fails.
    pub fn hear(&mut self, turn: &Turn, trust: &Trust) -> Result<Meaning, ConversationError> {
        match self.judge(turn)? {
            Some(understood) => self.take_heard(understood, turn, trust),
            None => Ok(Meaning::Ignored),
        }
    }

    /// Judges a turn, and does nothing about it. `None` where there are no ears, or they failed this time, which is said.
    ///
    /// # Errors
    /// When a recogniser fails again and again.
    pub fn judge(&mut self, turn: &Turn) -> Result<Option<Understood>, ConversationError> {
        let Some(hearing) = &mut self.hearing else {
            return Ok(None);
        };
        // Whoever speaks must know that only one ear listens before it opens anything.
        if std::mem::take(&mut self.ear_lost_in_turn) {
            self.tell(SystemNotice::CouldNotHear);
            return Ok(None);
        }
        match hearing.hear(turn) {
            Ok(understood) => {
                self.deaf_moments = 0;
                Ok(Some(understood))
            }
            // Once may be a bad moment of the machine's; the job goes on with what is said next.
            Err(HearingError::Recogniser(error)) if self.deaf_moments < MAX_DEAF_MOMENTS => {
                self.deaf_moments += 1;
                (self.show)(Line::Trouble(&format!(
                    "I can't hear: {}",
                    with_causes(&error)
                )));
                self.tell(SystemNotice::CouldNotHear);
                Ok(None)
            }
            Err(error @ HearingError::EarLost { .. }) => {
                self.tell_of_lost_ear(&error);
                self.tell(SystemNotice::CouldNotHear);
                Ok(None)
            }
            Err(error) => Err(error.into()),
        }
    }

    /// Judges a turn that may not be over yet. A failure is none: it is judged again at its end.
    pub fn glimpse(&mut self, turn: &Turn) -> Option<Understood> {
        match self.hearing.as_mut()?.glimpse(turn) {
            Ok(understood) => Some(understood),
            Err(error @ HearingError::EarLost { .. }) => {
                self.ear_lost_in_turn = true;
                self.tell_of_lost_ear(&error);
                None
            }
            Err(HearingError::Grammar(_) | HearingError::Recogniser(_)) => None,
        }
    }

    /// Whether this was said for certain and nothing that goes on from it could be meant, when nobody has spoken for
    /// this long: then the turn needn't be waited out. A readback or a number always is, and so is what is kept or
    /// moves past a warning: what follows may turn it round.
    pub fn is_conclusive(&self, understood: &Understood, silence: Duration) -> bool {
        let sure = understood.heard.certainty == Certainty::Sure;
        match &understood.meaning {
            Meaning::Told(Command::Stop) => true,
            // Whatever follows a correction, it stays one.
            Meaning::Told(command) if self.job().is_correction(command) => sure,
            Meaning::Told(Command::Yes | Command::Next) if self.answer_is_kept() => false,
            // A readback may follow, and then it was said with this.
            Meaning::Told(Command::NotSo | Command::No) if self.job().holding().is_some() => false,
            Meaning::Told(command) => {
                // Where a readback or a number may be said, or an answer is waited for, what follows may matter.
                let weighty = self.grammar.has_pauses() || self.job().asks();
                (!weighty || silence >= self.patience().command)
                    && sure
                    && understood.keep_sound.is_none()
                    && !self.grammar.may_go_on(&understood.heard.words, command)
            }
            Meaning::Called => true,
            Meaning::NotUnderstood | Meaning::Ignored => false,
        }
    }

    /// Whether what was judged before its last pause ended need not be judged again: a sure command. A readback or a number is
    /// judged with all that followed it, and so is what is kept or moves past a warning.
    pub fn still_holds(&self, understood: &Understood) -> bool {
        let kept = match &understood.meaning {
            Meaning::Told(Command::Yes | Command::Next) if self.answer_is_kept() => false,
            Meaning::Told(_) => understood.keep_sound.is_none(),
            Meaning::Called => true,
            Meaning::NotUnderstood | Meaning::Ignored => false,
        };
        kept && understood.heard.certainty == Certainty::Sure
    }

    /// What may be done about what was understood, as far as it may be trusted.
    pub fn allows(&self, trust: &Trust, understood: &Understood) -> Allowed {
        let corrects = match &understood.meaning {
            Meaning::Told(command) => self.job().is_correction(command),
            Meaning::Called | Meaning::NotUnderstood | Meaning::Ignored => false,
        };
        trust.allows(understood, corrects, &self.job().procedure().sounds_like)
    }

    /// Takes a turn that was judged, as far as it may be trusted.
    ///
    /// # Errors
    /// As [`take`](Self::take).
    pub fn take_heard(
        &mut self,
        mut understood: Understood,
        turn: &Turn,
        trust: &Trust,
    ) -> Result<Meaning, ConversationError> {
        match self.allows(trust, &understood) {
            Allowed::Counts => {}
            Allowed::Hushes => {
                self.voice.stop();
                self.voice.sound(Earcon::NotUnderstood);
                understood.meaning = Meaning::Ignored;
            }
            Allowed::Nothing => {
                understood.meaning = Meaning::Ignored;
                understood.near = false;
            }
        }
        if let Some(what) = understood.keep_sound
            && understood.meaning != Meaning::Ignored
        {
            match self.worked.keep_sound(&turn.utterance.samples, what) {
                Ok(kept) => understood.heard.sound = Some(kept),
                Err(error) => {
                    // Without its sound a gate could not be proved, so nothing counts.
                    let told = format!(
                        "I can't keep the sound, so nothing counts until I can: {}",
                        with_causes(&error)
                    );
                    (self.show)(Line::Trouble(&told));
                    self.tell(SystemNotice::CannotRecord);
                    return Ok(Meaning::Ignored);
                }
            }
        }
        if self.keeps_heard && understood.heard.sound.is_none() {
            self.keep_heard(&mut understood, turn);
        }
        self.understood(understood)
    }

    /// Keeps the sound beside what was heard, so that it can be judged later whether it was heard rightly. Nothing hangs on it:
    /// where it can't be kept, the job goes on.
    fn keep_heard(&mut self, understood: &mut Understood, turn: &Turn) {
        let ignored = understood.meaning == Meaning::Ignored;
        if ignored && !understood.near {
            return;
        }
        let at = self.now();
        let kept = self.worked.keep_sound(&turn.utterance.samples, "heard");
        let kept = kept.and_then(|sound| {
            understood.heard.sound = Some(sound);
            match ignored {
                true => self.worked.unheeded(understood.heard.clone(), at),
                false => Ok(()),
            }
        });
        if let Err(error) = kept {
            (self.show)(Line::Trouble(&format!(
                "What was heard can't be kept: {}",
                with_causes(&error)
            )));
        }
    }

    /// Takes a line that was typed.
    ///
    /// # Errors
    /// As [`take`](Self::take).
    pub fn typed(&mut self, line: &str) -> Result<Meaning, ConversationError> {
        let length = line.chars().count();
        if length > MAX_TYPED {
            (self.show)(Line::Trouble(&format!(
                "that line has {length} characters and wasn't taken: type at most {MAX_TYPED}"
            )));
            return Ok(Meaning::Ignored);
        }
        let line = &*harmless(line);
        let meaning = match self.grammar.parse(line) {
            Ok(command) => Meaning::Told(command),
            Err(NotUnderstood::NoWords) => return Ok(Meaning::Ignored),
            Err(_) => Meaning::NotUnderstood,
        };
        let heard = Heard {
            words: line.to_owned(),
            certainty: Certainty::Typed,
            evidence: None,
            sound: None,
        };
        self.understood(Understood {
            meaning,
            heard,
            keep_sound: None,
            clear: true,
            near: true,
            is_speech: true,
            by_talk: false,
        })
    }

    fn understood(&mut self, understood: Understood) -> Result<Meaning, ConversationError> {
        (self.show)(Line::Heard(&understood));
        let Understood { meaning, heard, .. } = understood;
        match &meaning {
            Meaning::Told(Command::Reading { value }) => {
                (self.said_back, self.denied) = (Some(*value), None);
            }
            Meaning::Told(Command::No) => self.denied = self.said_back.take(),
            // A doubtful value is asked about, and then said back.
            Meaning::Told(Command::Yes) | Meaning::Called | Meaning::Ignored => {}
            Meaning::Told(_) | Meaning::NotUnderstood => {
                (self.said_back, self.denied) = (None, None);
            }
        }
        if matches!(meaning, Meaning::Told(_)) {
            self.listening.wake();
        }
        match &meaning {
            Meaning::Told(command) => self.take(Input::Said {
                command: command.clone(),
                heard,
            })?,
            Meaning::NotUnderstood => self.take(Input::NotUnderstood { heard })?,
            Meaning::Called => self.pressed()?,
            Meaning::Ignored => {}
        }
        if !self.worked.job().asks() {
            self.said_back = None;
        }
        Ok(meaning)
    }
}
