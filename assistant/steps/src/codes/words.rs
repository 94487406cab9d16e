//! The codes of the record in words.
//!
//! What is also said aloud is worded by `grammars/*/sentences.ftl`; what only the record says is English, and stands
//! here.

use super::{
    Cautions, DriveSize, Fasteners, HowLeft, InWords, Kept, Outstanding, Refusal, RunningTorque,
    StepText, TightenAgain, TightenedHow, ToldTorque, TorqueToSet, VoidReason, WantedTorque,
};
use crate::lines::Lines;
use crate::procedure::fill;
use crate::quantity::{DistanceUnit, Pattern, Settling, Stage};
use crate::{Language, Range};
use std::collections::BTreeMap;

/// How a record of the former format ends what was deferred.
pub(super) const FORMERLY_DEFERRED: &str = ", deferred";

/// Whether in a record of the former format what is outstanding at the end is what was deferred before. A reading was
/// "not done" when it was put off, and "not measured" at the end.
pub(super) fn formerly_still(at_the_end: &str, deferred: &str) -> bool {
    let Some(at_the_end) = at_the_end.strip_suffix(FORMERLY_DEFERRED) else {
        return false;
    };
    at_the_end == deferred
        || matches!(
            (at_the_end.strip_suffix(" not measured"), deferred.strip_suffix(" not done")),
            (Some(at_the_end), Some(then)) if at_the_end == then
        )
}

impl<T: InWords> InWords for Kept<T> {
    fn words(&self, language: Language) -> String {
        match self {
            Self::Data(data) => data.words(language),
            Self::Told(told) => told.clone(),
        }
    }
}

impl InWords for Refusal {
    fn words(&self, language: Language) -> String {
        let lines = Lines(language);
        match self {
            Self::NotTheWords => lines.not_the_words(),
            Self::WordsOfAnother => lines.words_of_another(),
            Self::NotTheColour => lines.not_the_colour(),
            Self::SpokenWordsOnly => lines.spoken_words_only(),
            Self::HeardWithDoubt => lines.not_sure_of_words(),
            Self::NextInstead => lines.not_going_on(),
            Self::YesInstead | Self::NoInstead => lines.yes_or_no_is_not_enough(),
            Self::SaidBeforeAsked => "the words were said before they were asked for".to_owned(),
            Self::NotYet => "not yet".to_owned(),
            Self::NotSo => "reported as not so".to_owned(),
            Self::Told(told) => told.clone(),
        }
    }
}

impl Refusal {
    /// What was tried: the command that was said instead of the readback, else the words heard.
    pub fn tried<'a>(&self, heard: &'a str) -> &'a str {
        match self {
            Self::NextInstead => "next",
            Self::YesInstead => "yes",
            Self::NoInstead => "no",
            Self::NotTheWords
            | Self::WordsOfAnother
            | Self::NotTheColour
            | Self::SpokenWordsOnly
            | Self::HeardWithDoubt
            | Self::SaidBeforeAsked
            | Self::NotYet
            | Self::NotSo
            | Self::Told(_) => heard,
        }
    }
}

impl InWords for VoidReason {
    fn words(&self, language: Language) -> String {
        let lines = Lines(language);
        match self {
            Self::TakenUpAgain => lines.was_taken_up_again(),
            Self::ClockSetBack => lines.clock_was_set_back(),
            Self::LongPause => lines.was_long_pause(),
            Self::WaitsForPart => "the job waits for a part".to_owned(),
            Self::ReachedAgain => "its hold point was reached again".to_owned(),
            Self::StepUndoesIt => "the step that was just worked undoes it".to_owned(),
            Self::TakenOver => "somebody else took the job over".to_owned(),
            Self::TakenBack { words } => format!("taken back: “{words}”"),
            Self::Told(told) => told.clone(),
        }
    }
}

impl Cautions {
    /// All that were said, the usual one first.
    pub fn words(&self, language: Language) -> Vec<String> {
        match self {
            Self::Own { own } => std::iter::once(language.usual_caution())
                .chain(own.iter().cloned())
                .collect(),
            Self::Told(told) => told.clone(),
        }
    }
}

impl InWords for StepText {
    fn words(&self, language: Language) -> String {
        match self {
            Self::Open { text, torque, size } => {
                let torque = torque.as_ref().map(|it| it.words(language));
                let size = size.as_ref().map(|it| it.words(language));
                let with = BTreeMap::from([
                    ("torque".to_owned(), torque.unwrap_or_default()),
                    ("size".to_owned(), size.unwrap_or_default()),
                ]);
                fill(text, &with)
            }
            Self::Whole(text) => text.clone(),
        }
    }
}

impl InWords for DriveSize {
    fn words(&self, language: Language) -> String {
        let lines = Lines(language);
        lines.size(self.size.as_str(), lines.shape(self.shape))
    }
}

impl InWords for TorqueToSet {
    fn words(&self, language: Language) -> String {
        let lines = Lines(language);
        let source = self.source.map(|it| format!(" ({it})")).unwrap_or_default();
        let turn = self.angle.map(|angle| match self.to_yield {
            true => lines.further_turn_to_yield(angle),
            false => lines.further_turn(angle),
        });
        let turn = turn.map(|turn| format!(", {turn}")).unwrap_or_default();
        let add = still_to_add(self.still_to_add.as_deref(), lines);
        format!("{}{source}{add}{turn}", self.set)
    }
}

/// " plus the running torque"; empty where nothing is missing.
pub(crate) fn still_to_add(name: Option<&str>, lines: Lines) -> String {
    name.map(|name| format!(" {}", lines.plus_the(name)))
        .unwrap_or_default()
}

impl InWords for Fasteners {
    fn words(&self, _language: Language) -> String {
        match self.count {
            1 => self.name.clone(),
            count => format!("{count} {}", self.name),
        }
    }
}

impl InWords for WantedTorque {
    fn words(&self, language: Language) -> String {
        let lines = Lines(language);
        let torque = format!("{}{}", self.torque, then(self.angle));
        match &self.running {
            Some(RunningTorque::Added(running)) => {
                format!(
                    "{torque}, {}",
                    lines.running_torque_added(running.to_string())
                )
            }
            Some(RunningTorque::NotMeasured(name)) => {
                format!("{torque}{}, NOT measured", still_to_add(Some(name), lines))
            }
            None => torque,
        }
    }
}

impl InWords for ToldTorque {
    fn words(&self, _language: Language) -> String {
        let wrench = self.wrench.as_ref().map(|wrench| format!(", {wrench}"));
        format!(
            "{}{}{}",
            self.set,
            then(self.angle),
            wrench.unwrap_or_default()
        )
    }
}

/// ", then 90°"; empty where no angle follows.
fn then(angle: Option<u16>) -> String {
    angle
        .map(|angle| format!(", then {angle}°"))
        .unwrap_or_default()
}

impl InWords for TightenedHow {
    fn words(&self, _language: Language) -> String {
        match self {
            Self::Passes(ends) => {
                let end = |stage: &Stage| match stage {
                    Stage::Percent(percent) => format!("{percent} %"),
                    Stage::Torque(torque) => torque.to_string(),
                    Stage::Angle(degrees) => format!("{degrees}° further"),
                };
                let all: Vec<String> = ends.iter().map(end).collect();
                format!("{} passes: {}", ends.len(), all.join(", "))
            }
            Self::Order(Pattern::CrissCross) => "criss-cross".to_owned(),
            Self::Order(Pattern::Star) => "in a star".to_owned(),
            Self::Order(Pattern::InTurn) => "one after the other".to_owned(),
            Self::Threads(what) => format!("threads {what}"),
            Self::Threadlocker(what) => format!("threadlocker {what}"),
            Self::Told(told) => told.clone(),
        }
    }
}

impl InWords for Outstanding {
    fn words(&self, language: Language) -> String {
        let lines = Lines(language);
        let name = self.name.as_str();
        match (&self.how, self.deferred) {
            (HowLeft::NotMeasured, true) => lines.not_measured(name),
            (how, true) => lines.left(name, lines.how_deferred(how.words(language))),
            (how, false) => lines.left(name, how.words(language)),
        }
    }
}

impl InWords for HowLeft {
    fn words(&self, language: Language) -> String {
        let lines = Lines(language);
        match self {
            Self::Loose => lines.loose(),
            Self::HandTight => lines.hand_tight(),
            Self::Off => lines.off(),
            Self::As(words) => words.clone(),
            Self::NotMeasured => lines.not_done(),
        }
    }
}

impl InWords for TightenAgain {
    fn words(&self, language: Language) -> String {
        let (after, torque) = (settled(self.after, language), self.torque.words(language));
        Lines(language).tighten_again_after(self.name.as_str(), after, torque)
    }
}

/// After what a joint has settled.
pub(crate) fn settled(after: Settling, language: Language) -> String {
    let lines = Lines(language);
    match after {
        Settling::Minutes(minutes) if minutes.is_multiple_of(60) => lines.hours(minutes / 60),
        Settling::Minutes(minutes) => lines.minutes(minutes),
        Settling::Distance(_, DistanceUnit::Kilometre) => after.to_string(),
        Settling::Distance(value, DistanceUnit::Mile) => lines.miles(value.to_string()),
    }
}

impl Range {
    /// The limits with their unit: "at least 22.0 mm". `None` where there are none.
    pub fn limits(&self, unit: &str) -> Option<String> {
        match (self.min, self.max) {
            (Some(min), Some(max)) => Some(format!("from {min} to {max} {unit}")),
            (Some(min), None) => Some(format!("at least {min} {unit}")),
            (None, Some(max)) => Some(format!("at most {max} {unit}")),
            (None, None) => None,
        }
    }
}

/// The limits of a reading with their unit, from its range; else `formerly`, as a record of the former format has them.
pub fn limits(range: Option<Range>, unit: &str, formerly: Option<&str>) -> Option<String> {
    let limits = range.and_then(|range| range.limits(unit));
    limits.or_else(|| formerly.map(str::to_owned))
}
