//! From the author's keys to types: resolves names, reads quantities.

use super::file::{ActionFile, FastenerFile, GateFile, ReadingFile, Text};
use super::load::{Desk, Gathered, Place, StepIn};
use super::names::{as_heard, fill, names_in};
use super::problem::ProblemKind;
use super::*;
use std::collections::BTreeSet;
use toml::Spanned;

/// What a name may be in a text, besides variants: taken from the step's fastener group.
const FROM_FASTENER: [&str; 5] = ["count", "torque", "size", "fastener", "fasteners"];

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
    reader.metadata();
    reader.names();
    let variants = reader.variants();
    let facts_of_gates = reader.gates();
    let facts = reader.facts(&facts_of_gates);
    let items = reader.items();
    let fasteners = reader.fasteners(&variants);
    let readings = reader.readings();
    let branches = reader.branches();
    let steps = reader.steps(&steps_in);
    let make_safe = reader.make_safe();
    if steps.is_empty() {
        let place = reader.at(0, gathered.files[0].file.id.span());
        reader.desk.problem(
            ProblemKind::Key,
            &place,
            "the procedure has no steps",
            "this procedure",
            "add at least one [[step]]",
        );
    }
    let main = &gathered.files[0].file;
    let mut lay_out = LayOut::default();
    let mut cautions = Vec::new();
    for loaded in &gathered.files {
        let filled = |list: &Vec<String>| -> Vec<String> {
            list.iter().map(|text| fill(text, &loaded.with)).collect()
        };
        let add = |to: &mut Vec<String>, list: &Vec<String>| {
            for text in filled(list) {
                if !to.contains(&text) {
                    to.push(text);
                }
            }
        };
        add(&mut cautions, &loaded.file.cautions);
        add(&mut lay_out.protection, &loaded.file.lay_out.protection);
        add(&mut lay_out.tools, &loaded.file.lay_out.tools);
        add(&mut lay_out.parts, &loaded.file.lay_out.parts);
        add(&mut lay_out.consumables, &loaded.file.lay_out.consumables);
    }
    Some(Procedure {
        id: Id::new(main.id.as_ref()),
        title: main.title.as_ref()?.as_ref().clone(),
        vehicle: main.vehicle.clone()?,
        values: main.values.clone()?,
        usual_time: Duration::from_secs(u64::from(main.minutes.unwrap_or(60)) * 60),
        cautions,
        variants,
        facts,
        gates: facts_of_gates,
        lay_out,
        items,
        fasteners,
        readings,
        branches,
        steps,
        make_safe,
        sha256,
    })
}

/// Names that something has.
#[derive(Default)]
struct Known {
    variants: BTreeMap<String, BTreeSet<String>>,
    facts: BTreeSet<String>,
    gates: BTreeSet<String>,
    items: BTreeSet<String>,
    fasteners: BTreeSet<String>,
    readings: BTreeSet<String>,
    branches: BTreeSet<String>,
    steps: BTreeSet<String>,
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

    fn metadata(&mut self) {
        let main = &self.gathered.files[0].file;
        let place = self.at(0, main.id.span());
        let missing = [
            ("title", main.title.is_none()),
            ("vehicle", main.vehicle.is_none()),
            ("values", main.values.is_none()),
            ("minutes", main.minutes.is_none()),
            ("make_safe", main.make_safe.is_empty()),
        ];
        for (key, _) in missing.into_iter().filter(|(_, missing)| *missing) {
            self.desk.problem(
                ProblemKind::Key,
                &place,
                format!("the procedure has no `{key}`"),
                "this procedure",
                match key {
                    "values" => "say where the values come from".to_owned(),
                    "make_safe" => {
                        "add [[make_safe]] steps that leave the vehicle safe when the job is given up"
                            .to_owned()
                    }
                    key => format!("add `{key} = …` at the top of the file"),
                },
            );
        }
        for (loaded, part) in self.gathered.files.iter().enumerate().skip(1) {
            let file = &part.file;
            let stray = file.title.is_some()
                || file.vehicle.is_some()
                || file.values.is_some()
                || file.minutes.is_some()
                || !file.variant.is_empty()
                || !file.make_safe.is_empty();
            if stray {
                let place = self.at(loaded, file.id.span());
                self.desk.problem(
                    ProblemKind::Key,
                    &place,
                    format!("“{}” is included, so it can't have a title, vehicle, values, minutes, variants or make_safe of its own", file.id.as_ref()),
                    "this part",
                    "leave these keys to the procedure that includes it",
                );
            }
        }
    }

    /// Notes a name as known; well formed and given once.
    fn name(
        &mut self,
        what: &str,
        loaded: usize,
        id: &Text,
        known: fn(&mut Known) -> &mut BTreeSet<String>,
    ) {
        let place = self.at(loaded, id.span());
        let text = id.as_ref();
        if !Id::is_well_formed(text) {
            self.desk.problem(
                ProblemKind::Name,
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
                ProblemKind::Duplicate,
                &place,
                format!("two {what}s are called “{text}”"),
                "the second one",
                "give one of them another name",
            );
        }
    }

    fn names(&mut self) {
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            let file = &it.file;
            for variant in &file.variant {
                let options = variant
                    .options
                    .as_ref()
                    .iter()
                    .map(|o| o.id.as_ref().clone())
                    .collect();
                let name = variant.id.as_ref().clone();
                if self.known.variants.insert(name.clone(), options).is_some()
                    || FROM_FASTENER.contains(&name.as_str())
                {
                    let place = self.at(loaded, variant.id.span());
                    self.desk.problem(
                        ProblemKind::Duplicate,
                        &place,
                        format!("the name “{name}” is taken"),
                        "the second one",
                        "give the variant another name",
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
                // Both are deferred by name, so an item and a group can't share one.
                if self.known.items.contains(group.id.as_ref()) {
                    self.name("item", loaded, &group.id, |known| &mut known.items);
                }
            }
            for reading in &file.reading {
                self.name("reading", loaded, &reading.id, |known| &mut known.readings);
            }
            for branch in &file.branch {
                self.name("branch", loaded, &branch.id, |known| &mut known.branches);
            }
        }
    }

    /// Resolves a name, or says that nothing has it.
    fn known(
        &mut self,
        what: &str,
        loaded: usize,
        id: &Text,
        known: fn(&Known) -> &BTreeSet<String>,
    ) -> Option<Id> {
        let all = known(&self.known);
        if all.contains(id.as_ref()) {
            return Some(Id::new(id.as_ref()));
        }
        let near = nearest(id.as_ref(), all);
        let remedy = match near {
            Some(near) => format!("did you mean “{near}”?"),
            None => format!("define it as a [[{}]]", what.replace(" group", "")),
        };
        let place = self.at(loaded, id.span());
        self.desk.problem(
            ProblemKind::Unknown,
            &place,
            format!("no {what} is called “{}”", id.as_ref()),
            format!("unknown {what}"),
            remedy,
        );
        None
    }

    fn facts_known(&mut self, loaded: usize, ids: &[Text]) -> Vec<Id> {
        ids.iter()
            .filter_map(|id| self.known("fact", loaded, id, |known| &known.facts))
            .collect()
    }

    fn variants(&mut self) -> Vec<Variant> {
        let mut variants = Vec::new();
        for variant in &self.gathered.files[0].file.variant {
            let options = variant.options.as_ref();
            if options.len() < 2 {
                let place = self.at(0, variant.options.span());
                self.desk.problem(
                    ProblemKind::Value,
                    &place,
                    format!(
                        "the variant “{}” has nothing to choose from",
                        variant.id.as_ref()
                    ),
                    "fewer than two options",
                    "give at least two options",
                );
            }
            variants.push(Variant {
                id: Id::new(variant.id.as_ref()),
                ask: variant.ask.clone(),
                options: options
                    .iter()
                    .map(|option| (Id::new(option.id.as_ref()), option.say.as_ref().clone()))
                    .collect(),
            });
        }
        variants
    }

    fn gates(&mut self) -> BTreeMap<Id, Gate> {
        let mut gates = BTreeMap::new();
        let mut readbacks: BTreeMap<String, String> = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for gate in &it.file.gate {
                let Some(fact) = self.known("fact", loaded, &gate.fact, |known| &known.facts)
                else {
                    continue;
                };
                let written = fill(gate.readback.as_ref(), &it.with);
                let readback = as_heard(&written);
                self.readback(loaded, gate, &readback, &mut readbacks);
                self.texts_filled(loaded, &gate.readback, false);
                gates.insert(
                    Id::new(gate.id.as_ref()),
                    Gate {
                        fact,
                        signal: gate.signal,
                        ask: fill(&gate.ask, &it.with),
                        readback,
                        readback_written: written,
                        needs: self.facts_known(loaded, &gate.needs),
                        good_for: Duration::from_secs(
                            u64::from(gate.good_for_minutes.unwrap_or(60)) * 60,
                        ),
                        decoys: gate
                            .decoys
                            .iter()
                            .map(|d| as_heard(&fill(d, &it.with)))
                            .collect(),
                    },
                );
            }
        }
        gates
    }

    fn readback(
        &mut self,
        loaded: usize,
        gate: &GateFile,
        readback: &str,
        readbacks: &mut BTreeMap<String, String>,
    ) {
        let place = self.at(loaded, gate.readback.span());
        let words = readback.split(' ').count();
        if readback.chars().any(|c| c.is_ascii_digit()) {
            self.desk.problem(
                ProblemKind::Readback,
                &place,
                "a readback is written as it is said",
                "there are digits in it",
                "spell the numbers out: “one hundred and forty”",
            );
        } else if !(4..=16).contains(&words) {
            self.desk.problem(
                ProblemKind::Readback,
                &place,
                format!("a readback of {words} word(s) can't be told from other talk, or not be kept in mind"),
                "too short or too long",
                "use a sentence of 4 to 16 words that says what was done and seen",
            );
        }
        if let Some(other) = readbacks.insert(readback.to_owned(), gate.id.as_ref().clone()) {
            self.desk.problem(
                ProblemKind::Readback,
                &place,
                format!(
                    "the gates “{other}” and “{}” have the same readback",
                    gate.id.as_ref()
                ),
                "said at the other gate too",
                "give each gate words of its own, so that one can't be passed with the other's",
            );
        }
    }

    fn facts(&mut self, gates: &BTreeMap<Id, Gate>) -> BTreeMap<Id, Fact> {
        let mut facts = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for fact in &it.file.fact {
                let id = Id::new(fact.id.as_ref());
                let place = self.at(loaded, fact.id.span());
                let by: Vec<&Id> = gates
                    .iter()
                    .filter(|(_, gate)| gate.fact == id)
                    .map(|(gate, _)| gate)
                    .collect();
                match by[..] {
                    [gate] => {
                        if needs_itself(&id, gates) {
                            self.desk.problem(
                                ProblemKind::Fact,
                                &place,
                                format!(
                                    "the fact “{id}” can only be made true when it is true already"
                                ),
                                "its gate needs, in the end, itself",
                                "take one `needs` out of the gates",
                            );
                        }
                        let means = fill(&fact.means, &it.with);
                        facts.insert(
                            id,
                            Fact {
                                means,
                                gate: gate.clone(),
                            },
                        );
                    }
                    [] => self.desk.problem(
                        ProblemKind::Fact,
                        &place,
                        format!("no gate makes the fact “{id}” true"),
                        "a fact without a gate",
                        "add a [[gate]] with this fact and its readback",
                    ),
                    _ => self.desk.problem(
                        ProblemKind::Fact,
                        &place,
                        format!("{} gates make the fact “{id}” true", by.len()),
                        "a fact has one gate",
                        "use a fact of its own for each gate",
                    ),
                }
            }
        }
        facts
    }

    fn items(&mut self) -> BTreeMap<Id, Item> {
        let mut items = BTreeMap::new();
        for it in &self.gathered.files {
            for item in &it.file.item {
                items.insert(
                    Id::new(item.id.as_ref()),
                    Item {
                        name: fill(item.name.as_ref(), &it.with),
                        off: item.off.clone().unwrap_or_else(|| "off".to_owned()),
                        once_only: item.once_only,
                    },
                );
            }
        }
        items
    }

    fn fasteners(&mut self, variants: &[Variant]) -> BTreeMap<Id, FastenerGroup> {
        let mut groups = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for group in &it.file.fastener {
                let name = fill(group.name.as_ref(), &it.with);
                let torque = self.torque(loaded, group, variants);
                let passes = self.passes(loaded, group);
                let drive = group.drive.as_ref().and_then(|drive| {
                    let size =
                        self.parsed(loaded, &drive.size, "write it like “21 mm” or “3/4 in”")?;
                    Some(Drive {
                        shape: drive.shape,
                        size,
                    })
                });
                if *group.count.as_ref() == 0 {
                    let place = self.at(loaded, group.count.span());
                    self.desk.problem(
                        ProblemKind::Value,
                        &place,
                        format!("the group “{}” has no fasteners", group.id.as_ref()),
                        "a count of nought",
                        "count them, or take the group out",
                    );
                }
                groups.insert(
                    Id::new(group.id.as_ref()),
                    FastenerGroup {
                        names: group.names.clone().unwrap_or_else(|| format!("{name}s")),
                        name,
                        count: *group.count.as_ref(),
                        thread: group.thread.as_ref().map(|thread| thread.as_ref().clone()),
                        class: group.class.clone(),
                        drive,
                        torque,
                        passes,
                        angle: group.angle.as_ref().map(|angle| *angle.as_ref()),
                        pattern: group.pattern,
                        threadlocker: group.threadlocker.clone(),
                        lubrication: group.lubrication.clone(),
                        once_only: group.once_only,
                    },
                );
            }
        }
        groups
    }

    fn torque(
        &mut self,
        loaded: usize,
        group: &FastenerFile,
        variants: &[Variant],
    ) -> Option<ByVariant<TorqueValue>> {
        const HOW: &str = "write number and unit as the source has them: “140 N·m”, “25 lbf·ft”";
        match (&group.torque, &group.torque_by) {
            (None, None) => None,
            (Some(text), None) => self.parsed(loaded, text, HOW).map(ByVariant::Always),
            (Some(text), Some(_)) => {
                let place = self.at(loaded, text.span());
                self.desk.problem(
                    ProblemKind::Key,
                    &place,
                    "a torque is given once",
                    "there is a `torque_by` too",
                    "leave one of them out",
                );
                None
            }
            (None, Some(by)) => {
                let place = self.at(loaded, by.variant.span());
                let Some(variant) = variants
                    .iter()
                    .find(|v| v.id.as_str() == by.variant.as_ref())
                else {
                    self.desk.problem(
                        ProblemKind::Unknown,
                        &place,
                        format!("no variant is called “{}”", by.variant.as_ref()),
                        "unknown variant",
                        "define it as a [[variant]]",
                    );
                    return None;
                };
                let mut values = BTreeMap::new();
                for (option, _) in &variant.options {
                    match by.values.get(option.as_str()) {
                        Some(text) => {
                            values.insert(option.clone(), self.parsed(loaded, text, HOW)?);
                        }
                        None => self.desk.problem(
                            ProblemKind::Key,
                            &place,
                            format!("there is no torque for “{option}”"),
                            "not every option has a value",
                            format!("add `{option} = \"…\"` to the values"),
                        ),
                    }
                }
                for (option, text) in &by.values {
                    if !variant.options.iter().any(|(id, _)| id.as_str() == option) {
                        let place = self.at(loaded, text.span());
                        self.desk.problem(
                            ProblemKind::Unknown,
                            &place,
                            format!("the variant “{}” has no option “{option}”", variant.id),
                            "a value for nothing",
                            "take it out or correct its name",
                        );
                    }
                }
                Some(ByVariant::By(variant.id.clone(), values))
            }
        }
    }

    fn passes(&mut self, loaded: usize, group: &FastenerFile) -> Vec<u8> {
        let Some(passes) = &group.passes else {
            return vec![100];
        };
        let list = passes.as_ref();
        let rising = list.windows(2).all(|pair| pair[0] < pair[1]);
        if list.last() != Some(&100) || !rising || list[0] == 0 {
            let place = self.at(loaded, passes.span());
            self.desk.problem(
                ProblemKind::Value,
                &place,
                format!(
                    "the passes of “{}” don't lead to the torque",
                    group.id.as_ref()
                ),
                "not rising to 100",
                "give rising per cent that end in 100, such as [50, 100]",
            );
            return vec![100];
        }
        list.clone()
    }

    /// Reads a quantity, or says why it isn't one.
    fn parsed<T: std::str::FromStr>(
        &mut self,
        loaded: usize,
        text: &Text,
        remedy: &str,
    ) -> Option<T>
    where
        T::Err: std::fmt::Display,
    {
        match text.as_ref().parse() {
            Ok(value) => Some(value),
            Err(error) => {
                let place = self.at(loaded, text.span());
                self.desk.problem(
                    ProblemKind::Value,
                    &place,
                    error.to_string(),
                    "here",
                    remedy,
                );
                None
            }
        }
    }

    fn readings(&mut self) -> BTreeMap<Id, ReadingOf> {
        let mut readings = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for reading in &it.file.reading {
                if let Some(read) = self.reading(loaded, reading) {
                    readings.insert(Id::new(reading.id.as_ref()), read);
                }
            }
        }
        readings
    }

    fn reading(&mut self, loaded: usize, reading: &ReadingFile) -> Option<ReadingOf> {
        const HOW: &str = "write a decimal number such as “21.4”";
        let least: Decimal = self.parsed(loaded, &reading.least, HOW)?;
        let most: Decimal = self.parsed(loaded, &reading.most, HOW)?;
        let min = reading
            .min
            .as_ref()
            .and_then(|text| self.parsed::<Decimal>(loaded, text, HOW));
        let max = reading
            .max
            .as_ref()
            .and_then(|text| self.parsed::<Decimal>(loaded, text, HOW));
        let out = reading
            .out
            .as_ref()
            .and_then(|branch| self.known("branch", loaded, branch, |known| &known.branches));
        let in_order = [Some(least), min, max, Some(most)].into_iter().flatten();
        if !in_order.collect::<Vec<_>>().is_sorted() || least == most {
            let place = self.at(loaded, reading.most.span());
            self.desk.problem(
                ProblemKind::Value,
                &place,
                format!("the values of “{}” are not in order", reading.id.as_ref()),
                "least, min, max, most must rise",
                "put the limits between what the instrument could show",
            );
            return None;
        }
        let places = u32::from(least.places().max(most.places()));
        let values = (most.to_f64() - least.to_f64()) * 10f64.powi(places as i32);
        if values > 1_200.0 {
            let place = self.at(loaded, reading.most.span());
            self.desk.problem(
                ProblemKind::Value,
                &place,
                format!(
                    "the reading “{}” could be any of {values:.0} numbers",
                    reading.id.as_ref()
                ),
                "too many to be told apart by ear",
                "narrow `least` and `most`, or read off fewer decimal places: at most 1 200 values",
            );
        }
        let file = &self.gathered.files[loaded];
        Some(ReadingOf {
            name: fill(&reading.name, &file.with),
            unit: reading.unit.clone(),
            least,
            most,
            min,
            max,
            out,
        })
    }

    fn branches(&mut self) -> BTreeMap<Id, Branch> {
        let mut branches = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for branch in &it.file.branch {
                let steps = branch
                    .step
                    .iter()
                    .filter_map(|step| self.step(loaded, step))
                    .collect::<Vec<_>>();
                if steps.is_empty() {
                    let place = self.at(loaded, branch.id.span());
                    self.desk.problem(
                        ProblemKind::Key,
                        &place,
                        format!("the branch “{}” has no steps", branch.id.as_ref()),
                        "this branch",
                        "add at least one [[branch.step]]",
                    );
                }
                let say = branch
                    .say
                    .iter()
                    .map(|say| as_heard(&fill(say.as_ref(), &it.with)));
                branches.insert(
                    Id::new(branch.id.as_ref()),
                    Branch {
                        say: say.collect(),
                        steps,
                    },
                );
            }
        }
        branches
    }

    fn steps(&mut self, steps: &[StepIn]) -> Vec<Step> {
        steps
            .iter()
            .filter_map(|it| self.step(it.loaded, &it.step))
            .collect()
    }

    fn make_safe(&mut self) -> Vec<Step> {
        self.gathered.files[0]
            .file
            .make_safe
            .iter()
            .filter_map(|step| self.step(0, step))
            .collect()
    }

    fn step(&mut self, loaded: usize, step: &super::file::StepFile) -> Option<Step> {
        let Some(id) = &step.id else {
            let place = match (&step.action, &step.text) {
                (Some(action), _) => self.at(loaded, action.span()),
                (None, Some(text)) => self.at(loaded, text.span()),
                (None, None) => self.at(loaded, 0..0),
            };
            self.desk.problem(
                ProblemKind::Key,
                &place,
                "a step needs an id, or an include",
                "this step",
                "add `id = …`",
            );
            return None;
        };
        self.name("step", loaded, id, |known| &mut known.steps);
        let with = &self.gathered.files[loaded].with;
        let Some(action) = &step.action else {
            let place = self.at(loaded, id.span());
            self.desk.problem(
                ProblemKind::Key,
                &place,
                format!("the step “{}” has no action", id.as_ref()),
                "this step",
                "add `action = …`: do, loosen, remove, refit, tighten, measure, wait, inspect, ask or hold",
            );
            return None;
        };
        let kind = *action.as_ref();
        let typed = self.action(loaded, id, kind, step);
        let is_hold = kind == ActionFile::Hold;
        if is_hold == step.text.is_some() {
            let place = self.at(loaded, id.span());
            let (message, remedy) = if is_hold {
                (
                    "a hold has no text of its own",
                    "put it into the gate's `ask`",
                )
            } else {
                (
                    "a step needs its `text`",
                    "add the action in the imperative: `text = …`",
                )
            };
            self.desk
                .problem(ProblemKind::Key, &place, message, "this step", remedy);
        }
        let has_group = step.fastener.is_some();
        for text in [&step.text, &step.short, &step.more].into_iter().flatten() {
            self.texts_filled(loaded, text, has_group);
        }
        let mut when = BTreeMap::new();
        for (variant, option) in &step.when {
            let options = self.known.variants.get(variant);
            if options.is_some_and(|options| options.contains(option.as_ref())) {
                when.insert(Id::new(variant), Id::new(option.as_ref()));
            } else {
                let place = self.at(loaded, option.span());
                self.desk.problem(
                    ProblemKind::Unknown,
                    &place,
                    format!(
                        "there is no variant “{variant}” with an option “{}”",
                        option.as_ref()
                    ),
                    "unknown option",
                    "use an option of a [[variant]] of this procedure",
                );
            }
        }
        let when_off = step
            .when_off
            .as_ref()
            .and_then(|id| self.item_or_fastener(loaded, id));
        let helpers = step
            .helpers
            .iter()
            .filter_map(|id| self.known("branch", loaded, id, |known| &known.branches))
            .collect();
        let filled = |text: &Option<Text>| text.as_ref().map(|text| fill(text.as_ref(), with));
        Some(Step {
            id: Id::new(id.as_ref()),
            action: typed?,
            text: filled(&step.text).unwrap_or_default(),
            short: filled(&step.short),
            more: filled(&step.more),
            why: step.why.as_ref().map(|text| fill(text, with)),
            warning: step.warning.as_ref().map(|it| Warning {
                signal: it.signal,
                text: fill(&it.text, with),
            }),
            tools: step.tools.clone(),
            needs: self.facts_known(loaded, &step.needs),
            voids: self.facts_known(loaded, &step.voids),
            when,
            when_off: when_off.map(|thing| thing.id().clone()),
            helpers,
        })
    }

    fn action(
        &mut self,
        loaded: usize,
        id: &Text,
        kind: ActionFile,
        step: &super::file::StepFile,
    ) -> Option<Action> {
        let mut given = vec![
            ("fastener", step.fastener.is_some()),
            ("item", step.item.is_some()),
            ("reading", step.reading.is_some()),
            ("gate", step.gate.is_some()),
            ("minutes", step.minutes.is_some()),
            ("yes", step.yes.is_some()),
            ("no", step.no.is_some()),
        ];
        given.retain(|(_, given)| *given);
        let allowed: &[&str] = match kind {
            ActionFile::Do | ActionFile::Inspect => &["fastener"],
            ActionFile::Loosen | ActionFile::Tighten => &["fastener"],
            ActionFile::Remove | ActionFile::Refit => &["fastener", "item"],
            ActionFile::Measure => &["reading"],
            ActionFile::Wait => &["minutes"],
            ActionFile::Ask => &["yes", "no"],
            ActionFile::Hold => &["gate"],
        };
        let place = self.at(loaded, id.span());
        for (key, _) in &given {
            if !allowed.contains(key) {
                self.desk.problem(
                    ProblemKind::Key,
                    &place,
                    format!(
                        "the step “{}” can't have a `{key}` with this action",
                        id.as_ref()
                    ),
                    "this step",
                    format!("take `{key}` out, or change the action"),
                );
            }
        }
        let missing = |reader: &mut Self, key: &str| {
            reader.desk.problem(
                ProblemKind::Key,
                &place,
                format!("the step “{}” doesn't say which {key}", id.as_ref()),
                "this step",
                format!("add `{key} = …`"),
            );
        };
        match kind {
            ActionFile::Do => Some(Action::Do),
            ActionFile::Inspect => Some(Action::Inspect),
            ActionFile::Loosen => match &step.fastener {
                Some(id) => Some(Action::Loosen(self.fastener(loaded, id)?)),
                None => {
                    missing(self, "fastener");
                    None
                }
            },
            ActionFile::Tighten => match &step.fastener {
                Some(id) => {
                    let fastener = self.fastener(loaded, id)?;
                    self.has_torque(loaded, id);
                    Some(Action::Tighten(fastener))
                }
                None => {
                    missing(self, "fastener");
                    None
                }
            },
            ActionFile::Remove | ActionFile::Refit => {
                let thing = match (&step.item, &step.fastener) {
                    (Some(id), None) => {
                        Thing::Item(self.known("item", loaded, id, |known| &known.items)?)
                    }
                    (None, Some(id)) => Thing::Fastener(self.fastener(loaded, id)?),
                    (None, None) | (Some(_), Some(_)) => {
                        missing(self, "item");
                        return None;
                    }
                };
                Some(if kind == ActionFile::Remove {
                    Action::Remove(thing)
                } else {
                    Action::Refit(thing)
                })
            }
            ActionFile::Measure => match &step.reading {
                Some(id) => Some(Action::Measure(self.known(
                    "reading",
                    loaded,
                    id,
                    |known| &known.readings,
                )?)),
                None => {
                    missing(self, "reading");
                    None
                }
            },
            ActionFile::Wait => match &step.minutes {
                Some(minutes) if (1..=7 * 24 * 60).contains(minutes.as_ref()) => Some(
                    Action::Wait(Duration::from_secs(u64::from(*minutes.as_ref()) * 60)),
                ),
                Some(minutes) => {
                    let place = self.at(loaded, minutes.span());
                    self.desk.problem(
                        ProblemKind::Value,
                        &place,
                        "a wait is between a minute and a week",
                        "here",
                        "give whole minutes",
                    );
                    None
                }
                None => {
                    missing(self, "minutes");
                    None
                }
            },
            ActionFile::Ask => {
                let mut leads = |to: &Option<Text>| {
                    to.as_ref()
                        .and_then(|id| self.known("branch", loaded, id, |known| &known.branches))
                };
                Some(Action::Ask {
                    yes: leads(&step.yes),
                    no: leads(&step.no),
                })
            }
            ActionFile::Hold => match &step.gate {
                Some(id) => Some(Action::Hold(
                    self.known("gate", loaded, id, |known| &known.gates)?,
                )),
                None => {
                    missing(self, "gate");
                    None
                }
            },
        }
    }

    fn fastener(&mut self, loaded: usize, id: &Text) -> Option<Id> {
        self.known("fastener group", loaded, id, |known| &known.fasteners)
    }

    fn item_or_fastener(&mut self, loaded: usize, id: &Text) -> Option<Thing> {
        if self.known.items.contains(id.as_ref()) {
            return Some(Thing::Item(Id::new(id.as_ref())));
        }
        self.fastener(loaded, id).map(Thing::Fastener)
    }

    fn has_torque(&mut self, loaded: usize, id: &Text) {
        let groups = self.gathered.files.iter().flat_map(|it| &it.file.fastener);
        let without = groups
            .filter(|group| group.id.as_ref() == id.as_ref())
            .any(|group| group.torque.is_none() && group.torque_by.is_none());
        if without {
            let place = self.at(loaded, id.span());
            self.desk.problem(
                ProblemKind::Value,
                &place,
                format!("“{}” is tightened but has no torque", id.as_ref()),
                "tightened to what?",
                "give the group a `torque`, or use `action = \"refit\"` for what is only run in",
            );
        }
    }

    fn texts_filled(&mut self, loaded: usize, text: &Spanned<String>, has_group: bool) {
        let with = &self.gathered.files[loaded].with;
        let stray: Vec<String> = names_in(text.as_ref())
            .into_iter()
            .filter(|name| {
                !with.contains_key(*name)
                    && !self.known.variants.contains_key(*name)
                    && !(has_group && FROM_FASTENER.contains(name))
            })
            .map(str::to_owned)
            .collect();
        let place = self.at(loaded, text.span());
        for name in stray {
            self.desk.problem(
                ProblemKind::Unknown,
                &place,
                format!("nothing fills in “{{{name}}}”"),
                "in this text",
                "use the name of a variant, or {count}, {torque}, {size}, {fastener}, {fasteners} in a step with a fastener; a part also what `with` gives it",
            );
        }
    }
}

fn needs_itself(fact: &Id, gates: &BTreeMap<Id, Gate>) -> bool {
    let mut open = vec![fact.clone()];
    let mut seen = BTreeSet::new();
    while let Some(next) = open.pop() {
        for gate in gates.values().filter(|gate| gate.fact == next) {
            for need in &gate.needs {
                if need == fact {
                    return true;
                }
                if seen.insert(need.clone()) {
                    open.push(need.clone());
                }
            }
        }
    }
    false
}

/// The known name that differs least, if it differs little.
fn nearest<'a>(name: &str, known: &'a BTreeSet<String>) -> Option<&'a String> {
    known
        .iter()
        .map(|other| (distance(name, other), other))
        .filter(|(distance, _)| *distance <= 3)
        .min()
        .map(|(_, other)| other)
}

/// Edit distance (Levenshtein).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = corner + usize::from(ca != *cb);
            corner = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}
