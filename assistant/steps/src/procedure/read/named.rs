//! Names: each is given once, and each that is used exists.

use super::Reader;
use super::texts::FROM_FASTENER;
use crate::Id;
use crate::procedure::Thing;
use crate::procedure::code::Code;
use crate::procedure::file::Text;
use crate::procedure::names::distance;
use std::collections::{BTreeMap, BTreeSet};

/// Names that something has.
#[derive(Default)]
pub(super) struct Known {
    pub variants: BTreeMap<String, BTreeSet<String>>,
    pub facts: BTreeSet<String>,
    pub gates: BTreeSet<String>,
    pub items: BTreeSet<String>,
    pub fasteners: BTreeSet<String>,
    pub readings: BTreeSet<String>,
    pub branches: BTreeSet<String>,
    pub steps: BTreeSet<String>,
}

impl Reader<'_> {
    /// Notes a name as known; well formed and given once.
    pub(super) fn name(
        &mut self,
        what: &str,
        loaded: usize,
        id: &Text,
        known: fn(&mut Known) -> &mut BTreeSet<String>,
    ) {
        let place = self.at(loaded, id.span());
        let text = self.own(loaded, id);
        if !Id::is_well_formed(&text) {
            self.desk.problem(
                Code::Name,
                &place,
                format!("“{text}” can't be a name"),
                "not a name",
                "use lower-case letters, digits and hyphens, beginning with a letter",
            );
        }
        if known(&mut self.known).insert(text.clone()) {
            self.desk.places.insert(format!("{what} {text}"), place);
        } else {
            self.desk.problem(
                Code::Duplicate,
                &place,
                format!("two {what}s are called “{text}”"),
                "the second one",
                "give one of them another name; a part that is included twice takes part of its names from `with`",
            );
        }
    }

    /// Notes all names but those of steps, which are noted as the steps are read.
    pub(super) fn names(&mut self) {
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            let file = &it.file;
            for variant in &file.variant {
                let options = variant.options.as_ref().iter();
                let options = options.map(|option| option.id.as_ref().clone()).collect();
                let name = variant.id.as_ref().clone();
                let taken = FROM_FASTENER.contains(&name.as_str());
                if self.known.variants.insert(name.clone(), options).is_some() || taken {
                    let place = self.at(loaded, variant.id.span());
                    self.desk.problem(
                        Code::Duplicate,
                        &place,
                        format!("the name “{name}” is taken"),
                        "the second one",
                        "give the variant another name",
                    );
                }
            }
            for value in &file.from_sheet {
                // Only whether the options are there is of interest.
                self.when(loaded, &value.when);
                if self.known.variants.contains_key(value.name.as_ref()) {
                    let place = self.at(loaded, value.name.span());
                    self.desk.problem(
                        Code::Duplicate,
                        &place,
                        format!("a variant is called “{}” already", value.name.as_ref()),
                        "this value",
                        "give one of them another name",
                    );
                }
            }
            for fact in &file.fact {
                self.name("fact", loaded, &fact.id, |known| &mut known.facts);
            }
            for gate in &file.gate {
                self.name("gate", loaded, &gate.id, |known| &mut known.gates);
            }
            for item in &file.item {
                self.name("item", loaded, &item.id, |known| &mut known.items);
            }
            for group in &file.fastener {
                self.name("fastener group", loaded, &group.id, |known| {
                    &mut known.fasteners
                });
            }
            for reading in &file.reading {
                self.name("reading", loaded, &reading.id, |known| &mut known.readings);
            }
            for branch in &file.branch {
                self.name("branch", loaded, &branch.id, |known| &mut known.branches);
            }
        }
        // Both are deferred by name, so an item and a group can't share one.
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for group in &it.file.fastener {
                let name = self.own(loaded, &group.id);
                if self.known.items.contains(&name) {
                    let place = self.at(loaded, group.id.span());
                    self.desk.problem(
                        Code::Duplicate,
                        &place,
                        format!("an item and a fastener group are both called “{name}”"),
                        "this group",
                        "give one of them another name, since either can be deferred by it",
                    );
                }
            }
        }
    }

    /// Resolves a name, or says that nothing has it.
    pub(super) fn known(
        &mut self,
        what: &str,
        loaded: usize,
        id: &Text,
        known: fn(&Known) -> &BTreeSet<String>,
    ) -> Option<Id> {
        let text = self.own(loaded, id);
        let all = known(&self.known);
        if all.contains(&text) {
            return Some(Id::new(&text));
        }
        let near = nearest(&text, all);
        let remedy = match near {
            Some(near) => format!("did you mean “{near}”?"),
            None => format!("define it as a [[{}]]", what.replace(" group", "")),
        };
        let place = self.at(loaded, id.span());
        self.desk.problem(
            Code::Unknown,
            &place,
            format!("no {what} is called “{text}”"),
            format!("unknown {what}"),
            remedy,
        );
        None
    }

    pub(super) fn facts_known(&mut self, loaded: usize, ids: &[Text]) -> Vec<Id> {
        ids.iter()
            .filter_map(|id| self.known("fact", loaded, id, |known| &known.facts))
            .collect()
    }

    pub(super) fn branch_known(&mut self, loaded: usize, id: &Text) -> Option<Id> {
        self.known("branch", loaded, id, |known| &known.branches)
    }

    pub(super) fn fastener_known(&mut self, loaded: usize, id: &Text) -> Option<Id> {
        self.known("fastener group", loaded, id, |known| &known.fasteners)
    }

    pub(super) fn item_or_fastener(&mut self, loaded: usize, id: &Text) -> Option<Thing> {
        let name = self.own(loaded, id);
        if self.known.items.contains(&name) {
            return Some(Thing::Item(Id::new(&name)));
        }
        self.fastener_known(loaded, id).map(Thing::Fastener)
    }
}

/// The known name that differs least, if it differs little. Long names aren't tried: each comparison
/// takes time with the square of the length.
fn nearest<'a>(name: &str, known: &'a BTreeSet<String>) -> Option<&'a String> {
    let short = |name: &str| name.len() <= 64;
    known
        .iter()
        .filter(|other| short(name) && short(other))
        .map(|other| (distance(name, other), other))
        .filter(|(distance, _)| *distance <= 3)
        .min()
        .map(|(_, other)| other)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_is_found_if_it_is_near() {
        let known = BTreeSet::from(["supported".to_owned(), "secured".to_owned()]);
        assert_eq!(nearest("suported", &known).unwrap(), "supported");
        assert_eq!(nearest("wheel-off", &known), None);
    }
}
