//! Widths across flats that belong to a thread.

use super::MetricThread;
use crate::quantity::Size;

/// The standard that a hexagon follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum HexSeries {
    /// ISO 4014, 4017 and 4032.
    Iso,
    /// The older DIN 931, 933 and 934.
    Din,
    /// Small hexagons as on Japanese vehicles.
    JapaneseSmall,
}

/// The width across flats of a thread's hexagon; `None` where the series has none here.
///
/// ISO widths are those of ISO 4014, DIN widths those of DIN 931, both as in PyPI `bd_warehouse` 0.4.0, a parts library; the
/// Japanese ones are the small hexagons of the annex to JIS B 1180. A head is measured before it is trusted to a table: makers
/// use their own widths too.
pub fn across_flats(thread: MetricThread, series: HexSeries) -> Option<Size> {
    let iso = [
        ("3", "5.5"),
        ("4", "7"),
        ("5", "8"),
        ("6", "10"),
        ("8", "13"),
        ("10", "16"),
        ("12", "18"),
        ("14", "21"),
        ("16", "24"),
        ("18", "27"),
        ("20", "30"),
        ("22", "34"),
        ("24", "36"),
    ];
    let din = [("10", "17"), ("12", "19"), ("14", "22"), ("22", "32")];
    let japanese = [("10", "14"), ("12", "17")];
    let of = |table: &[(&str, &str)]| {
        table
            .iter()
            .find(|(d, _)| d.parse() == Ok(thread.diameter_mm()))
            .and_then(|(_, width)| width.parse().ok())
            .map(Size::Millimetres)
    };
    match series {
        HexSeries::Iso => of(&iso),
        HexSeries::Din => of(&din).or_else(|| of(&iso)),
        HexSeries::JapaneseSmall => of(&japanese),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// PyPI `bd_warehouse` 0.4.0: hex_head_parameters.csv, columns iso4014:s and din931:s.
    #[test]
    fn widths_are_those_of_the_parts_library() {
        for (thread, iso, din) in [
            ("M6", "10 mm", "10 mm"),
            ("M8", "13 mm", "13 mm"),
            ("M10", "16 mm", "17 mm"),
            ("M12", "18 mm", "19 mm"),
            ("M14", "21 mm", "22 mm"),
            ("M16", "24 mm", "24 mm"),
            ("M18", "27 mm", "27 mm"),
            ("M20", "30 mm", "30 mm"),
        ] {
            let thread: MetricThread = thread.parse().unwrap();
            assert_eq!(
                across_flats(thread, HexSeries::Iso).unwrap().to_string(),
                iso
            );
            assert_eq!(
                across_flats(thread, HexSeries::Din).unwrap().to_string(),
                din
            );
        }
    }

    /// JIS B 1180, annex, small hexagon head bolts.
    #[test]
    fn small_hexagons_are_smaller() {
        let width = |text: &str| across_flats(text.parse().unwrap(), HexSeries::JapaneseSmall);
        assert_eq!(width("M10x1.25").unwrap().to_string(), "14 mm");
        assert_eq!(width("M12").unwrap().to_string(), "17 mm");
        assert_eq!(width("M8"), None);
    }
}
