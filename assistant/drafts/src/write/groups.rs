//! Fastener groups as the rows name them, one after the other.

use crate::interpretation::{Meant, Verb};
use std::collections::BTreeMap;
use steps::quantity::{DriveShape, Pattern, Size, TorqueSpec};

/// A group, as far as the rows told.
#[derive(Debug, Default)]
pub struct Group {
    pub id: String,
    pub name: String,
    pub count: Option<u16>,
    pub drive: Option<(DriveShape, Size)>,
    pub thread: Option<String>,
    pub torque: Option<TorqueSpec>,
    pub also: Option<TorqueSpec>,
    pub passes: Vec<TorqueSpec>,
    pub turn: Option<u16>,
    pub pattern: Option<Pattern>,
    /// Where it is spoken of.
    pub lines: Vec<usize>,
}

/// All groups, in the order of the list.
#[derive(Debug, Default)]
pub struct Groups {
    pub all: Vec<Group>,
    by_name: BTreeMap<String, usize>,
    /// The last group whose name ends in a noun: “nuts” after “wheel nuts” are the wheel nuts.
    by_noun: BTreeMap<String, usize>,
    last: Option<usize>,
}

impl Groups {
    /// The group that a row means; a new one where none is known by this name.
    pub fn of(&mut self, line: usize, meant: &mut Meant) -> Option<usize> {
        let place = match &meant.group {
            Some(named) => {
                let name = match &meant.thing {
                    Some(thing) if !named.particular => format!("{thing} {}", named.name),
                    Some(_) | None => named.name.clone(),
                };
                let known = self.by_name.get(&name).copied();
                let near = match (known, named.particular || meant.thing.is_some()) {
                    (None, false) => self.by_noun.get(&named.name).copied(),
                    (_, _) => None,
                };
                if let Some(at) = near {
                    let taken = format!(
                        "taken to be the {} of line {}",
                        self.all[at].name, self.all[at].lines[0]
                    );
                    meant.doubts.push(taken);
                }
                known.or(near).unwrap_or_else(|| self.add(name, line))
            }
            None if meant.verb == Some(Verb::Tighten) && meant.torque.is_some() => {
                match self.last {
                    Some(at) => {
                        let taken = format!(
                            "no fastener is named; taken to be the {}",
                            self.all[at].name
                        );
                        meant.doubts.push(taken);
                        at
                    }
                    None => {
                        meant.doubts.push("no fastener is named".to_owned());
                        self.add("fastener".to_owned(), line)
                    }
                }
            }
            None => return None,
        };
        self.last = Some(place);
        Some(place)
    }

    fn add(&mut self, name: String, line: usize) -> usize {
        let place = self.all.len();
        let noun = name.rsplit(' ').next().unwrap_or_default().to_owned();
        self.by_noun.insert(noun, place);
        self.by_name.insert(name.clone(), place);
        self.all.push(Group {
            name,
            lines: vec![line],
            ..Group::default()
        });
        place
    }

    /// Takes over what a row says of its group. What two rows tell differently is told, and the first one stands.
    pub fn learn(&mut self, place: usize, line: usize, meant: &mut Meant) {
        let group = &mut self.all[place];
        let from = group.lines[0];
        if group.lines.last() != Some(&line) {
            group.lines.push(line);
        }
        let mut differs = |what: &str, kept: String, said: String| {
            let doubt = format!(
                "{what} {said}, but {kept} since line {from}: are these two groups, or two passes"
            );
            meant.doubts.push(doubt);
        };
        if let Some(count) = meant.group.as_ref().and_then(|it| it.count) {
            match group.count {
                Some(kept) if kept != count => {
                    // One in the singular is one of them, not another count.
                    if count != 1 {
                        differs("count", kept.to_string(), count.to_string());
                    }
                }
                Some(_) => {}
                None => group.count = Some(count),
            }
        }
        if let Some((shape, size)) = meant.drive {
            match group.drive {
                Some((_, kept)) if kept != size => {
                    differs("size", kept.to_string(), size.to_string())
                }
                Some(_) => {}
                None => group.drive = Some((shape, size)),
            }
        }
        match (&group.thread, &meant.thread) {
            (Some(kept), Some(said)) if kept != said => {
                differs("thread", kept.clone(), said.clone());
            }
            (Some(_), _) | (None, None) => {}
            (None, Some(said)) => group.thread = Some(said.clone()),
        }
        match (group.torque, meant.torque) {
            (Some(kept), Some(said)) if kept != said => {
                differs("torque", kept.to_string(), said.to_string());
            }
            (Some(_), _) | (None, None) => {}
            (None, Some(said)) => {
                group.torque = Some(said);
                group.also = meant.also;
                group.passes = std::mem::take(&mut meant.passes);
                group.turn = meant.turn;
            }
        }
        if group.pattern.is_none() && group.count != Some(1) {
            group.pattern = meant.pattern;
        }
    }
}

/// The drive's shape and size as a procedure's file has them.
pub fn as_in_a_file(shape: DriveShape, size: Size) -> (&'static str, String) {
    let shape = match shape {
        DriveShape::Hex => "hex",
        DriveShape::HexSocket => "hex-socket",
        DriveShape::TwelvePoint => "twelve-point",
        DriveShape::SixLobe => "six-lobe",
        DriveShape::Slotted => "slotted",
    };
    let size = match size {
        Size::Number(number) => number.to_string(),
        Size::Millimetres(_) | Size::InchFraction(..) => size.to_string(),
    };
    (shape, size)
}

/// The order as a procedure's file has it.
pub fn pattern_in_a_file(pattern: Pattern) -> &'static str {
    match pattern {
        Pattern::CrissCross => "criss-cross",
        Pattern::Star => "star",
        Pattern::InTurn => "in-turn",
    }
}
