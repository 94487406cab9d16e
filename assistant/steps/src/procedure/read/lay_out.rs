//! What is laid out before the job, and bought for it: what the author lists, what the steps use up, and what must be new.

use super::Reader;
use super::texts::Names;
use crate::Id;
use crate::procedure::code::Code;
use crate::procedure::file::{ActionFile, KnownPartFile, PartFile, StepFile, Text};
use crate::procedure::supplies::{UsedAmount, Uses, in_a_line, most_supplies};
use crate::procedure::{Action, FastenerGroup, Item, LayOut, Part, Step, Thing};
use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;
use toml::Spanned;

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

    /// The number that a part is bought by.
    pub(super) fn part_number(&mut self, loaded: usize, number: Option<&Text>) -> Option<String> {
        let number = number?;
        let text = self.text(loaded, number, Names::With);
        if !text.trim().is_empty() {
            return Some(text);
        }
        let place = self.at(loaded, number.span());
        self.desk.problem(
            Code::Value,
            &place,
            "the part number is empty",
            "no number",
            "give the number that the part is bought by, or take `part_number` out",
        );
        None
    }

    /// How many of something are bought.
    pub(super) fn quantity(&mut self, loaded: usize, quantity: &Spanned<u16>) -> u16 {
        if *quantity.as_ref() == 0 {
            let place = self.at(loaded, quantity.span());
            self.desk.problem(
                Code::Value,
                &place,
                "a quantity of nought buys nothing",
                "nought",
                "count them, or take `quantity` out",
            );
        }
        *quantity.as_ref()
    }

    /// A part that the author lists: as it is laid out, and as it is bought.
    fn listed(&mut self, loaded: usize, part: &Spanned<PartFile>) -> (String, Part) {
        let written = |text: &String| Spanned::new(part.span(), text.clone());
        let (what, number, quantity, core_return) = match part.as_ref() {
            PartFile::Words(words) => (words, None, None, false),
            PartFile::Known(KnownPartFile {
                what,
                part_number,
                quantity,
                core_return,
            }) => (what, part_number.as_ref(), *quantity, *core_return),
        };
        let what = self.text(loaded, &written(what), Names::Variants);
        let number = self.part_number(loaded, number.map(written).as_ref());
        let quantity = quantity.map(|it| self.quantity(loaded, &Spanned::new(part.span(), it)));
        let told = match quantity {
            Some(quantity) if quantity != 1 => format!("{quantity} {what}"),
            Some(_) | None => what.clone(),
        };
        let part = Part {
            what,
            number,
            quantity: quantity.map(u32::from),
            always_new: false,
            core_return,
        };
        (told, part)
    }

    /// What is laid out, and the parts that are bought.
    pub(super) fn lay_out(
        &mut self,
        items: &BTreeMap<Id, Item>,
        fasteners: &BTreeMap<Id, FastenerGroup>,
        steps: &[Step],
    ) -> (LayOut, Vec<Part>) {
        let mut lay_out = LayOut::default();
        let mut to_buy = ToBuy::default();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            let file = &it.file.lay_out;
            self.add(loaded, &file.protection, &mut lay_out.protection);
            self.add(loaded, &file.tools, &mut lay_out.tools);
            self.add(loaded, &file.consumables, &mut lay_out.consumables);
            for part in &file.parts {
                let (told, part) = self.listed(loaded, part);
                if !lay_out.parts.contains(&told) {
                    lay_out.parts.push(told);
                    to_buy.rows.push((part, Row::Listed));
                }
            }
        }
        // What the author lists stays as it is worded; only what is missing is added.
        for new in must_be_new(items, fasteners, steps) {
            if !lay_out.parts.iter().any(|part| new.is_named_in(part)) {
                lay_out.parts.push(new.told());
            }
            to_buy.add(new);
        }
        let all = items.values().map(Bought::item);
        let all = all.chain(fasteners.values().map(Bought::group));
        for it in all.filter(|it| !it.part.always_new && it.part.number.is_some()) {
            to_buy.add(it);
        }
        for (supply, varies) in most_supplies(steps) {
            let amount = in_a_line(&supply, varies);
            match lay_out
                .consumables
                .iter_mut()
                .find(|it| **it == supply.what)
            {
                Some(listed) => *listed = amount,
                None => lay_out.consumables.push(amount),
            }
        }
        let parts = to_buy.rows.into_iter().map(|(part, _)| part);
        (lay_out, parts.collect())
    }
}

/// Something that comes off, or holds it, as it is bought.
struct Bought<'a> {
    one: &'a str,
    several: &'a str,
    part: Part,
}

impl<'a> Bought<'a> {
    fn item(item: &'a Item) -> Self {
        Self {
            one: &item.name,
            several: &item.name,
            part: Part {
                what: item.name.clone(),
                number: item.part_number.clone(),
                quantity: Some(u32::from(item.quantity)),
                always_new: item.once_only,
                core_return: item.core_return,
            },
        }
    }

    fn group(group: &'a FastenerGroup) -> Self {
        Self {
            one: &group.name,
            several: &group.names,
            part: Part {
                what: group.named().to_owned(),
                number: group.part_number.clone(),
                quantity: Some(u32::from(group.count)),
                always_new: group.once_only,
                core_return: false,
            },
        }
    }

    /// As it is laid out.
    fn told(&self) -> String {
        let what = &self.part.what;
        match self.part.quantity {
            Some(quantity) if quantity != 1 => format!("{quantity} new {what}"),
            Some(_) | None => format!("new {what}"),
        }
    }

    fn is_named_in(&self, words: &str) -> bool {
        words.contains(self.one) || words.contains(self.several)
    }
}

/// What goes back new, in the order in which it goes back.
fn must_be_new<'a>(
    items: &'a BTreeMap<Id, Item>,
    fasteners: &'a BTreeMap<Id, FastenerGroup>,
    steps: &[Step],
) -> Vec<Bought<'a>> {
    let refitted = steps.iter().filter_map(|step| match &step.action {
        Action::Refit(thing) => Some(thing.clone()),
        Action::Do
        | Action::Loosen(_)
        | Action::Remove(_)
        | Action::Tighten(_)
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Ask { .. }
        | Action::Hold(_) => None,
    });
    // A group that is tightened without having been run in by a step of its own comes last.
    let tightened = steps.iter().filter_map(|step| match &step.action {
        Action::Tighten(id) => Some(Thing::Fastener(id.clone())),
        Action::Do
        | Action::Loosen(_)
        | Action::Remove(_)
        | Action::Refit(_)
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Ask { .. }
        | Action::Hold(_) => None,
    });
    let mut met = BTreeSet::new();
    let first = |thing: &Thing| met.insert(thing.clone());
    let things: Vec<Thing> = refitted.chain(tightened).filter(first).collect();
    let bought = things.iter().filter_map(|thing| match thing {
        Thing::Item(id) => items.get(id).map(Bought::item),
        Thing::Fastener(id) => fasteners.get(id).map(Bought::group),
    });
    bought.filter(|it| it.part.always_new).collect()
}

/// The parts that are bought.
#[derive(Default)]
struct ToBuy {
    rows: Vec<(Part, Row)>,
}

/// Where a row of them is from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Row {
    /// The author lists it.
    Listed,
    /// The author lists it, and it is known what it is.
    Known,
    /// It comes off, or holds what does.
    Thing,
}

impl ToBuy {
    fn add(&mut self, it: Bought<'_>) {
        let listed =
            |(part, row): &&mut (Part, Row)| *row == Row::Listed && it.is_named_in(&part.what);
        if let Some((part, row)) = self.rows.iter_mut().find(listed) {
            *row = Row::Known;
            // Words before the name may be a number: “two new seals”.
            let plain = part.what.starts_with(it.one) || part.what.starts_with(it.several);
            part.quantity = part.quantity.or(it.part.quantity.filter(|_| plain));
            part.number = part.number.take().or(it.part.number);
            part.always_new = it.part.always_new;
            part.core_return |= it.part.core_return;
            return;
        }
        // The same part goes in on the left and on the right.
        let same = |(part, row): &&mut (Part, Row)| {
            *row == Row::Thing && part.what == it.part.what && part.number == it.part.number
        };
        if let Some((part, _)) = self.rows.iter_mut().find(same) {
            let both = part.quantity.zip(it.part.quantity);
            part.quantity = both.map(|(one, other)| one.saturating_add(other));
            return;
        }
        let known = |(part, row): &(Part, Row)| *row == Row::Known && it.is_named_in(&part.what);
        if it.part.number.is_some() || !self.rows.iter().any(known) {
            self.rows.push((it.part, Row::Thing));
        }
    }
}
