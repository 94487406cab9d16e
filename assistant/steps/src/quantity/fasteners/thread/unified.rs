//! Inch threads: the coarse and fine series of the Unified thread, UNC and UNF (ASME B1.1).

use super::ThreadError;
use std::f64::consts::PI;
use std::fmt;
use std::str::FromStr;
use uom::si::area::square_inch;
use uom::si::f64::{Area, Length};
use uom::si::length::inch;

/// Which series of the Unified thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Series {
    /// Coarse.
    Unc,
    /// Fine.
    Unf,
}

/// A thread of UNC or UNF, #0 to 1 1/2 in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct UnifiedThread {
    size: &'static Size,
    series: Series,
}

/// A size with its threads per inch.
#[derive(Debug, PartialEq, Eq, Hash)]
struct Size {
    name: &'static str,
    /// Nominal diameter in ten-thousandths of an inch.
    diameter: u32,
    coarse: Option<u8>,
    fine: u8,
}

const fn size(name: &'static str, diameter: u32, coarse: u8, fine: u8) -> Size {
    Size {
        name,
        diameter,
        coarse: Some(coarse),
        fine,
    }
}

/// The coarse and fine series of ASME B1.1. PyPI `bd_warehouse` 0.4.0, a parts library, has the same pairs where it
/// lists them, and the published stress area of each pair follows from its threads per inch (see the tests). A numbered
/// size is 0.060 in and 0.013 in more for each number.
static SIZES: [Size; 24] = [
    Size {
        name: "#0",
        diameter: 600,
        coarse: None,
        fine: 80,
    },
    size("#1", 730, 64, 72),
    size("#2", 860, 56, 64),
    size("#3", 990, 48, 56),
    size("#4", 1120, 40, 48),
    size("#5", 1250, 40, 44),
    size("#6", 1380, 32, 40),
    size("#8", 1640, 32, 36),
    size("#10", 1900, 24, 32),
    size("#12", 2160, 24, 28),
    size("1/4", 2500, 20, 28),
    size("5/16", 3125, 18, 24),
    size("3/8", 3750, 16, 24),
    size("7/16", 4375, 14, 20),
    size("1/2", 5000, 13, 20),
    size("9/16", 5625, 12, 18),
    size("5/8", 6250, 11, 18),
    size("3/4", 7500, 10, 16),
    size("7/8", 8750, 9, 14),
    size("1", 10_000, 8, 12),
    size("1 1/8", 11_250, 7, 12),
    size("1 1/4", 12_500, 7, 12),
    size("1 3/8", 13_750, 6, 12),
    size("1 1/2", 15_000, 6, 12),
];

impl UnifiedThread {
    /// Which series it belongs to.
    pub fn series(self) -> Series {
        self.series
    }

    /// Nominal diameter d.
    pub fn diameter(self) -> Length {
        Length::new::<inch>(self.inches())
    }

    fn inches(self) -> f64 {
        f64::from(self.size.diameter) / 10_000.0
    }

    /// Threads per inch n.
    pub fn threads_per_inch(self) -> u8 {
        match (self.series, self.size.coarse) {
            (Series::Unc, Some(coarse)) => coarse,
            (Series::Unc, None) | (Series::Unf, _) => self.size.fine,
        }
    }

    /// Pitch p, an inch by n.
    pub fn pitch(self) -> Length {
        Length::new::<inch>(1.0 / f64::from(self.threads_per_inch()))
    }

    /// Tensile stress area A = π/4 · (d − 0.9743/n)² in² (ASME B1.1): 0.0018 in² for #0 up to 1.58 in². The
    /// standard's own tables round it to three digits or four.
    pub fn stress_area(self) -> Area {
        let d = self.inches() - 0.9743 / f64::from(self.threads_per_inch());
        Area::new::<square_inch>(PI / 4.0 * d * d)
    }
}

impl FromStr for UnifiedThread {
    type Err = ThreadError;

    /// Reads "1/2-20 UNF", "1/2-20", "1/2 UNF", "#10-24 UNC-2A", "No. 10-24", "1 1/8-7" and "1-1/8-7".
    fn from_str(text: &str) -> Result<Self, ThreadError> {
        let refused = || ThreadError::Designation(text.to_owned());
        let mut rest = text.trim();
        for after in ["-LH", "-1A", "-2A", "-3A", "-1B", "-2B", "-3B"] {
            rest = rest.strip_suffix(after).unwrap_or(rest).trim_end();
        }
        let mut series = None;
        for (name, is) in [("UNC", Series::Unc), ("UNF", Series::Unf)] {
            if let Some(before) = rest.strip_suffix(name) {
                (rest, series) = (before.trim_end(), Some(is));
            }
        }
        let found = |name: &str| {
            let name = name.trim().trim_end_matches("in").trim_end();
            let plain = name.strip_prefix("No.").or_else(|| name.strip_prefix('#'));
            SIZES.iter().find(|size| match plain {
                Some(number) => size.name.strip_prefix('#') == Some(number.trim()),
                None => size.name == name || size.name.replace(' ', "-") == name,
            })
        };
        let (size, given) = match (found(rest), rest.rsplit_once('-')) {
            (Some(size), _) => (size, None),
            (None, Some((name, number))) => {
                let number = number.trim();
                let written = !name.trim().is_empty()
                    && (1..=2).contains(&number.len())
                    && number.bytes().all(|b| b.is_ascii_digit());
                if !written {
                    return Err(refused());
                }
                let size = found(name).ok_or_else(|| ThreadError::Size(name.trim().to_owned()))?;
                (size, Some(number))
            }
            (None, None) => return Err(refused()),
        };
        let of = |series| match series {
            Series::Unc => size.coarse,
            Series::Unf => Some(size.fine),
        };
        let fits = |is: Series| {
            of(is).is_some_and(|known| given.is_none_or(|given| given == known.to_string()))
        };
        let series = match (series, given) {
            (Some(series), _) => Some(series).filter(|series| fits(*series)),
            (None, Some(_)) => [Series::Unc, Series::Unf].into_iter().find(|it| fits(*it)),
            (None, None) => return Err(refused()),
        };
        series
            .map(|series| Self { size, series })
            .ok_or_else(|| ThreadError::ThreadsPerInch {
                size: size.name.to_owned(),
                known: match size.coarse {
                    Some(coarse) => format!("{coarse} (UNC) or {} (UNF)", size.fine),
                    None => format!("{} (UNF)", size.fine),
                },
                given: rest.to_owned(),
            })
    }
}

impl fmt::Display for UnifiedThread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let series = match self.series {
            Series::Unc => "UNC",
            Series::Unf => "UNF",
        };
        write!(f, "{}-{} {series}", self.size.name, self.threads_per_inch())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn thread(text: &str) -> UnifiedThread {
        text.parse().unwrap()
    }

    /// ASME B1.1, tensile stress areas in in², as thread tables reprint them: all of UNF and UNC.
    #[test]
    fn the_stress_area_is_the_standards() {
        let table: [(&str, f64); 47] = [
            ("#0-80", 0.001_80),
            ("#1-72", 0.002_78),
            ("#2-64", 0.003_94),
            ("#3-56", 0.005_23),
            ("#4-48", 0.006_61),
            ("#5-44", 0.008_30),
            ("#6-40", 0.010_15),
            ("#8-36", 0.014_74),
            ("#10-32", 0.020_0),
            ("#12-28", 0.025_8),
            ("1/4-28", 0.036_4),
            ("5/16-24", 0.058_0),
            ("3/8-24", 0.087_8),
            ("7/16-20", 0.118_7),
            ("1/2-20", 0.159_9),
            ("9/16-18", 0.203),
            ("5/8-18", 0.256),
            ("3/4-16", 0.373),
            ("7/8-14", 0.509),
            ("1-12", 0.663),
            ("1 1/8-12", 0.856),
            ("1 1/4-12", 1.073),
            ("1 3/8-12", 1.315),
            ("1 1/2-12", 1.581),
            ("#1-64", 0.002_63),
            ("#2-56", 0.003_70),
            ("#3-48", 0.004_87),
            ("#4-40", 0.006_04),
            ("#5-40", 0.007_96),
            ("#6-32", 0.009_09),
            ("#8-32", 0.014_0),
            ("#10-24", 0.017_5),
            ("#12-24", 0.024_2),
            ("1/4-20", 0.031_8),
            ("5/16-18", 0.052_4),
            ("3/8-16", 0.077_5),
            ("7/16-14", 0.106_3),
            ("1/2-13", 0.141_9),
            ("9/16-12", 0.182),
            ("5/8-11", 0.226),
            ("3/4-10", 0.334),
            ("7/8-9", 0.462),
            ("1-8", 0.606),
            ("1 1/8-7", 0.763),
            ("1 1/4-7", 0.969),
            ("1 3/8-6", 1.155),
            ("1 1/2-6", 1.405),
        ];
        assert_eq!(table.len() + 1, SIZES.len() * 2, "#0 has no coarse thread");
        for (text, area) in table {
            let computed = thread(text).stress_area().get::<square_inch>();
            // One in the third digit: the tables round by way of a rounded pitch.
            let digit = 10f64.powf(area.log10().floor() - 2.0);
            assert!((computed - area).abs() <= digit, "{text} {computed}");
        }
    }

    #[test]
    fn designations_are_read_as_asme_b1_1_writes_them() {
        for (text, same) in [
            ("1/2-20 UNF", "1/2-20 UNF"),
            ("1/2-13", "1/2-13 UNC"),
            ("1/2 UNF", "1/2-20 UNF"),
            ("#10-24 UNC-2A", "#10-24 UNC"),
            ("No. 10-32", "#10-32 UNF"),
            ("1 1/8-7 UNC-2A-LH", "1 1/8-7 UNC"),
            ("1-1/8-7", "1 1/8-7 UNC"),
            ("1-8", "1-8 UNC"),
            ("3/8 in-24 UNF", "3/8-24 UNF"),
        ] {
            assert_eq!(thread(text).to_string(), same);
            assert_eq!(thread(same), thread(text));
        }
        for text in ["", "1/2", "UNC", "1/2-", "-20", "1/2-x UNF", "14x1.5"] {
            assert!(
                matches!(
                    text.parse::<UnifiedThread>(),
                    Err(ThreadError::Designation(_))
                ),
                "{text}"
            );
        }
        assert_eq!(
            "1/2-24 UNF"
                .parse::<UnifiedThread>()
                .unwrap_err()
                .to_string(),
            "1/2 has 13 (UNC) or 20 (UNF) threads per inch, not 1/2-24"
        );
        assert!(matches!(
            "1/2-20 UNC".parse::<UnifiedThread>(),
            Err(ThreadError::ThreadsPerInch { .. })
        ));
        assert!(matches!(
            "#0-64".parse::<UnifiedThread>(),
            Err(ThreadError::ThreadsPerInch { .. })
        ));
        assert!(matches!(
            "5/9-20".parse::<UnifiedThread>(),
            Err(ThreadError::Size(_))
        ));
    }

    #[test]
    fn sizes_rise_and_a_finer_thread_carries_more() {
        let of = |size, series| UnifiedThread { size, series };
        for pair in SIZES.windows(2) {
            assert!(pair[0].diameter < pair[1].diameter);
            let area = |size| of(size, Series::Unf).stress_area();
            assert!(area(&pair[0]) < area(&pair[1]));
        }
        for size in &SIZES[1..] {
            assert!(of(size, Series::Unf).stress_area() > of(size, Series::Unc).stress_area());
        }
    }

    proptest! {
        #[test]
        fn no_text_makes_it_panic(text in "[#0-9/ -]{0,8}(UNC|UNF)?(-2A)?") {
            let _ = text.parse::<UnifiedThread>();
        }
    }
}
