//! What a step's words alone can show: rules of wording, each of which raises a doubt.
//!
//! The rules are those of DOE-STD-1029 (one action a step, in the imperative, cautions before the action), applied to
//! single words and signs. Nothing here understands a sentence.

mod words;

use super::{all_steps, text_place};
use crate::Id;
use crate::procedure::code::Code;
use crate::procedure::desk::Desk;
use crate::procedure::speech::seconds_to_say;
use crate::procedure::{Action, Procedure, Step, Thing, WaitTime};
use words::Words;

/// The longest that a step's words may take, in seconds. Common practice, no source.
const LONGEST: f64 = 8.0;

pub(super) fn check(procedure: &Procedure, desk: &mut Desk) {
    let words = Words::of(procedure.language);
    for step in all_steps(procedure) {
        match step.action {
            Action::Hold(_) => continue,
            Action::Ask { .. } => question(step, desk),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Tighten(_)
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect => order(step, words, desk),
        }
        length(procedure, step, desk);
        caution(step, words, desk);
        torque(procedure, step, words, desk);
        limit(procedure, step, words, desk);
        size(procedure, step, desk);
    }
}

fn doubt(desk: &mut Desk, code: Code, step: &Step, message: String, label: &str, remedy: &str) {
    let place = text_place(step, desk);
    desk.doubt(code, step.id.as_str(), &place, message, label, remedy);
}

fn question(step: &Step, desk: &mut Desk) {
    if !step.text.trim_end().ends_with('?') {
        doubt(
            desk,
            Code::NoQuestion,
            step,
            format!("“{}” asks, and its text is no question", step.id),
            "no question mark at its end",
            "word it so that “yes” or “no” answers it",
        );
    }
}

fn order(step: &Step, words: &Words, desk: &mut Desk) {
    let text = step.text.to_lowercase();
    let first = text
        .split(|c: char| !c.is_alphabetic())
        .find(|it| !it.is_empty());
    let Some(first) = first else { return };
    if words.no_order.contains(&first) || words.is_no_order(first) {
        doubt(
            desk,
            Code::NoOrder,
            step,
            format!("the text of “{}” begins with “{first}”", step.id),
            "no order",
            "begin with the verb: “Lift the cover off.”",
        );
    }
    let sentences = step
        .text
        .split_inclusive(['.', '!', ';'])
        .filter(|it| it.ends_with(['.', '!', ';']))
        .filter(|it| it.split_whitespace().count() > 1)
        .count();
    // A point within a figure ends no sentence.
    let ends = [". ", "; ", "! "].iter().any(|end| text.contains(end));
    let second = text.contains(words.and_then) || sentences > 1 && ends;
    if second {
        doubt(
            desk,
            Code::TwoActions,
            step,
            format!("the step “{}” has more than one action", step.id),
            "one action a step",
            "make a step of each; put what explains into `more` or `why`",
        );
    }
}

fn length(procedure: &Procedure, step: &Step, desk: &mut Desk) {
    let seconds = longest(procedure, step);
    if seconds > LONGEST {
        doubt(
            desk,
            Code::TooLong,
            step,
            format!(
                "the text of “{}” takes about {seconds:.0} s to be said",
                step.id
            ),
            "too long to be kept in mind",
            "say the action alone; put the rest into `more`",
        );
    }
}

/// The words with the longest option of each variant.
fn longest(procedure: &Procedure, step: &Step) -> f64 {
    let mut with: std::collections::BTreeMap<String, String> = procedure
        .variants
        .iter()
        .filter_map(|variant| {
            let longest = variant
                .options
                .iter()
                .map(|(_, say)| say)
                .max_by_key(|say| say.len())?;
            Some((variant.id.to_string(), longest.clone()))
        })
        .collect();
    if let Some(group) = step
        .fastener
        .as_ref()
        .and_then(|id| procedure.fasteners.get(id))
    {
        let torque = group
            .torque
            .iter()
            .flat_map(|it| it.all())
            .map(ToString::to_string);
        with.insert(
            "torque".to_owned(),
            torque.max_by_key(String::len).unwrap_or_default(),
        );
        let size = group
            .drive
            .map(|it| format!("{} {}", it.size, it.shape.name()));
        with.insert("size".to_owned(), size.unwrap_or_default());
        with.insert("count".to_owned(), group.count.to_string());
        with.insert("fastener".to_owned(), group.name.clone());
        with.insert("fasteners".to_owned(), group.named().to_owned());
    }
    seconds_to_say(&crate::procedure::fill(&step.text, &with))
}

fn caution(step: &Step, words: &Words, desk: &mut Desk) {
    let text = step.text.to_lowercase();
    let Some(found) = words.cautions.iter().find(|it| has(&text, it)) else {
        return;
    };
    doubt(
        desk,
        Code::CautionInText,
        step,
        format!("the text of “{}” warns: “{found}”", step.id),
        "said with the action, not before it",
        "put it into [step.warning], which is said before the action",
    );
}

fn torque(procedure: &Procedure, step: &Step, words: &Words, desk: &mut Desk) {
    let text = step.text.to_lowercase();
    let tightens = words.tighten.iter().any(|it| has(&text, it)) || torques(&text);
    let of_group = step
        .fastener
        .as_ref()
        .and_then(|id| procedure.fasteners.get(id));
    let known = of_group.is_some_and(|group| group.torque.is_some());
    let by_hand = words.by_hand.iter().any(|it| text.contains(it));
    if tightens && !known && !by_hand && !matches!(step.action, Action::Ask { .. }) {
        doubt(
            desk,
            Code::TorqueUnsaid,
            step,
            format!("“{}” tells to tighten and knows no torque", step.id),
            "tightened to what?",
            "use `action = \"tighten\"` with a group that has a torque; for what is tightened by hand say “by hand”",
        );
    }
}

fn limit(procedure: &Procedure, step: &Step, words: &Words, desk: &mut Desk) {
    if let Action::Measure(id) = &step.action {
        let reading = procedure.readings.get(id);
        if reading.is_some_and(|it| it.limits().is_none()) && !is_worked_with(procedure, id) {
            doubt(
                desk,
                Code::LimitUnsaid,
                step,
                format!("“{}” measures what has no limit", step.id),
                "good or bad?",
                "give the reading `min` or `max`",
            );
        }
        return;
    }
    let text = step.text.to_lowercase();
    let first = text.split_whitespace().next().unwrap_or_default();
    let gauged = || words.gauges.iter().any(|it| has(&text, it));
    let measures = words.measure.contains(&first) || words.look.contains(&first) && gauged();
    if measures {
        doubt(
            desk,
            Code::LimitUnsaid,
            step,
            format!("“{}” tells to measure and takes no reading", step.id),
            "what may it be?",
            "use `action = \"measure\"` with a reading that has its limits",
        );
    }
}

/// Whether a reading goes into a table of times or a torque, or is only kept.
fn is_worked_with(procedure: &Procedure, id: &Id) -> bool {
    let running = |it: &crate::procedure::FastenerGroup| it.running.as_ref() == Some(id);
    let table = |step: &Step| {
        step.action.wait().is_some_and(|wait| match &wait.time {
            WaitTime::ByTemperature { reading, .. } => reading == id,
            WaitTime::Fixed(_) | WaitTime::Until(_) => false,
        })
    };
    procedure.fasteners.values().any(running) || all_steps(procedure).any(table)
}

fn size(procedure: &Procedure, step: &Step, desk: &mut Desk) {
    let turned = match &step.action {
        Action::Loosen(id) | Action::Tighten(id) | Action::Remove(Thing::Fastener(id)) => id,
        Action::Remove(Thing::Item(_))
        | Action::Refit(_)
        | Action::Do
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Ask { .. }
        | Action::Hold(_) => return,
    };
    let Some(group) = procedure.fasteners.get(turned) else {
        return;
    };
    if group.drive.is_none() {
        let place = desk.place(&format!("fastener group {turned}"));
        desk.doubt(
            Code::SizeUnsaid,
            turned.as_str(),
            &place,
            format!("“{turned}” is turned, and no tool's size is given"),
            "with which tool?",
            "add its `drive`, such as { shape = \"hex\", size = \"13 mm\" }",
        );
    }
}

/// Whether “torque” is what is to be done: it heads the order, or follows “and” or “then”. Elsewhere it is a noun (“the
/// torque wrench”).
fn torques(text: &str) -> bool {
    let words: Vec<&str> = text
        .split(|c: char| !c.is_alphanumeric())
        .filter(|it| !it.is_empty())
        .collect();
    words.iter().enumerate().any(|(at, word)| {
        let before = at.checked_sub(1).map(|before| words[before]);
        let heads = matches!(before, None | Some("and" | "then"));
        *word == "torque" && heads && words.get(at + 1) != Some(&"wrench")
    })
}

/// Whether words stand in a text as whole words.
fn has(text: &str, words: &str) -> bool {
    text.match_indices(words).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + words.len()..].chars().next();
        let part_of_word = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '-');
        !part_of_word(before) && !part_of_word(after)
    })
}
