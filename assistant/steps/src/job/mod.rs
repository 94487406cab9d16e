//! A job: one procedure being worked, as a state machine without I/O.
//!
//! [`Job::take`] is given what happened and what time it is, and answers with what to say, listen for,
//! write down and show. The same inputs at the same times always give the same effects, so a job is
//! resumed and verified by replaying them.

mod answers;
mod by_name;
mod closing;
mod digest;
mod gates;
mod laying_out;
mod ledger;
mod missing_part;
mod moves;
mod offers;
mod particulars;
mod pauses;
mod people;
mod questions;
mod seen;
mod settling;
mod sizes;
mod stands;
mod state;
mod taking_back;
mod time_left;
mod torque;
mod waits;

use crate::codes::{Cautions, InWords, Refusal, VoidReason};
use crate::lines::Lines;
use crate::pause::length;
use crate::procedure::{Procedure, Signal, Step};
use crate::quantity::{Toolbox, TorqueUnit};
use crate::{
    Certainty, Colour, Command, Effect, Entry, Heard, Id, Input, Manner, Moment, Outcome, People,
    Question, Release, Sentence, Tone,
};
pub use digest::STATE_VERSION;
use laying_out::AT_ONCE;
use questions::capital;
pub use seen::{PatternSeen, Place, TorqueSeen};
use serde::{Deserialize, Serialize};
use state::{Core, Known, List, Pending, Phase, Transient};
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;
use std::time::Duration;
pub use taking_back::CORRECTION_WINDOW;
use taking_back::Recent;

/// Said before a job that is rehearsed.
pub const REHEARSAL: &str = "This is a rehearsal. Its record is no proof of work.";

/// A clock that was set back by more than this counts as a pause of unknown length.
const CLOCK_SLACK: Duration = Duration::from_secs(60);

/// Whether work is done, or only gone through.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mode {
    /// On the vehicle: gates open only to words that were heard.
    #[default]
    Work,
    /// A rehearsal: gates may be typed, and the record says so.
    Rehearsal,
    /// Gone through with recordings instead of a microphone: gates open as at work, but nobody stood at a vehicle, and
    /// the record says so.
    Recordings,
}

impl Mode {
    /// Whether a record of this proves that work was done.
    pub fn proves_work(self) -> bool {
        match self {
            Self::Work => true,
            Self::Rehearsal | Self::Recordings => false,
        }
    }
}

/// How much is said.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Wording {
    /// Each step in full.
    #[default]
    Long,
    /// The short wording where there is one.
    Short,
}

/// What a job is opened with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// Work or rehearsal.
    pub mode: Mode,
    /// The unit that the technician's torque wrench is marked in.
    pub unit: TorqueUnit,
    /// How much is said.
    pub wording: Wording,
    /// The technician's own tools, where there is a tools file. They stay those of the beginning: a job taken up
    /// again has the tools it was begun with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tools: Option<Toolbox>,
    /// Who may work here, and who begins.
    #[serde(default, skip_serializing_if = "People::is_nobody")]
    pub people: People,
    /// How many seconds each step usually took in earlier jobs, where there were any: only for telling how
    /// long is left.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub usual_seconds: BTreeMap<Id, u64>,
    /// Whether gates ask for a colour where they can. A record made before there were colours has none.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub colours: bool,
    /// Whether what was just said can be taken back for a few seconds. In a record from before there were corrections it
    /// can't.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub corrections: bool,
    /// Whether what is to be laid out is told five things at a time. In an older record each list was told whole, and
    /// there were no more "next"s than lists.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub in_fives: bool,
    /// Who answers for the versions of procedure and vehicle sheet, where the shop releases them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub released: Vec<Release>,
    /// Whether "hold on" is put on the record once it is over, and the reason of a longer pause asked. In an older record
    /// it isn't.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub pauses: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            mode: Mode::Work,
            unit: TorqueUnit::NewtonMetre,
            wording: Wording::Long,
            tools: None,
            people: People::default(),
            usual_seconds: BTreeMap::new(),
            colours: false,
            corrections: false,
            in_fives: false,
            released: Vec::new(),
            pauses: false,
        }
    }
}

/// One procedure being worked.
#[derive(Debug, Clone)]
pub struct Job {
    procedure: Arc<Procedure>,
    settings: Settings,
    core: Core,
    known: Known,
    transient: Transient,
    /// What was just kept and can still be taken back.
    recent: Option<Recent>,
    /// The gate that held after the newest input, and the colour that it asks for.
    asked: Option<(Id, Colour)>,
    /// The time of the newest input.
    now: Moment,
}

impl Job {
    /// A job that hasn't begun; [`Input::Begin`] opens it.
    pub fn new(procedure: Arc<Procedure>, settings: Settings) -> Self {
        Self {
            procedure,
            settings,
            core: Core::new(),
            known: Known::default(),
            transient: Transient::default(),
            recent: None,
            asked: None,
            now: Moment::default(),
        }
    }

    /// What it says by itself, in the procedure's language.
    pub(super) fn lines(&self) -> Lines {
        Lines(self.procedure.language)
    }

    /// The procedure being worked.
    pub fn procedure(&self) -> &Procedure {
        &self.procedure
    }

    /// What it was opened with.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// How it ended, once it has.
    pub fn outcome(&self) -> Option<Outcome> {
        match self.core.phase {
            Phase::Closed(outcome) => Some(outcome.into()),
            Phase::Choosing(_)
            | Phase::LayingOut(_)
            | Phase::Working
            | Phase::MakingSafe
            | Phase::Waiting => None,
        }
    }

    /// The facts that are true now.
    pub fn facts(&self) -> impl Iterator<Item = &Id> {
        self.core.facts.iter()
    }

    /// What was deferred, by name.
    pub fn deferred(&self) -> impl Iterator<Item = &Id> {
        self.core.deferred.iter()
    }

    /// The gate that holds the job now.
    pub fn holding(&self) -> Option<&Id> {
        self.gate_that_holds()
    }

    /// The step that is being worked: `None` before the first, at a gate, and after the last.
    pub fn step(&self) -> Option<&Step> {
        if self.gate_that_holds().is_some() {
            None
        } else {
            self.current()
        }
    }

    /// Whether a question of the assistant's own waits for yes or no.
    pub fn asks(&self) -> bool {
        self.question_open()
    }

    /// A number for all that the gates hang on, quick to have, the same within one run only: the state but
    /// for things in the ledger that no step's `when_off` asks about, since these decide nothing but
    /// whether the job may be closed.
    pub fn gate_key(&self) -> u64 {
        let mut hasher = DefaultHasher::new();
        let core = &self.core;
        (
            core.phase,
            &core.chosen,
            &core.frames,
            &core.facts,
            &core.deferred,
        )
            .hash(&mut hasher);
        // Which part is missing decides nothing.
        let unnamed = Pending::PartMissing { part: None };
        let pending = match &core.pending {
            Some(Pending::PartMissing { .. }) => Some(&unnamed),
            pending => pending.as_ref(),
        };
        let missing = core.missing.as_ref().map(|it| (it.phase, &it.frames));
        (pending, missing, core.held, core.closing, core.tightening).hash(&mut hasher);
        if let Some(recent) = &self.recent {
            recent.gate_key().hash(&mut hasher);
        }
        let branches = self
            .procedure
            .branches
            .values()
            .flat_map(|branch| &branch.steps);
        let all = self
            .procedure
            .steps
            .iter()
            .chain(&self.procedure.make_safe)
            .chain(branches);
        for thing in all.filter_map(|step| step.when_off.as_ref()) {
            self.is_off(thing).hash(&mut hasher);
        }
        hasher.finish()
    }

    /// Takes what happened at the time `now`, and says what to do about it.
    pub fn take(&mut self, input: Input, now: Moment) -> Vec<Effect> {
        if self.outcome().is_some() {
            return Vec::new();
        }
        self.now = now;
        let mut out = Out::default();
        let held = self.gate_that_holds().cloned();
        let voided = self.pause(&input, now, &mut out);
        let asks_anew = held.as_ref() != self.gate_that_holds();
        // Noise and the clock don't show that anybody is at the vehicle.
        let somebody = match &input {
            Input::Begin | Input::Said { .. } | Input::Resumed => true,
            Input::NotUnderstood { .. } | Input::Woke => false,
        };
        let before = self.snapshot();
        match input {
            Input::Begin => self.begin(&mut out),
            Input::Said {
                command: Command::Readback { .. },
                heard,
            } if asks_anew => self.said_before_asked(&heard, &mut out),
            Input::Said { command, heard } if self.is_correction(&command) => {
                self.take_back(&heard, &mut out);
            }
            // Nearly the gate's words, right after them: "… and the hose isn't loose".
            Input::NotUnderstood { heard } if self.gate_just_opened().is_some() => {
                self.take_back(&heard, &mut out);
            }
            Input::Said { command, heard } => self.said(command, heard, now, &mut out),
            Input::NotUnderstood { heard } => self.not_understood(&heard, &mut out),
            Input::Woke => {}
            Input::Resumed => self.resumed(&voided, now, &mut out),
        }
        self.remember(before, &out);
        self.end_correction_window(&mut out);
        self.start_wait(now, &mut out);
        self.ring(now, &mut out);
        if somebody {
            self.transient.last_input = Some(now);
        }
        if !out.rest.is_empty() {
            self.transient.rest = std::mem::take(&mut out.rest);
        }
        if let Some(group) = self.torque_here().cloned() {
            self.transient.last_torque = Some(group);
        }
        self.tell_unsourced(&mut out);
        self.asked = self
            .colour_asked()
            .and_then(|colour| Some((self.gate_that_holds()?.clone(), colour)));
        self.close_up(out)
    }

    /// Keeps what was said for "say again".
    fn close_up(&mut self, out: Out) -> Vec<Effect> {
        let effects = out.effects;
        let said: Vec<_> = effects
            .iter()
            .filter_map(|effect| match effect {
                Effect::Say(sentence) => Some((sentence.tone, sentence.text.clone())),
                Effect::Hush | Effect::Manner(_) | Effect::Write(_) | Effect::Wake(_) => None,
            })
            .collect();
        if !said.is_empty() && !out.repeated {
            self.transient.last_answer = said;
        }
        effects
    }

    fn begin(&mut self, out: &mut Out) {
        let procedure = Arc::clone(&self.procedure);
        let rehearsal = self.settings.mode == Mode::Rehearsal;
        let recordings = self.settings.mode == Mode::Recordings;
        out.write(Entry::Opened {
            procedure: procedure.id.clone(),
            title: procedure.title.clone(),
            sha256: procedure.sha256.clone(),
            rehearsal,
            recordings,
            vehicle: procedure.vehicle.clone(),
            values: procedure.values.clone(),
            cautions: Cautions::Own {
                own: procedure.cautions.clone(),
            },
            language: procedure.language,
        });
        if rehearsal {
            out.say(Tone::Warning, self.lines().rehearsal());
        }
        if recordings {
            out.say(Tone::Warning, self.lines().recordings());
        }
        out.say(
            Tone::Answer,
            format!(
                "{}. {}. {}",
                procedure.title,
                capital(&procedure.vehicle),
                procedure.values
            ),
        );
        self.tell_all_unsourced(out);
        out.say(Tone::Warning, self.lines().usual_caution());
        for caution in &procedure.cautions {
            out.say(Tone::Warning, caution.clone());
        }
        self.begun_by(out);
        self.ask_or_lay_out(0, out);
    }

    /// Asks the variant of this number, or goes on to the laying out.
    fn ask_or_lay_out(&mut self, number: usize, out: &mut Out) {
        match self.procedure.variants.get(number) {
            Some(variant) => {
                self.core.phase = Phase::Choosing(number);
                out.say(Tone::Question, variant.ask.clone());
            }
            None => self.lay_out(0, out),
        }
    }

    fn said(&mut self, command: Command, heard: Heard, now: Moment, out: &mut Out) {
        if self.core.held && !matches!(command, Command::CarryOn | Command::Stop) {
            return;
        }
        if !matches!(command, Command::Note | Command::Dictation { .. }) {
            self.transient.just_deferred = None;
        }
        let keeps_list = matches!(
            command,
            Command::SayAgain | Command::Slower | Command::Stop | Command::Manner { .. }
        );
        let rest = match keeps_list {
            true => Vec::new(),
            false => std::mem::take(&mut self.transient.rest),
        };
        if matches!(self.core.pending, Some(Pending::Dictation))
            && self.dictated(&command, &heard, out)
        {
            return;
        }
        if self.said_after_opening(&command, out) || self.said_why(&command, &heard, out) {
            return;
        }
        if heard.certainty == Certainty::Doubtful && self.doubted(&command, &heard, out) {
            return;
        }
        let said_again = std::mem::replace(
            &mut self.transient.said_again,
            matches!(command, Command::SayAgain | Command::Slower),
        );
        let question_open = self.core.pending.is_some();
        match command {
            Command::Yes => self.answered(true, &heard, now, out),
            Command::No => self.answered(false, &heard, now, out),
            Command::NotYet => self.not_so(Refusal::NotYet, &heard, out),
            Command::NotSo => self.not_so(Refusal::NotSo, &heard, out),
            Command::Stop => out.effects.push(Effect::Hush),
            Command::HoldOn => {
                self.core.held = true;
                self.core.pending = None;
                self.transient.held_since = Some(now);
                out.say(Tone::Answer, self.lines().holding_on());
            }
            Command::CarryOn if self.core.held => self.carry_on(now, out),
            Command::CarryOn => {
                self.core.pending = None;
                self.go_on(rest, out);
            }
            // Whoever asks twice for the same has it slowly, digit by digit.
            Command::SayAgain => self.repeat(said_again, out),
            Command::Slower => {
                out.effects.push(Effect::Manner(Manner::Slower));
                self.repeat(true, out);
            }
            Command::ThatOne { fastener } => {
                let asked = self.core.pending.take();
                self.that_one(&fastener, asked, out);
            }
            // A question that is open stays so.
            Command::Manner { manner } => self.speak(manner, out),
            // Anything else than an answer drops the question; it is asked again when it matters.
            command => {
                if question_open {
                    self.core.pending = None;
                }
                self.act(command, &heard, now, out);
            }
        }
    }

    fn act(&mut self, command: Command, heard: &Heard, now: Moment, out: &mut Out) {
        match command {
            Command::Next => self.next(heard, now, out),
            Command::Okay => self.okay(heard, now, out),
            Command::Back => self.back(out),
            Command::Choose { variant, option } => self.choose(&variant, &option, out),
            Command::Readback { gate, colour } => self.readback(&gate, colour, heard, out),
            Command::Reading { value } => self.reading(value, heard, out),
            Command::Helper { branch } => self.helper(&branch, out),
            Command::Defer { item } => self.defer(item, out),
            Command::TakeOver { person } => self.take_over(person, heard, out),
            Command::SignOff { person } => self.sign_off(person, heard, out),
            Command::Finish => self.finish(out),
            Command::Abandon => self.abandon(out),
            Command::Note => {
                self.core.pending = Some(Pending::Dictation);
                out.say(Tone::Question, self.lines().go_ahead_with_note());
            }
            Command::Dictation { .. } => out.say(Tone::Refusal, self.lines().say_note_first()),
            Command::NextFastener => self.next_fastener(out),
            Command::TellMeMore => self.tell_more(out),
            Command::WhereAmI => self.where_am_i(out),
            Command::WhatsNext => self.whats_next(out),
            Command::WhatSize => self.about_this(Question::Size, out),
            Command::WhatTorque => self.about_this(Question::Torque, out),
            Command::InUnit { unit } => self.in_unit(unit, out),
            Command::WrenchSetting => self.wrench_setting(out),
            Command::WithAdapter => self.with_adapter(out),
            Command::WhichPass => self.which_pass(out),
            Command::WhatLoad => self.what_load(out),
            Command::WaitsLeft => self.waits_left(now, out),
            Command::HowLongLeft => self.how_long_is_left(out),
            Command::HowMany => self.about_this(Question::Count, out),
            Command::WhatTool => self.what_tool(out),
            Command::Threads => self.threads(out),
            Command::Reuse => self.about_this(Question::Reuse, out),
            Command::About { question, fastener } => self.about(question, &fastener, out),
            Command::AboutAny { question, name } => self.about_any(question, &name, out),
            Command::After { thing } => self.what_comes_after(&thing, out),
            Command::ReadStep { number } => self.read_step(number, out),
            Command::PartsLeft => self.parts_left(out),
            Command::PartMissing { thing } => self.part_missing(thing, out),
            Command::PartHere => self.part_here(out),
            Command::PauseReason { .. } => {
                out.say(Tone::Refusal, self.lines().no_question_open());
            }
            Command::NoRoom => self.no_room(out),
            Command::LaidOut => self.laid_out(out),
            Command::Trouble => self.trouble(out),
            Command::Skip => self.skip(out),
            Command::Why => self.why(out),
            Command::ReadTheWarning => self.read_the_warning(out),
            Command::WhatsOff => self.whats_off(out),
            Command::Help => self.help(out),
            Command::TakeBack => self.take_back(heard, out),
            Command::Manner { manner } => self.speak(manner, out),
            Command::Start { .. } => out.say(Tone::Refusal, self.lines().already_open()),
            Command::Yes
            | Command::No
            | Command::NotYet
            | Command::NotSo
            | Command::Stop
            | Command::HoldOn
            | Command::CarryOn
            | Command::SayAgain
            | Command::Slower
            | Command::ThatOne { .. } => {}
        }
    }

    fn not_understood(&mut self, heard: &Heard, out: &mut Out) {
        if self.core.held {
            return;
        }
        if matches!(self.core.pending, Some(Pending::Dictation)) {
            self.note(heard, String::new(), out);
            return;
        }
        if self.asks_why() {
            self.core.pending = None;
            self.tell_place(out);
            return;
        }
        // At a gate the words are named, so that nobody has to guess them; elsewhere one short sentence.
        match self.gate_that_holds().cloned() {
            Some(gate) => self.refuse_at(&gate, heard, Refusal::NotTheWords, out),
            None => out.say(Tone::Refusal, self.lines().did_not_get_that()),
        }
    }

    fn resumed(&mut self, voided: &[Id], now: Moment, out: &mut Out) {
        let last = self.transient.last_input.unwrap_or(now);
        out.write(Entry::Resumed {
            away_seconds: now.since(last).as_secs(),
        });
        self.take_up(voided, out);
        self.ask_why(length(last, now), out);
    }

    /// The work goes on after a pause, without the facts that were true before it.
    fn take_up(&mut self, voided: &[Id], out: &mut Out) {
        // A fastener that was called out may not have been tightened: the count begins again.
        self.core.tightening = None;
        self.core.pending = None;
        self.core.held = false;
        self.asked = None;
        self.recent = None;
        self.transient.held_since = None;
        out.say(
            Tone::Answer,
            self.lines().taking_up_again(self.procedure.title.as_str()),
        );
        self.tell_standing(voided, out);
        self.tell_last_done(out);
    }

    /// Voids facts after a pause: the world may have changed. Returns those that were true.
    fn pause(&mut self, input: &Input, now: Moment, out: &mut Out) -> Vec<Id> {
        let Some(last) = self.transient.last_input else {
            return Vec::new();
        };
        let clock_set_back = last.since(now) > CLOCK_SLACK;
        let away = now.since(last);
        let restarted = matches!(input, Input::Resumed);
        let stale: Vec<Id> = self
            .core
            .facts
            .iter()
            .filter(|fact| {
                restarted || clock_set_back || self.good_for(fact).is_none_or(|good| away > good)
            })
            .cloned()
            .collect();
        let why = if restarted {
            VoidReason::TakenUpAgain
        } else if clock_set_back {
            VoidReason::ClockSetBack
        } else {
            VoidReason::LongPause
        };
        for fact in &stale {
            self.void(fact, why.clone(), out);
        }
        if !stale.is_empty() && !restarted {
            // What was asked or begun before the pause isn't answered by what comes after it.
            self.core.pending = None;
            let why = why.words(self.procedure.language);
            out.say(Tone::Answer, self.lines().asking_again(why));
            self.tell_place(out);
        }
        stale
    }

    /// The signal word of a hazard.
    pub(super) fn signal(&self, signal: Signal) -> String {
        self.lines().0.signal(signal)
    }

    fn current(&self) -> Option<&Step> {
        let frame = self.core.frames.last()?;
        self.list(&frame.list).get(frame.at)
    }

    fn list(&self, list: &List) -> &[Step] {
        match list {
            List::Main => &self.procedure.steps,
            List::Branch(id) => self
                .procedure
                .branches
                .get(id)
                .map_or(&[], |branch| &branch.steps),
            List::MakeSafe => &self.procedure.make_safe,
        }
    }
}

/// Collects effects.
#[derive(Default)]
struct Out {
    effects: Vec<Effect>,
    /// The answer only repeats one: it doesn't become the last answer itself.
    repeated: bool,
    /// What of a list isn't told yet.
    rest: Vec<String>,
}

impl Out {
    fn say(&mut self, tone: Tone, text: impl Into<String>) {
        self.effects.push(Effect::Say(Sentence::new(tone, text)));
    }

    /// A sentence with a list in it, of which only so much is told at once; "go on" tells the rest.
    fn list(
        &mut self,
        tone: Tone,
        lines: Lines,
        mut things: Vec<String>,
        sentence: impl FnOnce(Lines, String) -> String,
    ) {
        let rest = things.split_off(things.len().min(AT_ONCE));
        let list = things.join("; ");
        let told = match rest.is_empty() {
            true => sentence(lines, list),
            false => format!(
                "{} {}",
                sentence(lines, lines.and_more(list)),
                lines.go_on_for_more()
            ),
        };
        self.say(tone, told);
        self.rest.extend(rest);
    }

    fn write(&mut self, entry: Entry) {
        self.effects.push(Effect::Write(entry));
    }
}
