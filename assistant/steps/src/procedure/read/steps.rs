//! Steps, and the branches that hold steps.

use super::Reader;
use super::texts::Names;
use crate::Id;
use crate::procedure::code::Code;
use crate::procedure::file::{ActionFile, StepFile, Text};
use crate::procedure::load::StepIn;
use crate::procedure::names::as_heard;
use crate::procedure::{Branch, Step, Warning};
use std::collections::BTreeMap;

impl Reader<'_> {
    pub(super) fn branches(&mut self) -> BTreeMap<Id, Branch> {
        let mut branches = BTreeMap::new();
        let mut said: BTreeMap<String, String> = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for branch in &it.file.branch {
                let id = self.own(loaded, &branch.id);
                let steps: Vec<Step> = branch
                    .step
                    .iter()
                    .filter_map(|step| self.step(loaded, step))
                    .collect();
                if branch.step.is_empty() {
                    let place = self.at(loaded, branch.id.span());
                    self.desk.problem(
                        Code::MissingKey,
                        &place,
                        format!("the branch “{id}” has no steps"),
                        "this branch",
                        "add at least one [[branch.step]]",
                    );
                }
                let mut say = Vec::new();
                for phrase in &branch.say {
                    let heard = as_heard(&self.text(loaded, phrase, Names::With));
                    if let Some(other) = said.insert(heard.clone(), id.clone()) {
                        let place = self.at(loaded, phrase.span());
                        self.desk.problem(
                            Code::Duplicate,
                            &place,
                            format!("“{heard}” leads to “{other}” already"),
                            "said twice",
                            "give each branch words of its own",
                        );
                    }
                    say.push(heard);
                }
                branches.insert(Id::new(&id), Branch { say, steps });
            }
        }
        branches
    }

    pub(super) fn steps(&mut self, steps: &[StepIn]) -> Vec<Step> {
        steps
            .iter()
            .filter_map(|it| self.step(it.loaded, &it.step))
            .collect()
    }

    pub(super) fn make_safe(&mut self) -> Vec<Step> {
        self.gathered.files[0]
            .file
            .make_safe
            .iter()
            .filter_map(|step| self.step(0, step))
            .collect()
    }

    fn step(&mut self, loaded: usize, step: &StepFile) -> Option<Step> {
        let id = self.id_of(loaded, step)?;
        self.name("step", loaded, id, |known| &mut known.steps);
        // A step for an option that the vehicle doesn't have may name values that it has none of.
        let when = self.when(loaded, &step.when)?;
        let Some(action) = &step.action else {
            let place = self.at(loaded, id.span());
            self.desk.problem(
                Code::MissingKey,
                &place,
                format!("the step “{}” has no action", self.own(loaded, id)),
                "this step",
                "add `action = …`: do, loosen, remove, refit, tighten, measure, wait, inspect, ask or hold",
            );
            return None;
        };
        let kind = *action.as_ref();
        let typed = self.action(loaded, id, kind, step);
        let fastener = match kind {
            // Done to nothing in the ledger, and yet its torque may be asked for.
            ActionFile::Do | ActionFile::Inspect => step
                .fastener
                .as_ref()
                .and_then(|group| self.fastener_known(loaded, group)),
            ActionFile::Loosen
            | ActionFile::Remove
            | ActionFile::Refit
            | ActionFile::Tighten
            | ActionFile::Measure
            | ActionFile::Wait
            | ActionFile::Ask
            | ActionFile::Hold => typed.as_ref().and_then(|action| action.fastener().cloned()),
        };
        self.has_text_unless_hold(loaded, id, kind, step);
        if let Some(text) = &step.text {
            let place = self.at(loaded, text.span());
            let name = format!("text {}", self.own(loaded, id));
            self.desk.places.insert(name, place);
        }
        let names = if step.fastener.is_some() {
            Names::Fastener
        } else {
            Names::Variants
        };
        let mut text =
            |text: &Option<Text>| text.as_ref().map(|text| self.text(loaded, text, names));
        let (words, short, more) = (text(&step.text), text(&step.short), text(&step.more));
        let why = text(&step.why);
        let warning = step.warning.as_ref().map(|warning| Warning {
            signal: warning.signal,
            text: self.text(loaded, &warning.text, names),
        });
        let tools = step
            .tools
            .iter()
            .map(|tool| self.text(loaded, tool, Names::Variants))
            .collect();
        let when_off = step
            .when_off
            .as_ref()
            .and_then(|id| self.item_or_fastener(loaded, id));
        let helpers = step
            .helpers
            .iter()
            .filter_map(|id| self.branch_known(loaded, id))
            .collect();
        let takes = self.takes(loaded, kind, step);
        let consumables = self.uses(loaded, step);
        let (needs, voids) = (
            self.facts_known(loaded, &step.needs),
            self.facts_known(loaded, &step.voids),
        );
        Some(Step {
            id: Id::new(&self.own(loaded, id)),
            action: typed?,
            fastener,
            text: words.unwrap_or_default(),
            short,
            more,
            why,
            warning,
            takes,
            consumables,
            tools,
            needs,
            voids,
            again: step.again,
            when,
            when_off: when_off.map(|thing| thing.id().clone()),
            helpers,
        })
    }

    /// The id of an entry that isn't an include.
    fn id_of<'s>(&mut self, loaded: usize, step: &'s StepFile) -> Option<&'s Text> {
        let (code, place, message, remedy) = match (&step.id, &step.include) {
            (Some(id), None) => return Some(id),
            (_, Some(include)) => (
                Code::StrayKey,
                include.span(),
                "only a [[step]] can be an include",
                "write the steps out here",
            ),
            (None, None) => {
                let first = step.text.as_ref().map(Text::span);
                let first = first.or_else(|| step.action.as_ref().map(toml::Spanned::span));
                // An entry with neither has no place of its own; the file's id stands in for it.
                let fallback = self.gathered.files[loaded].file.id.span();
                (
                    Code::MissingKey,
                    first.unwrap_or(fallback),
                    "a step needs an id, or an include",
                    "add `id = …`",
                )
            }
        };
        let place = self.at(loaded, place);
        self.desk
            .problem(code, &place, message, "this entry", remedy);
        None
    }

    fn has_text_unless_hold(
        &mut self,
        loaded: usize,
        id: &Text,
        kind: ActionFile,
        step: &StepFile,
    ) {
        let is_hold = kind == ActionFile::Hold;
        let (code, span, message, remedy) = match (&step.text, is_hold) {
            (Some(_), false) | (None, true) => return,
            (Some(text), true) => (
                Code::StrayKey,
                text.span(),
                "a hold has no text of its own",
                "put it into the gate's `ask`",
            ),
            (None, false) => (
                Code::MissingKey,
                id.span(),
                "a step needs its `text`",
                "add the action in the imperative: `text = …`",
            ),
        };
        let place = self.at(loaded, span);
        self.desk
            .problem(code, &place, message, "this step", remedy);
    }

    /// The options that a step is for, but for those that the sheet of the vehicle settles; `None` if it settles another.
    pub(super) fn when(
        &mut self,
        loaded: usize,
        options: &BTreeMap<String, Text>,
    ) -> Option<BTreeMap<Id, Id>> {
        let mut when = BTreeMap::new();
        let mut applies = true;
        for (variant, option) in options {
            let options = self.known.variants.get(variant);
            if options.is_some_and(|options| options.contains(option.as_ref())) {
                if let Some((settled, _)) = self.gathered.settled.get(variant) {
                    applies &= settled == option.as_ref();
                    continue;
                }
                when.insert(Id::new(variant), Id::new(option.as_ref()));
                continue;
            }
            let remedy = match options {
                Some(options) => {
                    let options: Vec<&str> = options.iter().map(String::as_str).collect();
                    format!("“{variant}” has: {}", options.join(", "))
                }
                None => "use an option of a [[variant]] of this procedure".to_owned(),
            };
            let place = self.at(loaded, option.span());
            self.desk.problem(
                Code::Unknown,
                &place,
                format!(
                    "there is no variant “{variant}” with an option “{}”",
                    option.as_ref()
                ),
                "unknown option",
                remedy,
            );
        }
        applies.then_some(when)
    }
}
