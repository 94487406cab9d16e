//! Texts: what stands in braces must be filled in by something.

use super::Reader;
use crate::procedure::code::Code;
use crate::procedure::file::Text;
use crate::procedure::names::{fill, names_in};

/// What a name in braces may be in a step with a fastener group, besides variants.
pub(in crate::procedure) const FROM_FASTENER: [&str; 5] =
    ["count", "torque", "size", "fastener", "fasteners"];

/// What the names in braces of a text may be.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Names {
    /// Only what the include gives: names of things, and words that open gates.
    With,
    /// The option chosen of a variant too, since the text is filled in when it's said.
    Variants,
    /// The fastener group's values too.
    Fastener,
}

impl Reader<'_> {
    /// A name as this file's include makes it: `{corner}-caliper` becomes `left-caliper`.
    pub(super) fn own(&self, loaded: usize, name: &Text) -> String {
        fill(name.as_ref(), &self.gathered.files[loaded].with)
    }

    /// A text with what the include gives filled in; complains of names that nothing will fill in.
    pub(super) fn text(&mut self, loaded: usize, text: &Text, names: Names) -> String {
        let with = &self.gathered.files[loaded].with;
        let stray: Vec<String> = names_in(text.as_ref())
            .into_iter()
            .filter(|name| {
                let given = with.contains_key(*name);
                let variant = names != Names::With && self.known.variants.contains_key(*name);
                let fastener = names == Names::Fastener && FROM_FASTENER.contains(name);
                !(given || variant || fastener)
            })
            .map(str::to_owned)
            .collect();
        let place = self.at(loaded, text.span());
        let remedy = match names {
            Names::With => {
                "only what an include's `with` gives can stand here, since this is the same for every variant"
            }
            Names::Variants => {
                "use the name of a variant, or in a part what the include's `with` gives; {torque} and its like need a step with a `fastener`"
            }
            Names::Fastener => {
                "use {count}, {torque}, {size}, {fastener}, {fasteners}, the name of a variant, or in a part what the include's `with` gives"
            }
        };
        for name in stray {
            self.desk.problem(
                Code::Unknown,
                &place,
                format!("nothing fills in “{{{name}}}”"),
                "in this text",
                remedy,
            );
        }
        fill(text.as_ref(), with)
    }
}
