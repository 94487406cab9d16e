//! From the author's keys to types: resolves names, reads quantities.

mod actions;
mod fasteners;
mod gates;
mod lay_out;
mod named;
mod phases;
mod plausible;
mod readings;
mod said;
mod stands;
mod steps;
mod texts;
mod variants;

use super::code::Code;
use super::desk::{Desk, Place};
use super::load::Gathered;
use super::{Procedure, VehicleSheet};
use crate::Id;
use named::Known;
use std::time::Duration;
pub(super) use texts::FROM_FASTENER;
use texts::Names;

/// The most things of one kind, and the most steps. A technician couldn't keep track of more, and reading
/// stays quick whatever the file.
const MAX_OF_A_KIND: usize = 300;

pub(super) fn procedure(
    mut gathered: Gathered,
    desk: &mut Desk,
    sha256: String,
) -> Option<Procedure> {
    let steps_in = std::mem::take(&mut gathered.steps);
    let mut reader = Reader {
        desk,
        gathered: &gathered,
        known: Known::default(),
    };
    if reader.too_many(steps_in.len()) {
        return None;
    }
    reader.metadata(steps_in.is_empty());
    reader.one_language();
    reader.names();
    reader.said();
    let sounds_like = reader.sounds_like();
    let variants = reader.variants();
    let gates = reader.gates();
    let facts = reader.facts(&gates);
    let items = reader.items();
    let fasteners = reader.fasteners(&variants);
    reader.plausible();
    let readings = reader.readings();
    let branches = reader.branches();
    let steps = reader.steps(&steps_in);
    let phases = reader.phases(&steps);
    let make_safe = reader.make_safe();
    let cautions = reader.cautions();
    let (lay_out, parts) = reader.lay_out(&items, &fasteners, &steps);
    let main = &gathered.files.first()?.file;
    let (vehicle, values, sheet) = match gathered.sheet {
        Some(sheet) => {
            let vehicle = match sheet.names.first() {
                Some(name) => format!("{name}, {}", sheet.vehicle),
                None => sheet.vehicle,
            };
            let values = main
                .values
                .as_ref()
                .map(|own| match *own == sheet.values_from {
                    true => own.clone(),
                    false => format!("{own} {}", sheet.values_from),
                });
            let told = VehicleSheet {
                id: sheet.id,
                names: sheet.names,
                values: gathered.taken,
            };
            (Some(vehicle), values, Some(told))
        }
        None => (main.vehicle.clone(), main.values.clone(), None),
    };
    Some(Procedure {
        id: Id::new(main.id.as_ref()),
        language: main.language,
        title: main.title.as_ref()?.as_ref().clone(),
        vehicle: vehicle?,
        values: values?,
        usual_time: Duration::from_secs(u64::from(main.minutes?) * 60),
        cautions,
        sheet,
        is_practice: gathered.is_practice,
        variants,
        facts,
        gates,
        lay_out,
        parts,
        items,
        fasteners,
        readings,
        branches,
        steps,
        phases,
        make_safe,
        sounds_like,
        texts: gathered.texts,
        sha256,
    })
}

struct Reader<'a> {
    desk: &'a mut Desk,
    gathered: &'a Gathered,
    known: Known,
}

impl Reader<'_> {
    fn at(&self, loaded: usize, span: std::ops::Range<usize>) -> Place {
        Place {
            source: self.gathered.files[loaded].source,
            span,
        }
    }

    fn too_many(&mut self, steps: usize) -> bool {
        let of = |count: fn(&super::File) -> usize| -> usize {
            self.gathered.files.iter().map(|it| count(&it.file)).sum()
        };
        let counts = [
            ("step", steps),
            ("make_safe", of(|file| file.make_safe.len())),
            ("fact", of(|file| file.fact.len())),
            ("gate", of(|file| file.gate.len())),
            ("item", of(|file| file.item.len())),
            ("fastener", of(|file| file.fastener.len())),
            ("reading", of(|file| file.reading.len())),
            ("branch", of(|file| file.branch.len())),
            ("variant", of(|file| file.variant.len())),
            ("phase", of(|file| file.phase.len())),
        ];
        let place = self.at(0, self.gathered.files[0].file.id.span());
        let mut too_many = false;
        for (kind, count) in counts {
            if count > MAX_OF_A_KIND {
                too_many = true;
                self.desk.problem(
                    Code::Value,
                    &place,
                    format!("the procedure has {count} [[{kind}]] entries"),
                    format!("more than {MAX_OF_A_KIND}"),
                    "make several procedures of it",
                );
            }
        }
        too_many
    }

    fn metadata(&mut self, no_steps: bool) {
        let main = &self.gathered.files[0].file;
        let place = self.at(0, main.id.span());
        let missing = [
            (
                "title",
                main.title.is_none(),
                "add `title = …` at the top of the file",
            ),
            (
                "vehicle",
                main.vehicle.is_none(),
                "add `vehicle = …` at the top of the file",
            ),
            (
                "values",
                main.values.is_none(),
                "say where the values come from: `values = …`",
            ),
            (
                "minutes",
                main.minutes.is_none(),
                "add `minutes = …` at the top of the file",
            ),
            (
                "make_safe",
                main.make_safe.is_empty(),
                "add [[make_safe]] steps that leave the vehicle safe when the job is given up",
            ),
            ("step", no_steps, "add at least one [[step]]"),
        ];
        for (key, missing, remedy) in missing {
            if missing {
                self.desk.problem(
                    Code::MissingKey,
                    &place,
                    format!("the procedure has no `{key}`"),
                    "this procedure",
                    remedy,
                );
            }
        }
        for (loaded, part) in self.gathered.files.iter().enumerate().skip(1) {
            let file = &part.file;
            let stray = file.title.is_some()
                || file.vehicle.is_some()
                || file.values.is_some()
                || file.minutes.is_some()
                || !file.variant.is_empty()
                || !file.phase.is_empty()
                || !file.make_safe.is_empty();
            if stray {
                let place = self.at(loaded, file.id.span());
                self.desk.problem(
                    Code::StrayKey,
                    &place,
                    format!("“{}” is included, so it can't have a title, vehicle, values, minutes, variants, phases or make_safe of its own", file.id.as_ref()),
                    "this part",
                    "leave these keys to the procedure that includes it",
                );
            }
        }
    }

    /// A part in another language would be told in words, and ask for words, that nobody there understands.
    fn one_language(&mut self) {
        let language = self.gathered.files[0].file.language;
        for (loaded, part) in self.gathered.files.iter().enumerate().skip(1) {
            let (file, own) = (&part.file, part.file.language);
            if own != language {
                let place = self.at(loaded, file.id.span());
                self.desk.problem(
                    Code::Language,
                    &place,
                    format!(
                        "“{}” is in {}, and the procedure that includes it in {}",
                        file.id.as_ref(),
                        own.name(),
                        language.name()
                    ),
                    "this part",
                    format!(
                        "include a part that is translated and says `language = \"{}\"`",
                        language.code()
                    ),
                );
            }
        }
    }

    fn cautions(&mut self) -> Vec<String> {
        let mut cautions = Vec::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            self.add(loaded, &it.file.cautions, &mut cautions);
        }
        cautions
    }

    /// Adds what isn't listed yet: two parts may both ask for safety glasses.
    fn add(&mut self, loaded: usize, texts: &[super::file::Text], to: &mut Vec<String>) {
        for text in texts {
            let text = self.text(loaded, text, Names::Variants);
            if !to.contains(&text) {
                to.push(text);
            }
        }
    }
}
