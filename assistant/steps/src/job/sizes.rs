//! Sizes: what goes on the drive, and whether the technician has it.

use super::{Job, Out};
use crate::Tone;
use crate::procedure::{Drive, FastenerGroup};
use crate::quantity::{Depth, DriveShape, Fit, Owned, Size, SizedTool, ToolKind};

impl Job {
    pub(super) fn size_of(&self, group: &FastenerGroup) -> Option<String> {
        group
            .drive
            .map(|drive| format!("{} {}", drive.size, drive.shape.name()))
    }

    pub(super) fn what_size(&self, out: &mut Out) {
        let Some(group) = self.group_asked(out) else {
            return;
        };
        let Some((drive, size)) = group.drive.zip(self.size_of(group)) else {
            out.say(
                Tone::Answer,
                format!("No size is given for the {}.", group.named()),
            );
            return;
        };
        let deep = match drive.depth {
            Some(Depth::Deep) => ", deep",
            Some(Depth::Standard) | None => "",
        };
        let mut text = format!("{size}{deep}.");
        let mut warnings = Vec::new();
        if let Some(tools) = self.tools().filter(|tools| !tools.sized.is_empty()) {
            match tools.for_drive(drive.shape, drive.size) {
                Owned::Right(tools) => text.push_str(&have(drive, &tools)),
                Owned::StandsIn(tools) => {
                    let size = tools.first().map_or(drive.size, |tool| tool.size);
                    text.push_str(&format!(
                        " Your set lacks it. Your {size} stands in: {}.",
                        listed(&tools)
                    ));
                }
                Owned::Nothing(near) => {
                    text.push_str(" Your set lacks it.");
                    warnings = wrong(&near);
                }
            }
        }
        out.say(Tone::Answer, text);
        for warning in warnings {
            out.say(Tone::Warning, warning);
        }
    }
}

/// " You have it: 1/2 in drive socket; spanner."
fn have(drive: Drive, tools: &[&SizedTool]) -> String {
    let deep_enough = |tool: &&&SizedTool| match (drive.depth, tool.kind) {
        (Some(Depth::Deep), ToolKind::Socket { depth, .. }) => depth == Depth::Deep,
        (Some(Depth::Deep), ToolKind::Spanner) => false,
        (Some(Depth::Standard) | None, _) => true,
    };
    let deep: Vec<&SizedTool> = tools.iter().filter(deep_enough).copied().collect();
    if deep.is_empty() {
        format!(" You have it, but not deep: {}.", listed(tools))
    } else {
        format!(" You have it: {}.", listed(&deep))
    }
}

/// The kinds of these tools, each once.
fn listed(tools: &[&SizedTool]) -> String {
    let mut kinds: Vec<String> = Vec::new();
    for tool in tools {
        let kind = match (tool.kind, tool.shape) {
            (ToolKind::Socket { drive, depth }, _) => {
                let deep = match depth {
                    Depth::Deep => "deep ",
                    Depth::Standard => "",
                };
                format!("{drive} drive {deep}socket")
            }
            (ToolKind::Spanner, DriveShape::HexSocket | DriveShape::SixLobe) => "key".to_owned(),
            (
                ToolKind::Spanner,
                DriveShape::Hex | DriveShape::TwelvePoint | DriveShape::Slotted,
            ) => "spanner".to_owned(),
        };
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    kinds.join("; ")
}

/// What must not be put on, each size once.
fn wrong(near: &[(&SizedTool, Fit)]) -> Vec<String> {
    let mut sizes: Vec<Size> = Vec::new();
    let mut warnings = Vec::new();
    for (tool, fit) in near {
        let size = tool.size;
        if sizes.contains(&size) {
            continue;
        }
        sizes.push(size);
        warnings.push(match fit {
            Fit::RoundsCorners(_) => {
                format!("Don't use your {size}. It is too wide and rounds the corners.")
            }
            Fit::TooSmall(_) => {
                format!("Don't force your {size} on. It is too small and rounds the corners.")
            }
            Fit::Never => format!("Don't use your {size}. It doesn't fit."),
            // Both would have been told as owned.
            Fit::Right | Fit::StandsIn => continue,
        });
    }
    warnings
}
