//! What the technician may say now.

use super::Job;
use super::state::{Core, Pending, Phase};
use crate::lines::Lines;
use crate::procedure::{Action, Procedure};
use crate::quantity::TorqueUnit;
use crate::{Command, Id, Listen, Manner, NumberWanted, PauseReason, PhraseFor, Readback};
use std::collections::{BTreeMap, BTreeSet};

impl Core {
    pub(super) fn new() -> Self {
        Self {
            phase: Phase::Choosing(0),
            chosen: BTreeMap::new(),
            frames: Vec::new(),
            facts: BTreeSet::new(),
            ledger: BTreeMap::new(),
            deferred: BTreeSet::new(),
            pending: None,
            held: false,
            closing: false,
            tightening: None,
            missing: None,
        }
    }
}

impl Job {
    /// All that may be said in this state.
    pub fn listen(&self) -> Listen {
        let mut listen = Listen {
            language: self.procedure.language,
            ..Listen::default()
        };
        if self.outcome().is_some() {
            return listen;
        }
        if self.core.held {
            listen.commands = vec![Command::CarryOn, Command::Stop];
            return listen;
        }
        if matches!(self.core.pending, Some(Pending::Dictation)) {
            listen.commands = vec![Command::Stop];
            listen.dictation = true;
            return listen;
        }
        if self.asks_why() {
            return self.reasons_to_say(listen);
        }
        let gate = self
            .gate_that_holds()
            .and_then(|id| Some((id, self.procedure.gates.get(id)?)));
        if let Some((id, gate)) = gate {
            listen.readback = Some(Readback {
                gate: id.clone(),
                words: gate.readback.clone(),
                alternatives: gate.alternatives.clone(),
                colour: self.colour_asked(),
                decoys: gate.decoys.clone(),
            });
        }
        let step = self.step();
        let action = step.map(|step| &step.action);
        listen.commands = self.commands();
        if let Some(Action::Measure(id)) = action
            && let Some(reading) = self.procedure.readings.get(id)
        {
            listen.number = Some(NumberWanted {
                least: reading.least,
                most: reading.most,
                places: reading.places(),
                unit: reading.unit.clone(),
            });
        }
        if let Phase::Choosing(number) = self.core.phase
            && let Some(variant) = self.procedure.variants.get(number)
        {
            listen
                .phrases
                .extend(variant.options.iter().map(|(option, words)| PhraseFor {
                    words: crate::procedure::as_heard(words),
                    command: Command::Choose {
                        variant: variant.id.clone(),
                        option: option.clone(),
                    },
                }));
        }
        for id in step.map(|step| step.helpers.as_slice()).unwrap_or_default() {
            let say = self
                .procedure
                .branches
                .get(id)
                .map(|branch| branch.say.as_slice());
            listen
                .phrases
                .extend(say.unwrap_or_default().iter().map(|words| PhraseFor {
                    words: words.clone(),
                    command: Command::Helper { branch: id.clone() },
                }));
        }
        listen
            .phrases
            .extend(self.may_defer().into_iter().map(|item| {
                PhraseFor {
                    words: self
                        .lines()
                        .defer_it(crate::procedure::as_heard(&self.name_of(&item))),
                    command: Command::Defer { item },
                }
            }));
        if !self.core.frames.is_empty() && gate.is_none() {
            listen.phrases.extend(self.to_ask_about());
            listen.phrases.extend(self.ones_to_choose_from());
        }
        if self.part_may_be_missed() {
            listen.phrases.extend(self.parts_to_miss());
        }
        listen.phrases.extend(self.names_to_say());
        listen.sounds_like.clone_from(&self.procedure.sounds_like);
        listen
    }

    /// What may be left for later at this point: the thing or reading that the step is about, and once
    /// closing was asked for, all that isn't in place; of these only what the procedure lets wait.
    pub(super) fn may_defer(&self) -> Vec<Id> {
        let mut items = Vec::new();
        if self.gate_that_holds().is_some() {
            return items;
        }
        if let Some(step) = self.step() {
            match &step.action {
                Action::Refit(thing) if self.is_off(thing.id()) => items.push(thing.id().clone()),
                Action::Tighten(id) if self.is_off(id) => items.push(id.clone()),
                Action::Measure(id) => items.push(id.clone()),
                Action::Do
                | Action::Loosen(_)
                | Action::Remove(_)
                | Action::Refit(_)
                | Action::Tighten(_)
                | Action::Wait(_)
                | Action::Inspect
                | Action::Ask { .. }
                | Action::Hold(_) => {}
            }
        }
        let at_the_end = self.core.phase == Phase::Working && self.current().is_none();
        if self.core.closing || at_the_end {
            for id in self.undeferred() {
                if !items.contains(&id) {
                    items.push(id);
                }
            }
        }
        items.retain(|id| self.may_wait(id));
        items
    }

    /// Whether the author lets this item, fastener group or reading be left for later.
    pub(super) fn may_wait(&self, id: &Id) -> bool {
        let Procedure {
            items,
            fasteners,
            readings,
            ..
        } = &*self.procedure;
        let item = items.get(id).map(|item| item.may_wait);
        let group = || fasteners.get(id).map(|group| group.may_wait);
        let reading = || readings.get(id).map(|reading| reading.may_wait);
        item.or_else(group).or_else(reading).unwrap_or(false)
    }

    /// How far a command is from the work at hand: the lower, the earlier "what are my options" names it.
    pub(super) fn how_remote(&self, command: &Command) -> u8 {
        let step = self.step();
        let waits_for_an_answer =
            step.is_some_and(|step| matches!(step.action, Action::Measure(_) | Action::Ask { .. }));
        match command {
            Command::Next if waits_for_an_answer => 4,
            // It goes on by these.
            Command::Next
            | Command::Yes
            | Command::No
            | Command::LaidOut
            | Command::PartHere
            | Command::PauseReason { .. } => 0,
            Command::WhatTorque | Command::WhatSize if self.group_here().is_none() => 4,
            // What is wanted with a tool in the hand.
            Command::NextFastener
            | Command::WhatTorque
            | Command::WhatSize
            | Command::WhatTool
            | Command::WhatLoad
            | Command::WaitsLeft
            | Command::NotSo => 1,
            // What helps when it doesn't go as it should.
            Command::TellMeMore | Command::Trouble | Command::Skip | Command::NoRoom => 2,
            Command::SayAgain
            | Command::Why
            | Command::Back
            | Command::WhereAmI
            | Command::WhatsOff
            | Command::WhatsNext
            | Command::NotYet
            | Command::TakeBack
            | Command::HoldOn
            | Command::Note => 3,
            Command::Finish | Command::Abandon | Command::Help => 5,
            // How it speaks and listens isn't asked for in the middle of a step.
            Command::Manner { .. } | Command::Slower => 6,
            _other => 4,
        }
    }

    fn commands(&self) -> Vec<Command> {
        use Command::{
            Abandon, Back, CarryOn, Finish, Help, HoldOn, HowLongLeft, HowMany, InUnit, LaidOut,
            Next, NextFastener, No, NoRoom, NotSo, NotYet, Note, Okay, PartHere, PartsLeft,
            ReadTheWarning, Reuse, SayAgain, Skip, Slower, Stop, TakeBack, TellMeMore, Threads,
            Trouble, WaitsLeft, WhatLoad, WhatSize, WhatTool, WhatTorque, WhatsNext, WhatsOff,
            WhereAmI, WhichPass, Why, WithAdapter, WrenchSetting, Yes,
        };
        let mut commands = vec![Next, Back, SayAgain, Slower];
        let manners = Manner::SAID.into_iter().filter(|manner| match manner {
            // Six units make many phrases: they may be said where there is a torque, or before the work.
            Manner::Unit(_) => self.core.frames.is_empty() || self.torque_at_hand().is_some(),
            Manner::Slower
            | Manner::Faster
            | Manner::Louder
            | Manner::Softer
            | Manner::AnotherVoice
            | Manner::Shorter
            | Manner::Fuller
            | Manner::ToEverything
            | Manner::ByName
            | Manner::OnPress => true,
        });
        commands.extend(manners.map(|manner| Command::Manner { manner }));
        let at_a_gate = self.gate_that_holds().is_some();
        let action = self.step().map(|step| &step.action);
        let asks = matches!(action, Some(Action::Ask { .. }));
        if self.question_open() || asks {
            commands.extend([Yes, No]);
        } else {
            commands.push(Okay);
        }
        commands.push(NotYet);
        if at_a_gate {
            commands.push(NotSo);
            // Also what a plain "no" would deny, right after it has opened.
            if !commands.contains(&No) {
                commands.push(No);
            }
        }
        match self.core.phase {
            Phase::Choosing(_) => commands.extend([WhereAmI, Abandon]),
            Phase::LayingOut(_) => commands.extend([WhereAmI, LaidOut, Abandon]),
            Phase::Working | Phase::MakingSafe => {
                commands.extend([
                    WhereAmI,
                    WhatsNext,
                    WhatsOff,
                    Why,
                    TellMeMore,
                    ReadTheWarning,
                ]);
                if !at_a_gate {
                    commands.extend([WhatSize, WhatTorque, HowMany, WhatTool, Threads, Reuse]);
                    commands.extend([Trouble, Skip, PartsLeft]);
                    if matches!(action, Some(Action::Tighten(_))) {
                        commands.extend([NextFastener, NoRoom]);
                    }
                    if self.torque_at_hand().is_some() {
                        commands.extend(TorqueUnit::ALL.map(|unit| InUnit { unit }));
                        commands.extend([WrenchSetting, WithAdapter, WhichPass]);
                    }
                }
                if self.stands_at_hand().is_some() {
                    commands.push(WhatLoad);
                }
                if self.any_wait() {
                    commands.push(WaitsLeft);
                }
                commands.extend([HowLongLeft, Note, Finish, Abandon]);
            }
            Phase::Waiting => commands.extend([WhereAmI, WhatsOff, Note, Abandon]),
            Phase::Closed(_) => {}
        }
        if self.part_may_be_missed() {
            commands.push(Command::PartMissing { thing: None });
        }
        if self.core.missing.is_some() && !at_a_gate {
            commands.push(PartHere);
        }
        if self.may_take_back() {
            commands.push(TakeBack);
        }
        commands.extend([HoldOn, CarryOn, Stop, Help]);
        commands
    }
}

/// How a command is named in "what are my options".
pub(super) fn usual_words(command: &Command, lines: Lines) -> Option<String> {
    Some(match command {
        Command::Next => lines.say_next(),
        Command::Back => lines.say_back(),
        Command::SayAgain => lines.say_again(),
        Command::Slower => lines.say_slower(),
        Command::Manner { manner } => match manner {
            Manner::Faster => lines.say_faster(),
            Manner::Louder => lines.say_louder(),
            Manner::Softer => lines.say_softer(),
            Manner::AnotherVoice => lines.say_another_voice(),
            Manner::Shorter => lines.say_shorter(),
            Manner::Fuller => lines.say_fuller(),
            Manner::ToEverything => lines.say_to_everything(),
            Manner::ByName => lines.say_by_name(),
            Manner::OnPress => lines.say_on_press(),
            // "Slower" is named already, and six units would only be in the way.
            Manner::Slower | Manner::Unit(_) => return None,
        },
        Command::TellMeMore => lines.say_tell_me_more(),
        Command::WhereAmI => lines.say_where_am_i(),
        Command::WhatsNext => lines.say_whats_next(),
        Command::WhatSize => lines.say_what_size(),
        Command::WhatTorque => lines.say_what_torque(),
        Command::InUnit { unit } => match unit {
            TorqueUnit::NewtonMetre => lines.say_in_newton_metres(),
            TorqueUnit::PoundFoot => lines.say_in_foot_pounds(),
            // The others can be said too; naming all six would only be in the way.
            TorqueUnit::NewtonCentimetre
            | TorqueUnit::PoundInch
            | TorqueUnit::KilogramForceMetre
            | TorqueUnit::KilogramForceCentimetre => return None,
        },
        Command::WrenchSetting => lines.say_wrench_setting(),
        Command::WithAdapter => lines.say_with_adapter(),
        Command::WhichPass => lines.say_which_pass(),
        Command::WhatLoad => lines.say_what_load(),
        Command::WaitsLeft => lines.say_waits_left(),
        Command::HowLongLeft => lines.say_how_long_left(),
        Command::HowMany => lines.say_how_many(),
        Command::WhatTool => lines.say_what_tool(),
        Command::Threads => lines.say_threads(),
        Command::Reuse => lines.say_reuse(),
        Command::Trouble => lines.say_trouble(),
        Command::Skip => lines.say_skip(),
        Command::PartsLeft => lines.say_parts_left(),
        Command::PartMissing { thing: None } => lines.say_part_missing(),
        Command::PartHere => lines.say_part_here(),
        Command::PauseReason { reason } => match reason {
            PauseReason::Part => lines.say_needed_part(),
            PauseReason::Tool => lines.say_needed_tool(),
            PauseReason::Help => lines.say_needed_help(),
            PauseReason::Break => lines.say_took_break(),
            PauseReason::AnotherJob => lines.say_other_job(),
        },
        Command::NoRoom => lines.say_no_room(),
        Command::LaidOut => lines.say_laid_out(),
        Command::Why => lines.say_why(),
        Command::ReadTheWarning => lines.say_read_the_warning(),
        Command::WhatsOff => lines.say_whats_off(),
        Command::NextFastener => lines.say_next_fastener(),
        Command::Note => lines.say_note(),
        Command::Yes => lines.say_yes(),
        Command::No => lines.say_no(),
        Command::NotYet => lines.say_not_yet(),
        Command::TakeBack => lines.say_take_back(),
        Command::HoldOn => lines.say_hold_on(),
        Command::CarryOn => lines.say_carry_on(),
        Command::Stop => lines.say_stop(),
        Command::Finish => lines.say_finish(),
        Command::Abandon => lines.say_abandon(),
        Command::Help => lines.say_help(),
        // "Next" and "not yet" say enough.
        Command::Okay
        | Command::About { .. }
        | Command::AboutAny { .. }
        | Command::ThatOne { .. }
        | Command::After { .. }
        | Command::ReadStep { .. }
        | Command::PartMissing { thing: Some(_) }
        | Command::NotSo
        | Command::Start { .. }
        | Command::Choose { .. }
        | Command::Dictation { .. }
        | Command::Reading { .. }
        | Command::Readback { .. }
        | Command::Helper { .. }
        | Command::Defer { .. }
        | Command::TakeOver { .. }
        | Command::SignOff { .. } => return None,
    })
}
