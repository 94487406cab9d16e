//! Commands and their words.

use super::{Stake, command_grammar};
use crate::said::{folded, plain};
use crate::wording;
use std::collections::HashMap;
use std::sync::LazyLock;
use steps::Language;
use steps::quantity::TorqueUnit;
use steps::{Command, Manner, PauseReason, Question};

/// What hangs on hearing a command rightly.
pub fn stake(command: &Command) -> Stake {
    match command {
        question if question.is_question() => Stake::Ask,
        // Staying where one is costs nothing, and help is asked about before it is given.
        Command::NotYet
        | Command::NotSo
        | Command::HoldOn
        | Command::TakeBack
        | Command::Trouble
        | Command::Dictation { .. } => Stake::Ask,
        Command::Stop => Stake::Stop,
        Command::Reading { .. } => Stake::Number,
        Command::Readback { .. } => Stake::Gate,
        // Whatever else is said must be heard as clearly as any command; so must one that is new.
        _ => Stake::Move,
    }
}

/// The commands whose words are the grammar's alone, with their rule. A command that carries data has none:
/// its words come from the procedure.
fn rule(command: &Command) -> Option<&'static str> {
    Some(match command {
        Command::Next => "next",
        Command::Okay => "okay",
        Command::Back => "back",
        Command::SayAgain => "say-again",
        Command::Slower => "slower",
        Command::Manner { manner } => match manner {
            Manner::Slower => "slower",
            Manner::Faster => "faster",
            Manner::Louder => "louder",
            Manner::Softer => "softer",
            Manner::AnotherVoice => "another-voice",
            Manner::Shorter => "shorter",
            Manner::Fuller => "fuller",
            Manner::ToEverything => "to-everything",
            Manner::ByName => "by-name",
            Manner::OnPress => "on-press",
            Manner::Unit(unit) => match unit {
                TorqueUnit::NewtonMetre => "wrench-in-newton-metres",
                TorqueUnit::NewtonCentimetre => "wrench-in-newton-centimetres",
                TorqueUnit::PoundFoot => "wrench-in-foot-pounds",
                TorqueUnit::PoundInch => "wrench-in-inch-pounds",
                TorqueUnit::KilogramForceMetre => "wrench-in-kilogram-metres",
                TorqueUnit::KilogramForceCentimetre => "wrench-in-kilogram-centimetres",
            },
        },
        Command::TellMeMore => "tell-me-more",
        Command::WhereAmI => "where-am-i",
        Command::WhatsNext => "whats-next",
        Command::WhatSize => "what-size",
        Command::WhatTorque => "what-torque",
        Command::InUnit { unit } => match unit {
            TorqueUnit::NewtonMetre => "in-newton-metres",
            TorqueUnit::NewtonCentimetre => "in-newton-centimetres",
            TorqueUnit::PoundFoot => "in-foot-pounds",
            TorqueUnit::PoundInch => "in-inch-pounds",
            TorqueUnit::KilogramForceMetre => "in-kilogram-metres",
            TorqueUnit::KilogramForceCentimetre => "in-kilogram-centimetres",
        },
        Command::WrenchSetting => "wrench-setting",
        Command::WithAdapter => "with-adapter",
        Command::WhichPass => "which-pass",
        Command::WhatLoad => "what-load",
        Command::WaitsLeft => "waits-left",
        Command::HowLongLeft => "how-long-left",
        Command::HowMany => "how-many",
        Command::WhatTool => "what-tool",
        Command::Threads => "threads",
        Command::Reuse => "reuse",
        Command::Why => "why",
        Command::ReadTheWarning => "read-the-warning",
        Command::WhatsOff => "whats-off",
        Command::NextFastener => "next-fastener",
        Command::Note => "note",
        Command::Yes => "yes",
        Command::No => "no",
        Command::NotYet => "not-yet",
        Command::NotSo => "not-so",
        Command::TakeBack => "take-back",
        Command::HoldOn => "hold-on",
        Command::CarryOn => "carry-on",
        Command::Stop => "stop",
        Command::Finish => "finish",
        Command::Abandon => "abandon",
        Command::Help => "help",
        Command::Trouble => "trouble",
        Command::Skip => "skip",
        Command::PartsLeft => "parts-left",
        Command::PartMissing { thing: None } => "part-missing",
        Command::PartHere => "part-here",
        Command::PauseReason { reason } => match reason {
            PauseReason::Part => "needed-part",
            PauseReason::Tool => "needed-tool",
            PauseReason::Help => "needed-help",
            PauseReason::Break => "took-break",
            PauseReason::AnotherJob => "other-job",
        },
        Command::NoRoom => "no-room",
        Command::LaidOut => "laid-out",
        Command::About { .. }
        | Command::AboutAny { .. }
        | Command::ThatOne { .. }
        | Command::After { .. }
        | Command::ReadStep { .. }
        | Command::PartMissing { thing: Some(_) }
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

/// The most phrases that a rule of the grammar lists; its tests keep it below.
const MAX_PHRASES: usize = 200;

/// All that a rule lets be said, the usual first.
pub(super) fn listed(language: Language, rule: &str) -> Vec<String> {
    let phrases = command_grammar(language)
        .expand(rule, MAX_PHRASES)
        .unwrap_or_default();
    phrases
        .into_iter()
        .map(|phrase| phrase.words.join(" "))
        .collect()
}

/// The phrases that mean the command; none for one whose words come from the procedure.
pub(super) fn phrases(language: Language, command: &Command) -> Vec<String> {
    let listed = rule(command).map(|rule| listed(language, rule));
    listed.unwrap_or_default()
}

/// All the ways to say a command; none for one that carries data of the procedure.
pub fn all_words(language: Language, command: &Command) -> Vec<String> {
    phrases(language, command)
}

/// The usual words of a command ("next"), for naming it aloud. `None` for a command that carries data.
pub fn usual_words(language: Language, command: &Command) -> Option<String> {
    // The shortest of the first two: a rule that begins with an optional part lists its long form first.
    let mut listed = phrases(language, command).into_iter();
    let first = listed.next()?;
    Some(
        listed
            .next()
            .filter(|second| first.starts_with(second.as_str()))
            .unwrap_or(first),
    )
}

/// The ways to say a phrase of the procedure's own: with "start" before a procedure's name or without, with
/// "defer" or another such word before an item's name and never without.
pub(super) fn ways_to_say(language: Language, words: &str, command: &Command) -> Vec<String> {
    // A name may hold a size ("M8 bolts"): it is said in words.
    let words = plain(&wording::spoken(language, words));
    if words.is_empty() {
        return Vec::new();
    }
    let after = |prefixes: &[String], words: &str| -> Vec<String> {
        let bare = without_prefix(words, prefixes);
        let articles: &[&str] = match language {
            Language::English => &["the "],
            Language::Spanish => &["el ", "la ", "los ", "las "],
        };
        let without = articles.iter().find_map(|it| bare.strip_prefix(it));
        let name = without.unwrap_or(bare);
        prefixes
            .iter()
            .map(|prefix| format!("{prefix} {name}"))
            .collect()
    };
    match command {
        Command::Start { .. } => {
            let prefixes = listed(language, "start");
            let mut ways = vec![words.clone()];
            ways.extend(after(&prefixes, &words));
            ways
        }
        Command::Defer { .. } => after(&listed(language, "defer-prefix"), &words),
        Command::After { .. } => after(&listed(language, "after-prefix"), &words),
        Command::ReadStep { .. } => after(&listed(language, "read-step-prefix"), &words),
        Command::PartMissing { thing: Some(_) } => {
            after(&listed(language, "part-missing-prefix"), &words)
        }
        Command::ThatOne { .. } => match language {
            Language::English => vec![words.clone(), format!("the {words} one")],
            Language::Spanish => vec![words],
        },
        Command::About { question, .. } | Command::AboutAny { question, .. } => match question {
            Question::Size => after(&listed(language, "size-of-prefix"), &words),
            Question::Torque => after(&listed(language, "torque-of-prefix"), &words),
            Question::Reuse => after(&listed(language, "reuse-prefix"), &words),
            Question::Count => vec![words],
        },
        Command::Choose { .. }
        | Command::TakeOver { .. }
        | Command::SignOff { .. }
        | Command::Helper { .. }
        | Command::Readback { .. }
        | Command::Reading { .. }
        | Command::Dictation { .. }
        | Command::Next
        | Command::Okay
        | Command::Back
        | Command::SayAgain
        | Command::Slower
        | Command::Manner { .. }
        | Command::TellMeMore
        | Command::WhereAmI
        | Command::WhatsNext
        | Command::WhatSize
        | Command::WhatTorque
        | Command::InUnit { .. }
        | Command::WrenchSetting
        | Command::WithAdapter
        | Command::WhichPass
        | Command::WhatLoad
        | Command::WaitsLeft
        | Command::HowLongLeft
        | Command::HowMany
        | Command::WhatTool
        | Command::Threads
        | Command::Reuse
        | Command::Trouble
        | Command::Skip
        | Command::PartsLeft
        | Command::PartMissing { thing: None }
        | Command::PartHere
        | Command::PauseReason { .. }
        | Command::NoRoom
        | Command::LaidOut
        | Command::Why
        | Command::ReadTheWarning
        | Command::WhatsOff
        | Command::NextFastener
        | Command::Note
        | Command::Yes
        | Command::No
        | Command::NotYet
        | Command::NotSo
        | Command::TakeBack
        | Command::HoldOn
        | Command::CarryOn
        | Command::Stop
        | Command::Finish
        | Command::Abandon
        | Command::Help => vec![words],
    }
}

/// The words without the longest of these before them, where something is left.
pub(super) fn without_prefix<'a>(words: &'a str, prefixes: &[String]) -> &'a str {
    let rest = |prefix: &String| words.strip_prefix(prefix.as_str())?.strip_prefix(' ');
    prefixes
        .iter()
        .filter_map(rest)
        .min_by_key(|rest| rest.len())
        .unwrap_or(words)
}

/// The command that these words mean in some state of a job.
pub(super) fn anywhere(language: Language, words: &str) -> Option<Command> {
    type Meanings = HashMap<(Language, String), Command>;
    static ALL: LazyLock<Meanings> = LazyLock::new(|| {
        let said = |language: Language, command: &Command| {
            let phrases = phrases(language, command).into_iter();
            phrases
                .map(|words| ((language, folded(&words)), command.clone()))
                .collect::<Vec<_>>()
        };
        let of = |language| {
            Command::ALL_PLAIN
                .iter()
                .flat_map(move |it| said(language, it))
        };
        Language::ALL.into_iter().flat_map(of).collect()
    });
    ALL.get(&(language, folded(words))).cloned()
}
