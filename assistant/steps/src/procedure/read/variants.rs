//! Variants: what is asked at the start.

use super::Reader;
use crate::Id;
use crate::procedure::Variant;
use crate::procedure::code::Code;
use std::collections::BTreeSet;

/// The most combinations of options. The checks go through all of them.
pub(super) const MAX_COMBINATIONS: usize = 256;

impl Reader<'_> {
    pub(super) fn variants(&mut self) -> Vec<Variant> {
        let mut variants = Vec::new();
        let mut combinations: usize = 1;
        for variant in &self.gathered.files[0].file.variant {
            let options = variant.options.as_ref();
            let name = variant.id.as_ref();
            if options.len() < 2 {
                let place = self.at(0, variant.options.span());
                self.desk.problem(
                    Code::Value,
                    &place,
                    format!("the variant “{name}” has nothing to choose from"),
                    "fewer than two options",
                    "give at least two options",
                );
            }
            let before = combinations;
            combinations = combinations.saturating_mul(options.len().max(1));
            if before <= MAX_COMBINATIONS && combinations > MAX_COMBINATIONS {
                let place = self.at(0, variant.options.span());
                self.desk.problem(
                    Code::Value,
                    &place,
                    "the variants make too many combinations to check",
                    format!("more than {MAX_COMBINATIONS} from here on"),
                    "make several procedures of it",
                );
            }
            let mut names = BTreeSet::new();
            let mut words = BTreeSet::new();
            for option in options {
                if !Id::is_well_formed(option.id.as_ref()) {
                    let place = self.at(0, option.id.span());
                    self.desk.problem(
                        Code::Name,
                        &place,
                        format!("“{}” can't be a name", option.id.as_ref()),
                        "not a name",
                        "use lower-case letters, digits and hyphens, beginning with a letter",
                    );
                }
                let say = crate::procedure::names::as_heard(option.say.as_ref());
                let twice = if !names.insert(option.id.as_ref()) {
                    Some(option.id.span())
                } else if say.is_empty() || !words.insert(say) {
                    Some(option.say.span())
                } else {
                    None
                };
                if let Some(span) = twice {
                    let place = self.at(0, span);
                    self.desk.problem(
                        Code::Duplicate,
                        &place,
                        format!("two options of “{name}” can't be told apart"),
                        "the second one, or no words at all",
                        "give each option a name and words of its own",
                    );
                }
            }
            if self.gathered.settled.contains_key(name) {
                continue;
            }
            variants.push(Variant {
                id: Id::new(name),
                ask: variant.ask.clone(),
                options: options
                    .iter()
                    .map(|option| (Id::new(option.id.as_ref()), option.say.as_ref().clone()))
                    .collect(),
            });
        }
        variants
    }
}
