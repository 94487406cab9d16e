//! Sizes of drives and threads in a running text.

use crate::quantities::{number_at, numbers};
use steps::quantity::{DriveShape, MetricThread, Size};

/// A drive that a text seems to name, and what else its author must know.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    pub drive: Option<(DriveShape, Size)>,
    pub doubts: Vec<String>,
}

/// Keys in millimetres for the sockets of cap screws M2.5 to M24 (ISO 4762), for “hex 8”. ISO 2936 has more, such as 7 mm.
const KEYS: [&str; 12] = [
    "2", "2.5", "3", "4", "5", "6", "8", "10", "12", "14", "17", "19",
];

/// Numbers of hexalobular sockets, for “T30”: those of ISO 10664 from 6 to 80, and 27 (common practice, no source).
const LOBES: [u16; 15] = [6, 8, 10, 15, 20, 25, 27, 30, 40, 45, 50, 55, 60, 70, 80];

/// Width across flats, or the number of a hexalobular socket.
pub fn drive(text: &str) -> Drive {
    let mut doubts = Vec::new();
    let mut drive = across_flats(text).or_else(|| six_lobe(text));
    for (after_hex, word) in pairs(text) {
        let short = match lobes(word) {
            Some(Lobes::Inside(number)) => {
                doubts.push(format!(
                    "“{word}” is taken for a hexalobular socket (ISO 10664)"
                ));
                Some((DriveShape::SixLobe, Size::Number(number)))
            }
            Some(Lobes::Outside) => {
                doubts.push(format!(
                    "“{word}” looks like a hexalobular head, driven from outside: name its socket in `tools`"
                ));
                None
            }
            None if after_hex && KEYS.contains(&word) => {
                doubts.push(format!(
                    "“hex {word}” is taken for a hexagon key of {word} mm"
                ));
                let size = format!("{word} mm").parse();
                size.ok().map(|size| (DriveShape::HexSocket, size))
            }
            None => None,
        };
        match (drive, short) {
            (Some(kept), Some(short)) if kept != short => {
                doubts.push(format!("there is another size, {}", short.1));
            }
            (Some(_), _) | (None, None) => {}
            (None, Some(_)) => drive = short,
        }
    }
    Drive { drive, doubts }
}

/// Each word, without what stands around it, and whether “hex” stands before it.
fn pairs(text: &str) -> Vec<(bool, &str)> {
    let mut after_hex = false;
    let words = text
        .split(|it: char| it.is_whitespace() || matches!(it, ',' | ';' | '(' | ')' | ':'))
        .map(|word| word.trim_end_matches(['.', '!', '?']))
        .filter(|word| !word.is_empty());
    words
        .map(|word| {
            (
                std::mem::replace(&mut after_hex, word.eq_ignore_ascii_case("hex")),
                word,
            )
        })
        .collect()
}

enum Lobes {
    Inside(u16),
    Outside,
}

/// “T30”, “TX30”, “E12”.
fn lobes(word: &str) -> Option<Lobes> {
    let digits = word.trim_start_matches(|it: char| it.is_ascii_alphabetic());
    let number: u16 = digits.parse().ok()?;
    match &word[..word.len() - digits.len()] {
        "T" | "TX" if LOBES.contains(&number) => Some(Lobes::Inside(number)),
        "E" if (4..=24).contains(&number) => Some(Lobes::Outside),
        _ => None,
    }
}

fn across_flats(text: &str) -> Option<(DriveShape, Size)> {
    let lower = text.to_lowercase();
    let socket = [
        "hex key",
        "hexagon key",
        "hex socket",
        "socket head",
        "hex bit",
    ];
    let shape = if socket.iter().any(|it| lower.contains(it)) {
        DriveShape::HexSocket
    } else if lower.contains("twelve-point") || lower.contains("12-point") {
        DriveShape::TwelvePoint
    } else {
        DriveShape::Hex
    };
    let width = numbers(text).find_map(|at| {
        let (number, rest) = number_at(text, at)?;
        if let Some(after) = rest.strip_prefix("mm") {
            let size: Size = format!("{number} mm").parse().ok()?;
            let ends = !after.starts_with(char::is_alphanumeric);
            // Below and above these a width in millimetres is rarely one across flats (common practice, no source).
            let usual = number
                .parse::<f64>()
                .is_ok_and(|it| (3.0..=80.0).contains(&it));
            return (ends && usual).then_some(size);
        }
        let over: String = rest
            .strip_prefix('/')?
            .chars()
            .take_while(char::is_ascii_digit)
            .collect();
        let after = rest[1 + over.len()..].trim_start();
        let inch = after.starts_with("in") || after.starts_with('"') || after.starts_with('″');
        let size: Size = format!("{number}/{over} in").parse().ok()?;
        inch.then_some(size)
    })?;
    Some((shape, width))
}

/// “six-lobe 30”, “hexalobular 30”
fn six_lobe(text: &str) -> Option<(DriveShape, Size)> {
    let lower = text.to_lowercase();
    let names = ["six-lobe", "hexalobular"];
    let after = names
        .iter()
        .find_map(|name| Some(lower.split_once(name)?.1))?;
    let number: String = after
        .trim_start_matches(|it: char| !it.is_ascii_digit())
        .chars()
        .take_while(char::is_ascii_digit)
        .collect();
    match number.parse().ok()? {
        size @ Size::Number(_) => Some((DriveShape::SixLobe, size)),
        Size::Millimetres(_) | Size::InchFraction(..) => None,
    }
}

/// The first metric thread that a text names, as it is designated: “M10x1.25”.
pub fn thread(text: &str) -> Option<String> {
    let begins = text.match_indices('M').map(|(at, _)| at);
    begins
        .filter(|at| !text[..*at].ends_with(char::is_alphanumeric))
        .find_map(|at| metric(&text[at + 1..]))
}

/// What stands behind an M: a diameter, and by it perhaps a pitch. “M6 x 20” has a length there.
fn metric(text: &str) -> Option<String> {
    let number = |text: &str| {
        let end = text.find(|it: char| !(it.is_ascii_digit() || it == '.'));
        text[..end.unwrap_or(text.len())]
            .trim_end_matches('.')
            .len()
    };
    let known = |thread: String| thread.parse::<MetricThread>().is_ok().then_some(thread);
    let ends = |rest: &str| !rest.starts_with(char::is_alphanumeric);
    let (diameter, rest) = text.split_at(number(text));
    let by = rest.trim_start().strip_prefix(['x', 'X', '×', '*']);
    let with_pitch = by.and_then(|by| {
        let (pitch, after) = by.trim_start().split_at(number(by.trim_start()));
        ends(after).then(|| known(format!("M{diameter}x{pitch}")))?
    });
    let bare = || (ends(rest) || by.is_some()).then(|| known(format!("M{diameter}")))?;
    with_pitch.or_else(bare)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(text: &str) -> Option<String> {
        let found = drive(text).drive;
        found.map(|(shape, size)| format!("{size} {}", shape.name()))
    }

    #[test]
    fn widths_are_found() {
        assert_eq!(size("(2 bolts, 17 mm)").as_deref(), Some("17 mm hex"));
        assert_eq!(size("7mm hex key").as_deref(), Some("7 mm hex key"));
        assert_eq!(size("3/4 in socket").as_deref(), Some("3/4 in hex"));
        assert_eq!(size("six-lobe 30").as_deref(), Some("size 30 six-lobe"));
        assert_eq!(size("hexalobular 30").as_deref(), Some("size 30 six-lobe"));
        assert_eq!(size("gap of 0.5 mm"), None);
        assert!(drive("(2 bolts, 17 mm)").doubts.is_empty());
    }

    #[test]
    fn short_names_of_drives_are_found_and_doubted() {
        for (text, expected) in [
            ("Remove the 3 T30 screws", Some("size 30 six-lobe")),
            ("screws (TX25).", Some("size 25 six-lobe")),
            ("bolt, hex 8", Some("8 mm hex key")),
            ("Hex 6 bolts", Some("6 mm hex key")),
            ("both E12 bolts", None),
            ("2 bolts, 13 mm, T30", Some("13 mm hex")),
        ] {
            assert_eq!(size(text).as_deref(), expected, "{text}");
            assert!(!drive(text).doubts.is_empty(), "{text}");
        }
        for text in [
            "T31 screws",
            "the T bar",
            "hex 7 bolts",
            "E3",
            "T300",
            "bay E12a",
            "hex bolts",
        ] {
            let found = drive(text);
            assert_eq!((found.drive, found.doubts.len()), (None, 0), "{text}");
        }
    }

    #[test]
    fn threads_are_found() {
        for (text, expected) in [
            ("4 bolts M10x1.25, 17 mm", Some("M10x1.25")),
            ("4 bolts M10 x 1.25", Some("M10x1.25")),
            ("the M8 bolts", Some("M8")),
            ("M8×1 bolts", Some("M8x1")),
            ("M6 x 20 bolts", Some("M6")),
            ("bolt M6.", Some("M6")),
            ("AM8 bolts", None),
            ("M8a bolts", None),
            ("M99 bolts", None),
            ("Move the bolts", None),
        ] {
            assert_eq!(thread(text).as_deref(), expected, "{text}");
        }
    }
}
