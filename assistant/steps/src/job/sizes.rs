//! Sizes: what goes on the drive, and whether the technician has it.

use super::{Job, Out};
use crate::Tone;
use crate::codes::{DriveSize, InWords};
use crate::lines::Lines;
use crate::procedure::{Drive, FastenerGroup};
use crate::quantity::{Depth, DriveShape, Fit, Owned, Size, SizedTool, ToolKind};

impl Job {
    pub(super) fn size_of(&self, group: &FastenerGroup) -> Option<String> {
        Some(drive_size(group)?.words(self.procedure.language))
    }

    pub(super) fn what_size(&self, group: &FastenerGroup, name: &str, out: &mut Out) {
        let Some((drive, size)) = group.drive.zip(self.size_of(group)) else {
            out.say(Tone::Answer, self.lines().no_size(group.named()));
            return;
        };
        let lines = self.lines();
        let deep = match drive.depth {
            Some(Depth::Deep) => format!(", {}", lines.deep()),
            Some(Depth::Standard) | None => String::new(),
        };
        let mut text = format!("{name}{size}{deep}.");
        let mut warnings = Vec::new();
        if let Some(tools) = self.tools().filter(|tools| !tools.sized.is_empty()) {
            match tools.for_drive(drive.shape, drive.size) {
                Owned::Right(tools) => text.push_str(&have(drive, &tools, lines)),
                Owned::StandsIn(tools) => {
                    let size = tools.first().map_or(drive.size, |tool| tool.size);
                    text.push_str(&format!(
                        " {}",
                        lines.stands_in(size.to_string(), listed(&tools, lines))
                    ));
                }
                Owned::Nothing(near) => {
                    text.push_str(&format!(" {}", lines.set_lacks_it()));
                    warnings = wrong(&near, lines);
                }
            }
        }
        out.say(Tone::Answer, text);
        for warning in warnings {
            out.say(Tone::Warning, warning);
        }
    }
}

/// What goes on the drive of a group.
pub(super) fn drive_size(group: &FastenerGroup) -> Option<DriveSize> {
    group.drive.map(|drive| DriveSize {
        size: drive.size.to_string(),
        shape: drive.shape,
    })
}

/// " You have it: 1/2 in drive socket; spanner."
fn have(drive: Drive, tools: &[&SizedTool], lines: Lines) -> String {
    let deep_enough = |tool: &&&SizedTool| match (drive.depth, tool.kind) {
        (Some(Depth::Deep), ToolKind::Socket { depth, .. }) => depth == Depth::Deep,
        (Some(Depth::Deep), ToolKind::Spanner) => false,
        (Some(Depth::Standard) | None, _) => true,
    };
    let deep: Vec<&SizedTool> = tools.iter().filter(deep_enough).copied().collect();
    if deep.is_empty() {
        format!(" {}", lines.have_it_not_deep(listed(tools, lines)))
    } else {
        format!(" {}", lines.have_it(listed(&deep, lines)))
    }
}

/// The kinds of these tools, each once.
fn listed(tools: &[&SizedTool], lines: Lines) -> String {
    let mut kinds: Vec<String> = Vec::new();
    for tool in tools {
        let kind = match (tool.kind, tool.shape) {
            (ToolKind::Socket { drive, depth }, _) => match depth {
                Depth::Deep => lines.deep_drive_socket(drive.to_string()),
                Depth::Standard => lines.drive_socket(drive.to_string()),
            },
            (ToolKind::Spanner, DriveShape::HexSocket | DriveShape::SixLobe) => lines.key(),
            (
                ToolKind::Spanner,
                DriveShape::Hex | DriveShape::TwelvePoint | DriveShape::Slotted,
            ) => lines.spanner(),
        };
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    kinds.join("; ")
}

/// What must not be put on, each size once.
fn wrong(near: &[(&SizedTool, Fit)], lines: Lines) -> Vec<String> {
    let mut sizes: Vec<Size> = Vec::new();
    let mut warnings = Vec::new();
    for (tool, fit) in near {
        let size = tool.size;
        if sizes.contains(&size) {
            continue;
        }
        sizes.push(size);
        warnings.push(match fit {
            Fit::RoundsCorners(_) => lines.too_wide(size.to_string()),
            Fit::TooSmall(_) => lines.too_small(size.to_string()),
            Fit::Never => lines.does_not_fit(size.to_string()),
            // Both would have been told as owned.
            Fit::Right | Fit::StandsIn => continue,
        });
    }
    warnings
}
