//! Which wrench goes on which head, and which stand-in from the other system would round its corners.
//!
//! A wrench's opening is a little wider than its name. Inch openings (W in inches): from 1.005·W + 0.001 in,
//! wider by at most 0.005·W + 0.004 in (ASME B18.2.2, appendix, as in Machinery's Handbook, 31st edition, wrench
//! openings for nuts). Metric openings: ISO 691 (from memory). A head is at most as wide as its name.
//!
//! A wrench stands in where its narrowest opening still goes over the widest head, and its widest opening is no
//! wider than that of the right wrench, so that it can't turn further on the head before it grips. The limits of
//! both standards are rounded, so two hundredths of a millimetre are let pass. Hexagon keys and six-lobe bits get
//! no stand-in: a key that enters a socket of another size is always the smaller one.

use super::{DriveShape, Size};
use uom::si::f64::Length;
use uom::si::length::{inch, millimeter};

/// How a wrench, socket or key goes with a head.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fit {
    /// It is the size itself.
    Right,
    /// Of the other system, within the right wrench's own tolerance.
    StandsIn,
    /// It goes on but is too wide, by so much beyond the widest right one: it rounds the corners.
    RoundsCorners(Length),
    /// It lacks so much to go over every head of the size; forced on a small one it rounds the corners too.
    TooSmall(Length),
    /// Of another kind, or a kind without stand-ins.
    Never,
}

impl Fit {
    /// Whether it may be used.
    pub fn serves(self) -> bool {
        match self {
            Self::Right | Self::StandsIn => true,
            Self::RoundsCorners(_) | Self::TooSmall(_) | Self::Never => false,
        }
    }
}

/// Rounding of the published limits, mm.
const ROUNDING: f64 = 0.02;

/// How a tool of size `tool` goes with a drive of `shape` and size `head`.
pub fn fit(tool: Size, head: Size, shape: DriveShape) -> Fit {
    if same(tool, head) {
        return Fit::Right;
    }
    match shape {
        DriveShape::HexSocket | DriveShape::SixLobe => return Fit::Never,
        DriveShape::Hex | DriveShape::TwelvePoint | DriveShape::Slotted => {}
    }
    let (Some(stand_in), Some(right), Some(widest_head)) =
        (opening(tool), opening(head), head.length())
    else {
        return Fit::Never;
    };
    let widest_head = widest_head.get::<millimeter>();
    if stand_in.narrowest < widest_head {
        return Fit::TooSmall(Length::new::<millimeter>(widest_head - stand_in.narrowest));
    }
    let beyond = stand_in.widest - right.widest;
    if beyond <= ROUNDING {
        Fit::StandsIn
    } else {
        Fit::RoundsCorners(Length::new::<millimeter>(beyond))
    }
}

fn same(a: Size, b: Size) -> bool {
    match (a, b) {
        (Size::Millimetres(a), Size::Millimetres(b)) => a == b,
        (Size::InchFraction(a, b), Size::InchFraction(c, d)) => {
            u32::from(a) * u32::from(d) == u32::from(c) * u32::from(b)
        }
        (Size::Number(a), Size::Number(b)) => a == b,
        (
            Size::Millimetres(_) | Size::InchFraction(..) | Size::Number(_),
            Size::Millimetres(_) | Size::InchFraction(..) | Size::Number(_),
        ) => false,
    }
}

/// The limits of a wrench's opening, mm.
struct Opening {
    narrowest: f64,
    widest: f64,
}

fn opening(size: Size) -> Option<Opening> {
    let width = size.length()?;
    match size {
        Size::Millimetres(_) => {
            let mm = width.get::<millimeter>();
            let (least, most) = iso_691(mm);
            Some(Opening {
                narrowest: mm + least,
                widest: mm + most,
            })
        }
        Size::InchFraction(..) => {
            let w = width.get::<inch>();
            let narrowest = 1.005 * w + 0.001;
            Some(Opening {
                narrowest: narrowest * 25.4,
                widest: (narrowest + 0.005 * w + 0.004) * 25.4,
            })
        }
        Size::Number(_) => None,
    }
}

/// How much wider than its name a metric opening is, least and most, in mm (ISO 691, from memory).
fn iso_691(width: f64) -> (f64, f64) {
    let bands = [
        (3.0, 0.02, 0.08),
        (6.0, 0.02, 0.12),
        (9.0, 0.03, 0.15),
        (12.0, 0.04, 0.19),
        (16.0, 0.04, 0.24),
        (18.0, 0.05, 0.30),
        (26.0, 0.06, 0.36),
        (32.0, 0.08, 0.48),
    ];
    bands
        .into_iter()
        .find(|(up_to, _, _)| width <= *up_to)
        .map_or((0.10, 0.60), |(_, least, most)| (least, most))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(text: &str) -> Size {
        text.parse().unwrap()
    }

    fn on(tool: &str, head: &str) -> Fit {
        fit(size(tool), size(head), DriveShape::Hex)
    }

    /// Machinery's Handbook, 31st edition, wrench openings for nuts (ASME B18.2.2, appendix), inches, within its
    /// rounding. Its smallest sizes are an older standard's.
    #[test]
    fn inch_openings_are_the_handbooks() {
        for (width, least, most) in [
            ("7/16 in", 0.440, 0.446),
            ("1/2 in", 0.504, 0.510),
            ("9/16 in", 0.566, 0.573),
            ("5/8 in", 0.629, 0.636),
            ("11/16 in", 0.692, 0.699),
            ("3/4 in", 0.755, 0.763),
            ("13/16 in", 0.818, 0.826),
            ("7/8 in", 0.880, 0.888),
            ("15/16 in", 0.944, 0.953),
            ("16/16 in", 1.006, 1.015),
            ("20/16 in", 1.257, 1.267),
            ("24/16 in", 1.508, 1.520),
        ] {
            let it = opening(size(width)).unwrap();
            assert!(
                (it.narrowest / 25.4 - least).abs() < 0.0015,
                "{width} {}",
                it.narrowest / 25.4
            );
            assert!(
                (it.widest / 25.4 - most).abs() < 0.0015,
                "{width} {}",
                it.widest / 25.4
            );
        }
    }

    /// Common practice, no source: 5/16 in and 8 mm, 3/4 in and 19 mm stand in for each other.
    #[test]
    fn the_trades_pairs_stand_in_for_each_other() {
        for (a, b) in [
            ("5/16 in", "8 mm"),
            ("3/4 in", "19 mm"),
            ("5/32 in", "4 mm"),
        ] {
            assert_eq!(on(a, b), Fit::StandsIn, "{a} on {b}");
            assert_eq!(on(b, a), Fit::StandsIn, "{b} on {a}");
        }
        assert_eq!(on("6/8 in", "3/4 in"), Fit::Right);
        assert_eq!(on("13.0 mm", "13 mm"), Fit::Right);
    }

    /// Common practice, no source: others, such as 1/2 in on a 13 mm head, round the corners.
    #[test]
    fn the_others_are_refused() {
        for (tool, head) in [
            ("1/2 in", "13 mm"),
            ("13 mm", "1/2 in"),
            ("14 mm", "9/16 in"),
            ("9/16 in", "14 mm"),
            ("7/16 in", "11 mm"),
            ("11 mm", "7/16 in"),
            ("16 mm", "5/8 in"),
            ("5/8 in", "16 mm"),
            ("22 mm", "7/8 in"),
            ("7/8 in", "22 mm"),
            ("24 mm", "15/16 in"),
            ("15/16 in", "24 mm"),
            ("14 mm", "13 mm"),
            ("20 mm", "19 mm"),
            ("3/8 in", "10 mm"),
            ("10 mm", "3/8 in"),
        ] {
            assert!(
                !on(tool, head).serves(),
                "{tool} on {head}: {:?}",
                on(tool, head)
            );
        }
        assert!(matches!(on("13 mm", "1/2 in"), Fit::RoundsCorners(_)));
        assert!(matches!(on("1/2 in", "13 mm"), Fit::TooSmall(_)));
    }

    #[test]
    fn keys_and_bits_have_no_stand_in() {
        assert_eq!(
            fit(size("5/16 in"), size("8 mm"), DriveShape::HexSocket),
            Fit::Never
        );
        assert_eq!(fit(size("30"), size("27"), DriveShape::SixLobe), Fit::Never);
        assert_eq!(fit(size("30"), size("30"), DriveShape::SixLobe), Fit::Right);
        assert_eq!(on("30", "13 mm"), Fit::Never);
    }
}
