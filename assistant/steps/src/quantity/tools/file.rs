//! Reading a tools file.

use super::{
    Accuracy, Adapter, Depth, Scale, SizedTool, ToolKind, Tools, ToolsProblem, ToolsProblems,
    TorqueWrench,
};
use crate::quantity::{Amount, Date, DriveShape, Limits, Measured, Size, TorqueSpec, TorqueValue};
use serde::Deserialize;
use std::fmt::Display;
use std::ops::Range;
use std::str::FromStr;
use toml::Spanned;
use uom::si::angle::degree;
use uom::si::f64::{Angle, Length};
use uom::si::length::millimeter;

type Text = Spanned<String>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ToolsFile {
    #[serde(default)]
    torque_wrench: Vec<WrenchEntry>,
    #[serde(default)]
    sockets: Vec<SocketsEntry>,
    #[serde(default)]
    spanners: Vec<SpannersEntry>,
    #[serde(default)]
    adapter: Vec<AdapterEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrenchEntry {
    name: Text,
    scale: Text,
    step: Text,
    drive: Option<Text>,
    length: Option<Text>,
    calibration_due: Option<Text>,
    accuracy: Option<Text>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SocketsEntry {
    drive: Text,
    #[serde(default)]
    depth: Depth,
    shape: Option<DriveShape>,
    sizes: Vec<Text>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SpannersEntry {
    shape: Option<DriveShape>,
    sizes: Vec<Text>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AdapterEntry {
    name: Text,
    length: Text,
    angle: Option<Spanned<f64>>,
    size: Option<Text>,
}

const SIZE: &str = "write it such as “21 mm”, “3/4 in” or, for six-lobe, “30”";
const LENGTH: &str = "write a length such as “480 mm” or “18 in”";

pub(super) fn read(text: &str) -> Result<Tools, ToolsProblems> {
    let mut desk = Desk {
        text,
        problems: Vec::new(),
    };
    let file: ToolsFile = match toml::from_str(text) {
        Ok(file) => file,
        Err(error) => {
            let at = error.span().unwrap_or(0..0);
            desk.problem(at, "the file", error.message(), "correct it there");
            return Err(ToolsProblems(desk.problems));
        }
    };
    let tools = Tools {
        wrenches: desk.wrenches(&file.torque_wrench),
        sized: desk.sized(&file),
        adapters: desk.adapters(&file.adapter),
    };
    if desk.problems.is_empty() {
        Ok(tools)
    } else {
        Err(ToolsProblems(desk.problems))
    }
}

/// Where problems are gathered.
struct Desk<'t> {
    text: &'t str,
    problems: Vec<ToolsProblem>,
}

impl Desk<'_> {
    fn problem(&mut self, at: Range<usize>, place: &str, what: impl Display, remedy: &str) {
        let before = self.text.as_bytes().get(..at.start).unwrap_or_default();
        self.problems.push(ToolsProblem {
            line: 1 + before.iter().filter(|byte| **byte == b'\n').count(),
            place: place.to_owned(),
            what: what.to_string(),
            remedy: remedy.to_owned(),
        });
    }

    fn parsed<T: FromStr<Err: Display>>(
        &mut self,
        text: &Text,
        place: &str,
        remedy: &str,
    ) -> Option<T> {
        match text.as_ref().parse() {
            Ok(it) => Some(it),
            Err(error) => {
                self.problem(text.span(), place, error, remedy);
                None
            }
        }
    }

    fn length(&mut self, text: &Text, place: &str, longest_mm: f64) -> Option<Length> {
        let measured: Measured = self.parsed(text, place, LENGTH)?;
        match measured.amount() {
            Amount::Length(length) if (1.0..=longest_mm).contains(&length.get::<millimeter>()) => {
                return Some(length);
            }
            Amount::Length(_)
            | Amount::Temperature(_)
            | Amount::Voltage(_)
            | Amount::Pressure(_)
            | Amount::Charge(_)
            | Amount::Mass(_)
            | Amount::Volume(_) => {}
        }
        let what = format!("“{measured}” is not a length from 1 to {longest_mm:.0} mm");
        self.problem(text.span(), place, what, LENGTH);
        None
    }

    /// The name, once in its kind.
    fn name(&mut self, text: &Text, place: &str, earlier: &[&str]) {
        let name = text.as_ref().trim();
        if name.is_empty() {
            self.problem(
                text.span(),
                place,
                "the name is empty",
                "give it the name you say",
            );
        } else if earlier.contains(&name) {
            let what = format!("“{name}” comes twice");
            self.problem(text.span(), place, what, "give each its own name");
        }
    }

    fn wrenches(&mut self, entries: &[WrenchEntry]) -> Vec<TorqueWrench> {
        let mut wrenches = Vec::new();
        let names: Vec<&str> = entries.iter().map(|e| e.name.as_ref().trim()).collect();
        for (at, entry) in entries.iter().enumerate() {
            let of = |key: &str| format!("torque_wrench {} (“{}”), {key}", at + 1, names[at]);
            self.name(&entry.name, &of("name"), &names[..at]);
            let scale = self.scale(entry, &of);
            let drive = entry.drive.as_ref();
            let drive = drive.and_then(|text| self.parsed::<Size>(text, &of("drive"), SIZE));
            let length = entry.length.as_ref();
            let length = length.and_then(|text| self.length(text, &of("length"), 3_000.0));
            if let (Some(short), Some(text)) = (length, &entry.length)
                && short.get::<millimeter>() < 50.0
            {
                let what = "a torque wrench is 50 mm long at least";
                self.problem(
                    text.span(),
                    &of("length"),
                    what,
                    "measure from mid-grip to square",
                );
            }
            let due = entry.calibration_due.as_ref();
            let calibration_due = due.and_then(|text| {
                self.parsed::<Date>(text, &of("calibration_due"), "write year-month-day")
            });
            let accuracy = match &entry.accuracy {
                Some(text) => self.parsed(text, &of("accuracy"), "or leave it out for ISO 6789"),
                None => Some(Accuracy::Iso6789),
            };
            if let (Some(scale), Some(accuracy)) = (scale, accuracy) {
                wrenches.push(TorqueWrench {
                    name: names[at].to_owned(),
                    scale,
                    drive,
                    length,
                    calibration_due,
                    accuracy,
                });
            }
        }
        wrenches
    }

    fn scale(&mut self, entry: &WrenchEntry, of: &impl Fn(&str) -> String) -> Option<Scale> {
        const RANGE: &str = "write lowest and highest torque such as “40–200 N·m”";
        let spec: Option<TorqueSpec> = self.parsed(&entry.scale, &of("scale"), RANGE);
        let step: Option<TorqueValue> = self.parsed(
            &entry.step,
            &of("step"),
            "write the step with its unit, such as “1 N·m”",
        );
        let (spec, step) = (spec?, step?);
        let Limits::Range(lowest, highest) = spec.limits() else {
            let what = format!("“{spec}” is no range");
            self.problem(entry.scale.span(), &of("scale"), what, RANGE);
            return None;
        };
        let unit = spec.target().unit;
        if step.unit != unit {
            let what = format!("the step is in {}, the scale in {unit}", step.unit);
            self.problem(
                entry.step.span(),
                &of("step"),
                what,
                "give both in the wrench's unit",
            );
            return None;
        }
        match Scale::new(unit, lowest, highest, step.value) {
            Ok(scale) => Some(scale),
            Err(error) => {
                self.problem(
                    entry.step.span(),
                    &of("step"),
                    error,
                    "read it off the wrench",
                );
                None
            }
        }
    }

    fn sized(&mut self, file: &ToolsFile) -> Vec<SizedTool> {
        let mut sized = Vec::new();
        for (at, entry) in (1..).zip(&file.sockets) {
            let place = format!("sockets {at}");
            let drive = self.parsed(&entry.drive, &format!("{place}, drive"), SIZE);
            let shape = entry.shape.unwrap_or(DriveShape::Hex);
            let sizes = self.sizes(&entry.sizes, shape, &place);
            if let Some(drive) = drive {
                let depth = entry.depth;
                let kind = ToolKind::Socket { drive, depth };
                sized.extend(
                    sizes
                        .into_iter()
                        .map(|size| SizedTool { kind, shape, size }),
                );
            }
        }
        for (at, entry) in (1..).zip(&file.spanners) {
            let shape = entry.shape.unwrap_or(DriveShape::Hex);
            let sizes = self.sizes(&entry.sizes, shape, &format!("spanners {at}"));
            let kind = ToolKind::Spanner;
            sized.extend(
                sizes
                    .into_iter()
                    .map(|size| SizedTool { kind, shape, size }),
            );
        }
        sized
    }

    fn sizes(&mut self, texts: &[Text], shape: DriveShape, place: &str) -> Vec<Size> {
        let place = format!("{place}, sizes");
        let mut sizes = Vec::new();
        for text in texts {
            let Some(size) = self.parsed::<Size>(text, &place, SIZE) else {
                continue;
            };
            let numbered = matches!(size, Size::Number(_));
            if numbered != (shape == DriveShape::SixLobe) {
                let what = format!("“{size}” is no size of a {} drive", shape.name());
                self.problem(text.span(), &place, what, SIZE);
                continue;
            }
            sizes.push(size);
        }
        sizes
    }

    fn adapters(&mut self, entries: &[AdapterEntry]) -> Vec<Adapter> {
        let mut adapters = Vec::new();
        let names: Vec<&str> = entries.iter().map(|e| e.name.as_ref().trim()).collect();
        for (at, entry) in entries.iter().enumerate() {
            let of = |key: &str| format!("adapter {} (“{}”), {key}", at + 1, names[at]);
            self.name(&entry.name, &of("name"), &names[..at]);
            let size = entry.size.as_ref();
            let size = size.and_then(|text| self.parsed::<Size>(text, &of("size"), SIZE));
            let angle = entry.angle.as_ref().map_or(0.0, |angle| *angle.as_ref());
            if let Some(text) = &entry.angle
                && !(-180.0..=180.0).contains(&angle)
            {
                let what = format!("{angle}° lies outside of −180° to 180°");
                self.problem(
                    text.span(),
                    &of("angle"),
                    what,
                    "0 is straight out, 90 is square",
                );
            }
            if let Some(length) = self.length(&entry.length, &of("length"), 1_000.0) {
                adapters.push(Adapter {
                    name: names[at].to_owned(),
                    length,
                    angle: Angle::new::<degree>(angle),
                    size,
                });
            }
        }
        adapters
    }
}
