//! Items, and fastener groups with their drives and torques.

use super::Reader;
use super::texts::Names;
use crate::Id;
use crate::lines::Lines;
use crate::procedure::code::Code;
use crate::procedure::desk::Place;
use crate::procedure::file::{ByFile, FastenerFile, PassFile, Text};
use crate::procedure::{ByVariant, Drive, FastenerGroup, Item, Variant};
use crate::quantity::{Stage, StageError, Stretch, Tightening, TorqueSpec, TorqueUnit};
use std::collections::BTreeMap;
use toml::Spanned;

/// How a torque is written.
const TORQUE: &str =
    "write number and unit as the source has them: “140 N·m”, “25 lbf·ft”, “140 ± 10 N·m”";

impl Reader<'_> {
    pub(super) fn items(&mut self) -> BTreeMap<Id, Item> {
        let lines = Lines(self.gathered.files[0].file.language);
        let mut items = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for item in &it.file.item {
                let name = self.text(loaded, &item.name, Names::With);
                let off = item.off.as_ref();
                let off = off.map(|off| self.text(loaded, off, Names::With));
                let part_number = self.part_number(loaded, item.part_number.as_ref());
                let quantity = item.quantity.as_ref();
                let quantity = quantity.map_or(1, |it| self.quantity(loaded, it));
                items.insert(
                    Id::new(&self.own(loaded, &item.id)),
                    Item {
                        name,
                        own_off: off.is_some(),
                        off: off.unwrap_or_else(|| lines.off()),
                        once_only: item.once_only,
                        part_number,
                        quantity,
                        core_return: item.core_return,
                        may_wait: item.may_wait,
                    },
                );
            }
        }
        items
    }

    pub(super) fn fasteners(&mut self, variants: &[Variant]) -> BTreeMap<Id, FastenerGroup> {
        let mut groups = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for group in &it.file.fastener {
                let name = self.text(loaded, &group.name, Names::With);
                let names = group.names.as_ref();
                let names = names.map(|names| self.text(loaded, names, Names::With));
                let part_number = self.part_number(loaded, group.part_number.as_ref());
                let torque = self.torque(loaded, group, variants);
                let passes = self.passes(loaded, group, torque.as_ref());
                if group.to_yield && group.angle.is_none() {
                    self.yields_without_angle(loaded, group);
                }
                let running = group.running.as_ref();
                let running = running.and_then(|id| self.running(loaded, id));
                let again_after = group.again_after.as_ref();
                let again_after = again_after.and_then(|text| {
                    self.parsed(loaded, text, "write it like “50 km” or “30 minutes”")
                });
                if let (Some(after), Some(_)) = (&group.again_after, &group.angle) {
                    let place = self.at(loaded, after.span());
                    self.desk.problem(
                        Code::Passes,
                        &place,
                        format!("“{}” would be turned by its angle twice", group.id.as_ref()),
                        "a second tightening of what is turned by an angle",
                        "leave `again_after` out, or make the second tightening a group of its own",
                    );
                }
                let drive = group.drive.as_ref().and_then(|drive| {
                    let size =
                        self.parsed(loaded, &drive.size, "write it like “21 mm” or “3/4 in”")?;
                    Some(Drive {
                        shape: drive.shape,
                        size,
                        depth: drive.depth,
                    })
                });
                if *group.count.as_ref() == 0 {
                    let place = self.at(loaded, group.count.span());
                    self.desk.problem(
                        Code::Value,
                        &place,
                        format!("the group “{}” has no fasteners", group.id.as_ref()),
                        "a count of nought",
                        "count them, or take the group out",
                    );
                }
                groups.insert(
                    Id::new(&self.own(loaded, &group.id)),
                    FastenerGroup {
                        names: names.unwrap_or_else(|| format!("{name}s")),
                        name,
                        count: *group.count.as_ref(),
                        thread: group.thread.as_ref().map(|thread| thread.as_ref().clone()),
                        class: group.class.as_ref().map(|class| class.as_ref().clone()),
                        drive,
                        torque,
                        passes,
                        angle: group.angle.as_ref().map(|angle| *angle.as_ref()),
                        to_yield: group.to_yield,
                        running,
                        again_after,
                        pattern: group.pattern,
                        threadlocker: group.threadlocker.clone(),
                        lubrication: group.lubrication.clone(),
                        once_only: group.once_only || group.to_yield,
                        part_number,
                        unsourced: self.has_unsourced(loaded, group),
                        may_wait: group.may_wait,
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
    ) -> Option<ByVariant<TorqueSpec>> {
        match (&group.torque, &group.torque_by) {
            (None, None) => None,
            (Some(text), None) => self.parsed(loaded, text, TORQUE).map(ByVariant::Always),
            (Some(text), Some(_)) => {
                let place = self.at(loaded, text.span());
                self.desk.problem(
                    Code::StrayKey,
                    &place,
                    "a torque is given once",
                    "there is a `torque_by` too",
                    "leave one of them out",
                );
                None
            }
            (None, Some(by)) => {
                let place = self.at(loaded, by.variant.span());
                if let Some((option, _)) = self.gathered.settled.get(by.variant.as_ref()) {
                    let Some(text) = by.values.get(option) else {
                        self.no_torque_for(option, &place);
                        return None;
                    };
                    return self.parsed(loaded, text, TORQUE).map(ByVariant::Always);
                }
                let Some(variant) = variants
                    .iter()
                    .find(|v| v.id.as_str() == by.variant.as_ref())
                else {
                    self.desk.problem(
                        Code::Unknown,
                        &place,
                        format!("no variant is called “{}”", by.variant.as_ref()),
                        "unknown variant",
                        "define it as a [[variant]]",
                    );
                    return None;
                };
                let values = self.torques(loaded, &by.values, variant, &by.variant);
                Some(ByVariant::By(variant.id.clone(), values))
            }
        }
    }

    /// A torque for every option, and none for what isn't an option.
    fn torques(
        &mut self,
        loaded: usize,
        texts: &BTreeMap<String, Text>,
        variant: &Variant,
        asked: &Text,
    ) -> BTreeMap<Id, TorqueSpec> {
        let place = self.at(loaded, asked.span());
        let mut values = BTreeMap::new();
        for (option, _) in &variant.options {
            match texts.get(option.as_str()) {
                Some(text) => {
                    if let Some(value) = self.parsed(loaded, text, TORQUE) {
                        values.insert(option.clone(), value);
                    }
                }
                None => self.no_torque_for(option.as_str(), &place),
            }
        }
        for (option, text) in texts {
            if !variant.options.iter().any(|(id, _)| id.as_str() == option) {
                let place = self.at(loaded, text.span());
                self.desk.problem(
                    Code::Unknown,
                    &place,
                    format!("the variant “{}” has no option “{option}”", variant.id),
                    "a value for nothing",
                    "take it out or correct its name",
                );
            }
        }
        values
    }

    fn no_torque_for(&mut self, option: &str, place: &Place) {
        self.desk.problem(
            Code::TorqueMissing,
            place,
            format!("there is no torque for “{option}”"),
            "not every option has a value",
            format!("add `{option} = \"…\"` to the values"),
        );
    }

    /// Whether one of a group's values is from a sheet that gives no source for it.
    fn has_unsourced(&self, loaded: usize, group: &FastenerFile) -> bool {
        let FastenerFile {
            count,
            thread,
            class,
            torque,
            torque_by,
            passes,
            angle,
            drive,
            ..
        } = group;
        let by_variant = torque_by.iter().flat_map(|by: &ByFile| {
            let settled = self.gathered.settled.get(by.variant.as_ref());
            let values = by.values.iter();
            let of = values.filter(move |(option, _)| settled.is_none_or(|(it, _)| it == *option));
            of.map(|(_, text)| text.span())
        });
        let spans = [
            Some(count.span()),
            thread.as_ref().map(Text::span),
            class.as_ref().map(Text::span),
            torque.as_ref().map(Text::span),
            passes.as_ref().map(Spanned::span),
            angle.as_ref().map(Spanned::span),
            drive.as_ref().map(|drive| drive.size.span()),
        ];
        let mut spans = spans.into_iter().flatten().chain(by_variant);
        spans.any(|span| self.desk.is_unsourced(&self.at(loaded, span)))
    }

    fn yields_without_angle(&mut self, loaded: usize, group: &FastenerFile) {
        let place = self.at(loaded, group.id.span());
        self.desk.problem(
            Code::Passes,
            &place,
            format!("“{}”: {}", group.id.as_ref(), StageError::YieldWithoutAngle),
            "this group",
            "add `angle = …`, or leave `to_yield` out",
        );
    }

    /// The reading that gives the running torque: one in a unit of torque.
    fn running(&mut self, loaded: usize, id: &Text) -> Option<Id> {
        let known = self.known("reading", loaded, id, |known| &known.readings)?;
        self.unit_fits::<TorqueUnit>(loaded, id, &known, "a torque, such as “N·m”");
        Some(known)
    }

    /// Complains of a reading whose unit is of another kind.
    pub(super) fn unit_fits<U: std::str::FromStr>(
        &mut self,
        loaded: usize,
        asked: &Text,
        known: &Id,
        wanted: &str,
    ) {
        let units = self.gathered.files.iter().enumerate().flat_map(|(at, it)| {
            let of = it.file.reading.iter();
            of.map(move |reading| (at, reading))
        });
        let unit = units
            .filter(|(at, reading)| self.own(*at, &reading.id) == known.as_str())
            .map(|(_, reading)| reading.unit.clone())
            .next();
        if let Some(unit) = unit.filter(|unit| unit.parse::<U>().is_err()) {
            let place = self.at(loaded, asked.span());
            self.desk.problem(
                Code::Value,
                &place,
                format!("the reading “{known}” is in “{unit}”"),
                "a reading of another kind",
                format!("use a reading whose unit is {wanted}"),
            );
        }
    }

    /// The passes, which must lead to the torque, whichever of its values it has.
    fn passes(
        &mut self,
        loaded: usize,
        group: &FastenerFile,
        torque: Option<&ByVariant<TorqueSpec>>,
    ) -> Vec<Stage> {
        let whole = || vec![Stage::Percent(100)];
        let Some(passes) = &group.passes else {
            return whole();
        };
        let place = self.at(loaded, passes.span());
        let mut wrong = |why: String| {
            self.desk.problem(
                Code::Passes,
                &place,
                format!(
                    "the passes of “{}” don't lead to the torque: {why}",
                    group.id.as_ref()
                ),
                "not rising to 100",
                "give rising per cent that end in 100, such as [50, 100], or torques before the 100",
            );
            whole()
        };
        let mut stages = Vec::new();
        for pass in passes.as_ref() {
            stages.push(match pass {
                PassFile::Percent(percent) => Stage::Percent(*percent),
                PassFile::Torque(text) => match text.parse() {
                    Ok(torque) => Stage::Torque(torque),
                    Err(error) => return wrong(error.to_string()),
                },
            });
        }
        if stages.is_empty() {
            return wrong("there are none".to_owned());
        }
        for torque in torque.map(ByVariant::all).unwrap_or_default() {
            if let Err(error) = Tightening::new(*torque, stages.clone(), Stretch::Elastic) {
                return wrong(error.to_string());
            }
        }
        stages
    }

    /// Reads a quantity, or says why it isn't one.
    pub(super) fn parsed<T: std::str::FromStr>(
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
                self.desk
                    .problem(Code::Value, &place, error.to_string(), "here", remedy);
                None
            }
        }
    }

    pub(super) fn has_torque(&mut self, loaded: usize, id: &Text) {
        let wanted = self.own(loaded, id);
        let without = self
            .gathered
            .files
            .iter()
            .enumerate()
            .flat_map(|(loaded, it)| it.file.fastener.iter().map(move |group| (loaded, group)))
            .filter(|(loaded, group)| self.own(*loaded, &group.id) == wanted)
            .any(|(_, group)| group.torque.is_none() && group.torque_by.is_none());
        if without {
            let place = self.at(loaded, id.span());
            self.desk.problem(
                Code::TorqueMissing,
                &place,
                format!("“{wanted}” is tightened but has no torque"),
                "tightened to what?",
                "give the group a `torque`, or use `action = \"refit\"` for what is only run in",
            );
        }
    }
}
