//! What is asked by name or number, wherever in the job it is.

use super::state::Pending;
use super::{Job, Out};
use crate::lines::Lines;
use crate::procedure::{Action, FastenerGroup, Gate, Step, as_heard};
use crate::{Command, Id, Language, PhraseFor, Question, Tone};
use std::collections::BTreeMap;

impl Job {
    /// Everything of the job that can be asked about by name, or by the number of a step.
    pub(super) fn to_ask_about(&self) -> Vec<PhraseFor> {
        let mut phrases = self.fasteners_to_ask_about();
        let items = self.procedure.items.iter();
        let items = items.map(|(id, item)| (id, item.name.as_str()));
        let groups = self.procedure.fasteners.iter();
        let groups = groups.map(|(id, group)| (id, group.named()));
        // Where an item and a group have one name, the item is meant.
        let named: BTreeMap<String, &Id> = groups
            .chain(items)
            .map(|(id, name)| (as_heard(name), id))
            .collect();
        phrases.extend(named.into_iter().map(|(words, id)| PhraseFor {
            words,
            command: Command::After { thing: id.clone() },
        }));
        let steps = self.number().map_or(0, |(_, all)| all);
        phrases.extend((1..=steps).map(|number| PhraseFor {
            words: number.to_string(),
            command: Command::ReadStep { number },
        }));
        phrases
    }

    /// "What's the torque on the pinch bolt", and the same by a shorter name.
    fn fasteners_to_ask_about(&self) -> Vec<PhraseFor> {
        let groups = &self.procedure.fasteners;
        let names: Vec<String> = groups.values().map(|it| as_heard(it.named())).collect();
        let mut by_short: BTreeMap<String, Vec<&FastenerGroup>> = BTreeMap::new();
        for (group, name) in groups.values().zip(&names) {
            if let Some((short, _)) = self.shortened(name)
                && !names.contains(&short)
            {
                by_short.entry(short).or_default().push(group);
            }
        }
        let mut phrases = Vec::new();
        for question in Question::ALL {
            let words = |name: String| match question {
                Question::Count => self.lines().how_many_of(name),
                Question::Size | Question::Torque | Question::Reuse => name,
            };
            let answered = |group: &FastenerGroup| match question {
                Question::Size => group.drive.is_some(),
                Question::Torque => group.torque.is_some(),
                Question::Count => group.count > 1,
                Question::Reuse => true,
            };
            let by_name = groups.iter().zip(&names);
            phrases.extend(by_name.filter(|((_, group), _)| answered(group)).map(
                |((id, _), name)| PhraseFor {
                    words: words(name.clone()),
                    command: Command::About {
                        question,
                        fastener: id.clone(),
                    },
                },
            ));
            for (short, alike) in &by_short {
                if alike.iter().any(|group| answered(group)) {
                    phrases.push(PhraseFor {
                        words: words(short.clone()),
                        command: Command::AboutAny {
                            question,
                            name: short.clone(),
                        },
                    });
                }
            }
        }
        phrases
    }

    /// The answers to "upper or lower?".
    pub(super) fn ones_to_choose_from(&self) -> Vec<PhraseFor> {
        let Some(Pending::Which { name, .. }) = &self.core.pending else {
            return Vec::new();
        };
        let alike = self.alike(name).into_iter();
        alike
            .map(|(fastener, rest)| PhraseFor {
                words: rest,
                command: Command::ThatOne { fastener },
            })
            .collect()
    }

    /// The groups with this short name, each with what tells it from the others.
    fn alike(&self, short: &str) -> Vec<(Id, String)> {
        let groups = self.procedure.fasteners.iter();
        let shortened = groups.filter_map(|(id, group)| {
            let (name, rest) = self.shortened(&as_heard(group.named()))?;
            (name == short).then(|| (id.clone(), rest))
        });
        shortened.collect()
    }

    fn shortened(&self, name: &str) -> Option<(String, String)> {
        shortened(name, self.procedure.language)
    }

    /// A question about fasteners of this short name: answered where it is one group, or else it is asked which.
    pub(super) fn about_any(&mut self, question: Question, name: &str, out: &mut Out) {
        match &self.alike(name)[..] {
            [] => self.no_fastener(out),
            [(fastener, _)] => self.about(question, fastener, out),
            several => {
                let rests: Vec<&str> = several.iter().map(|(_, rest)| rest.as_str()).collect();
                let which = self.lines().which_one(rests.join(", "));
                out.say(Tone::Question, which);
                self.core.pending = Some(Pending::Which {
                    question,
                    name: name.to_owned(),
                });
            }
        }
    }

    /// "The upper one."
    pub(super) fn that_one(&mut self, fastener: &Id, asked: Option<Pending>, out: &mut Out) {
        match asked {
            Some(Pending::Which { question, .. }) => self.about(question, fastener, out),
            Some(_) | None => out.say(Tone::Refusal, self.lines().no_question_open()),
        }
    }

    /// "What comes after the caliper": the step after those that are about it, the next ones or else the last.
    pub(super) fn what_comes_after(&self, thing: &Id, out: &mut Out) {
        let Some(frame) = self.core.frames.first() else {
            out.say(Tone::Answer, self.lines().work_comes_next());
            return;
        };
        let list = self.list(&frame.list);
        let is_about = |step: &Step| thing_of(&step.action) == Some(thing) && self.is_chosen(step);
        let ahead = list.iter().skip(frame.at).position(is_about);
        let behind = || {
            let before = list.iter().take(frame.at);
            before
                .clone()
                .rev()
                .position(is_about)
                .map(|back| before.len() - 1 - back)
        };
        let Some(at) = ahead.map(|at| frame.at + at).or_else(behind) else {
            out.say(
                Tone::Answer,
                self.lines().not_in_this_job(self.name_of(thing)),
            );
            return;
        };
        let after = list.iter().skip(at + 1);
        let next = after
            .skip_while(|step| is_about(step))
            .find(|step| self.is_chosen(step));
        let text = next.map_or_else(|| self.lines().closing_the_job(), |it| self.ahead(it));
        let after = self.lines().after_the(self.name_of(thing), text);
        out.say(Tone::Answer, after);
    }

    /// "Read me step twelve", which moves nothing.
    pub(super) fn read_step(&self, number: usize, out: &mut Out) {
        let list = self.core.frames.first().map(|frame| self.list(&frame.list));
        let steps = list.unwrap_or_default().iter();
        let mut steps = steps.filter(|step| self.is_chosen(step));
        match number.checked_sub(1).and_then(|before| steps.nth(before)) {
            Some(step) => {
                let text = self.ahead(step);
                out.say(Tone::Answer, self.lines().step_is(number, text));
            }
            None => out.say(Tone::Answer, self.lines().no_such_step(number)),
        }
    }

    /// "Which parts do I still need": what is used only once and isn't in place for good yet.
    pub(super) fn parts_left(&self, out: &mut Out) {
        let Some(frame) = self.core.frames.first() else {
            out.say(Tone::Answer, self.lines().work_comes_next());
            return;
        };
        let mut parts: Vec<String> = Vec::new();
        for step in self.list(&frame.list).iter().skip(frame.at) {
            let part = self.renewed_by(step).map(|(part, _)| part);
            if let Some(part) = part.filter(|it| self.is_chosen(step) && !parts.contains(it)) {
                parts.push(part);
            }
        }
        match parts.is_empty() {
            true => out.say(Tone::Answer, self.lines().no_parts_left()),
            false => out.list(Tone::Answer, self.lines(), parts, Lines::parts_left),
        }
    }

    /// Whether a step belongs to the variants that were chosen.
    pub(super) fn is_chosen(&self, step: &Step) -> bool {
        let mut when = step.when.iter();
        when.all(|(variant, option)| self.core.chosen.get(variant) == Some(option))
    }

    /// A step as it is told ahead of time.
    pub(super) fn ahead(&self, step: &Step) -> String {
        let Action::Hold(gate) = &step.action else {
            let words = step.short.as_ref().unwrap_or(&step.text);
            return self.filled(words, step.fastener.as_ref());
        };
        let gate = self.procedure.gates.get(gate);
        let fact = gate.and_then(|gate| self.procedure.facts.get(&gate.fact));
        let means = fact.map_or("", |fact| &fact.means);
        match gate.is_none_or(Gate::is_hold_point) {
            true => self.lines().hold_point_ahead(means),
            false => self.lines().check_ahead(means),
        }
    }
}

/// What a step takes off, puts back, loosens or tightens.
fn thing_of(action: &Action) -> Option<&Id> {
    match action {
        Action::Remove(thing) | Action::Refit(thing) => Some(thing.id()),
        Action::Loosen(id) | Action::Tighten(id) => Some(id),
        Action::Do
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Ask { .. }
        | Action::Hold(_) => None,
    }
}

/// A name without what tells it from its like, and that: "oil plug" and "upper" of "upper oil plug", "clamp nut" and
/// "red cable" of "clamp nut of the red cable". Neither is left without a word, and the short name has two at least.
fn shortened(name: &str, language: Language) -> Option<(String, String)> {
    let (short, rest) = match language {
        Language::English => [" of the ", " of ", " on "]
            .iter()
            .find_map(|it| name.split_once(it))
            .or_else(|| name.split_once(' ').map(|(first, short)| (short, first)))?,
        // "tuerca del terminal" and "rojo".
        Language::Spanish => name.rsplit_once(' ')?,
    };
    let last = short.rsplit(' ').next()?;
    let is_a_name = short.contains(' ') && !["de", "del", "el", "la", "los", "las"].contains(&last);
    is_a_name.then(|| (short.to_owned(), rest.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_shortened_by_what_tells_it_from_its_like() {
        let cases = [
            (
                "upper oil plug",
                Language::English,
                Some(("oil plug", "upper")),
            ),
            (
                "clamp nut of the red cable",
                Language::English,
                Some(("clamp nut", "red cable")),
            ),
            ("pinch bolt", Language::English, None),
            ("bolt of the lid", Language::English, None),
            (
                "tuerca del terminal rojo",
                Language::Spanish,
                Some(("tuerca del terminal", "rojo")),
            ),
            ("tornillo de la brida", Language::Spanish, None),
        ];
        for (name, language, wanted) in cases {
            let got = shortened(name, language);
            let got = got
                .as_ref()
                .map(|(short, rest)| (short.as_str(), rest.as_str()));
            assert_eq!(got, wanted, "{name}");
        }
    }
}
