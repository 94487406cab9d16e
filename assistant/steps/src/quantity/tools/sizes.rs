//! Sockets, spanners, keys and bits, and whether the owned ones serve a drive.

use super::Tools;
use crate::quantity::{DriveShape, Fit, Size, fit};
use schemars::JsonSchema;
use serde::Deserialize;

/// What a sized tool is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ToolKind {
    /// A socket, key or bit on a drive square.
    Socket {
        /// Width of its drive square.
        drive: Size,
        /// Its depth.
        depth: Depth,
    },
    /// A spanner.
    Spanner,
}

/// Depth of a socket.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Depth {
    /// Standard.
    #[default]
    Standard,
    /// Deep.
    Deep,
}

/// One tool of one size.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SizedTool {
    /// What it is.
    pub kind: ToolKind,
    /// The shape it turns.
    pub shape: DriveShape,
    /// Its size.
    pub size: Size,
}

/// Whether something owned turns a drive.
#[derive(Debug, Clone, PartialEq)]
pub enum Owned<'a> {
    /// The size itself is there.
    Right(Vec<&'a SizedTool>),
    /// Only a stand-in of the other system is there, within the right one's tolerance.
    StandsIn(Vec<&'a SizedTool>),
    /// Nothing there serves; the nearest ones that must not be used, with the reason.
    Nothing(Vec<(&'a SizedTool, Fit)>),
}

impl Tools {
    /// What turns a drive of a shape and size.
    pub fn for_drive(&self, shape: DriveShape, size: Size) -> Owned<'_> {
        let fits: Vec<_> = self
            .sized
            .iter()
            .filter(|tool| turns(tool.shape, shape))
            .map(|tool| (tool, fit(tool.size, size, shape)))
            .collect();
        let of = |wanted: Fit| -> Vec<&SizedTool> {
            let chosen = fits.iter().filter(|(_, fit)| *fit == wanted);
            chosen.map(|(tool, _)| *tool).collect()
        };
        let right = of(Fit::Right);
        if !right.is_empty() {
            return Owned::Right(right);
        }
        let stand_ins = of(Fit::StandsIn);
        if !stand_ins.is_empty() {
            return Owned::StandsIn(stand_ins);
        }
        let near = |tool: &SizedTool| match (tool.size.length(), size.length()) {
            (Some(a), Some(b)) => (f64::from(a / b) - 1.0).abs() < 0.05,
            (None, Some(_)) | (Some(_), None) | (None, None) => false,
        };
        Owned::Nothing(fits.into_iter().filter(|(tool, _)| near(tool)).collect())
    }
}

/// Whether a tool made for one shape turns another. A twelve-point socket goes on a hexagon, not the other way
/// round; a slotted nut is a hexagon with slots (common practice, no source).
fn turns(tool: DriveShape, drive: DriveShape) -> bool {
    match (tool, drive) {
        (DriveShape::Hex | DriveShape::TwelvePoint, DriveShape::Hex | DriveShape::Slotted) => true,
        (DriveShape::Slotted, DriveShape::Hex) => false,
        (
            DriveShape::Hex
            | DriveShape::HexSocket
            | DriveShape::TwelvePoint
            | DriveShape::SixLobe
            | DriveShape::Slotted,
            DriveShape::Hex
            | DriveShape::HexSocket
            | DriveShape::TwelvePoint
            | DriveShape::SixLobe
            | DriveShape::Slotted,
        ) => tool == drive,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spanner(shape: DriveShape, size: &str) -> SizedTool {
        SizedTool {
            kind: ToolKind::Spanner,
            shape,
            size: size.parse().unwrap(),
        }
    }

    #[test]
    fn the_right_one_goes_before_a_stand_in_and_a_wrong_one_is_named() {
        let hex = DriveShape::Hex;
        let tools = Tools {
            sized: vec![
                spanner(hex, "3/4 in"),
                spanner(hex, "13 mm"),
                spanner(hex, "1/2 in"),
            ],
            ..Tools::default()
        };
        let of = |size: &str| tools.for_drive(hex, size.parse().unwrap());
        assert_eq!(of("13 mm"), Owned::Right(vec![&tools.sized[1]]));
        assert_eq!(of("19 mm"), Owned::StandsIn(vec![&tools.sized[0]]));
        match of("12.5 mm") {
            Owned::Nothing(near) => assert_eq!(near.len(), 2),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_hexagon_does_not_turn_twelve_points() {
        let tools = |shape| Tools {
            sized: vec![spanner(shape, "13 mm")],
            ..Tools::default()
        };
        let serves = |tool, drive| {
            let tools = tools(tool);
            matches!(
                tools.for_drive(drive, "13 mm".parse().unwrap()),
                Owned::Right(_)
            )
        };
        assert!(serves(DriveShape::TwelvePoint, DriveShape::Hex));
        assert!(serves(DriveShape::Hex, DriveShape::Slotted));
        assert!(!serves(DriveShape::Hex, DriveShape::TwelvePoint));
        assert!(!serves(DriveShape::HexSocket, DriveShape::Hex));
    }
}
