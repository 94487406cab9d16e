//! What is laid out before the job: what the author lists, what the steps use up, and what must be new.

use super::Reader;
use super::texts::Names;
use crate::Id;
use crate::procedure::code::Code;
use crate::procedure::file::{ActionFile, StepFile};
use crate::procedure::supplies::{UsedAmount, Uses, most_supplies};
use crate::procedure::{Action, FastenerGroup, Item, LayOut, Step, Thing};
use std::collections::BTreeMap;
use std::time::Duration;

/// The longest that one step may take: a day, in minutes.
const LONGEST_STEP: u32 = 24 * 60;

impl Reader<'_> {
    /// How long a step usually takes.
    pub(super) fn takes(
        &mut self,
        loaded: usize,
        kind: ActionFile,
        step: &StepFile,
    ) -> Option<Duration> {
        let minutes = step.takes_minutes.as_ref()?;
        let (message, remedy) = match (kind, *minutes.as_ref()) {
            (ActionFile::Wait, _) => ("a wait takes its own `minutes`", "take `takes_minutes` out"),
            (_, 1..=LONGEST_STEP) => {
                return Some(Duration::from_secs(u64::from(*minutes.as_ref()) * 60));
            }
            (_, _) => (
                "a step takes between a minute and a day",
                "give whole minutes",
            ),
        };
        let place = self.at(loaded, minutes.span());
        self.desk
            .problem(Code::Value, &place, message, "here", remedy);
        None
    }

    /// What a step uses up.
    pub(super) fn uses(&mut self, loaded: usize, step: &StepFile) -> Vec<Uses> {
        let mut uses = Vec::new();
        for it in &step.consumables {
            let what = self.text(loaded, &it.what, Names::With);
            let remedy = "write how much: “250 ml”, “1 US qt”, “5 g”, or how many: “2”";
            if let Some(amount) = self.parsed::<UsedAmount>(loaded, &it.amount, remedy) {
                uses.push(Uses { what, amount });
            }
        }
        uses
    }

    pub(super) fn lay_out(
        &mut self,
        items: &BTreeMap<Id, Item>,
        fasteners: &BTreeMap<Id, FastenerGroup>,
        steps: &[Step],
    ) -> LayOut {
        let mut lay_out = LayOut::default();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            let file = &it.file.lay_out;
            self.add(loaded, &file.protection, &mut lay_out.protection);
            self.add(loaded, &file.tools, &mut lay_out.tools);
            self.add(loaded, &file.parts, &mut lay_out.parts);
            self.add(loaded, &file.consumables, &mut lay_out.consumables);
        }
        // What the author lists stays as it is worded; only what is missing is added.
        for new in must_be_new(items, fasteners, steps) {
            let named = |part: &String| part.contains(new.one) || part.contains(new.several);
            if !lay_out.parts.iter().any(named) {
                lay_out.parts.push(new.told);
            }
        }
        for (supply, varies) in most_supplies(steps) {
            let amount = match varies {
                true => format!("{}, up to {}", supply.what, supply.amount),
                false => format!("{}, {}", supply.what, supply.amount),
            };
            match lay_out
                .consumables
                .iter_mut()
                .find(|it| **it == supply.what)
            {
                Some(listed) => *listed = amount,
                None => lay_out.consumables.push(amount),
            }
        }
        lay_out
    }
}

/// A thing that is used once only.
struct New<'a> {
    one: &'a str,
    several: &'a str,
    told: String,
}

/// What goes back new, in the order in which it goes back.
fn must_be_new<'a>(
    items: &'a BTreeMap<Id, Item>,
    fasteners: &'a BTreeMap<Id, FastenerGroup>,
    steps: &[Step],
) -> Vec<New<'a>> {
    let mut met: Vec<&Thing> = Vec::new();
    let mut new = Vec::new();
    for step in steps {
        let Action::Refit(thing) = &step.action else {
            continue;
        };
        if met.contains(&thing) {
            continue;
        }
        met.push(thing);
        new.extend(once_only(thing, items, fasteners));
    }
    // A group that is tightened without having been run in by a step of its own.
    for step in steps {
        let Action::Tighten(id) = &step.action else {
            continue;
        };
        let thing = Thing::Fastener(id.clone());
        if !met.contains(&&thing)
            && let Some(group) = fasteners.get(id).filter(|group| group.once_only)
            && !new.iter().any(|it: &New<'_>| it.one == group.name)
        {
            new.push(of_group(group));
        }
    }
    new
}

fn once_only<'a>(
    thing: &Thing,
    items: &'a BTreeMap<Id, Item>,
    fasteners: &'a BTreeMap<Id, FastenerGroup>,
) -> Option<New<'a>> {
    match thing {
        Thing::Item(id) => items.get(id).filter(|item| item.once_only).map(|item| New {
            one: &item.name,
            several: &item.name,
            told: format!("new {}", item.name),
        }),
        Thing::Fastener(id) => fasteners
            .get(id)
            .filter(|group| group.once_only)
            .map(of_group),
    }
}

fn of_group(group: &FastenerGroup) -> New<'_> {
    New {
        one: &group.name,
        several: &group.names,
        told: match group.count {
            1 => format!("new {}", group.name),
            count => format!("{count} new {}", group.names),
        },
    }
}
