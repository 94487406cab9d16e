//! A plain date, for calibration that falls due.

use crate::Moment;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// A day of the Gregorian calendar, from 1900-01-01 to 2199-12-31.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

/// A text that is no date.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "“{0}” is not a date of the years 1900–2199 such as “2027-03-31” (ISO 8601: year-month-day)"
)]
pub struct DateError(pub String);

impl Date {
    /// A day that the calendar has; `None` for any other.
    pub fn new(year: u16, month: u8, day: u8) -> Option<Self> {
        let leap =
            year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let days = match month {
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            4 | 6 | 9 | 11 => 30,
            2 if leap => 29,
            2 => 28,
            _ => return None,
        };
        let fits = (1900..2200).contains(&year) && (1..=days).contains(&day);
        fits.then_some(Self { year, month, day })
    }

    /// The day of a moment, by universal time; `None` outside of the calendar's years.
    pub fn on(moment: Moment) -> Option<Self> {
        const DAY: u64 = 24 * 60 * 60 * 1000;
        let since_1970 = i32::try_from(moment.0 / DAY).ok()?;
        let day = since_1970.checked_add(Self::new(1970, 1, 1)?.number())?;
        // A year that begins in March is a year of 365.2425 days, give or take one; so is a month of 30.6.
        let year = (i64::from(day) * 400 + 399) / 146_097;
        let begins = |year: i64| 365 * year + year / 4 - year / 100 + year / 400;
        let year = (year - 1..=year + 1)
            .rev()
            .find(|year| begins(*year) <= i64::from(day))?;
        let in_year = i64::from(day) - begins(year);
        let month = (5 * in_year + 2) / 153;
        let of_month = in_year - (153 * month + 2) / 5 + 1;
        let (year, month) = if month < 10 {
            (year, month + 3)
        } else {
            (year + 1, month - 9)
        };
        Self::new(
            u16::try_from(year).ok()?,
            u8::try_from(month).ok()?,
            u8::try_from(of_month).ok()?,
        )
    }

    /// Days from this date to `later`; negative where that is the earlier one.
    pub fn days_until(self, later: Self) -> i32 {
        later.number() - self.number()
    }

    /// Days since 1 March of the year 0: a year that begins in March has its leap day last.
    fn number(self) -> i32 {
        let before_march = i32::from(self.month < 3);
        let year = i32::from(self.year) - before_march;
        let month = i32::from(self.month) - 3 + 12 * before_march;
        let days_of_months = (153 * month + 2) / 5;
        365 * year + year / 4 - year / 100 + year / 400 + days_of_months + i32::from(self.day) - 1
    }
}

impl FromStr for Date {
    type Err = DateError;

    fn from_str(text: &str) -> Result<Self, DateError> {
        let refused = || DateError(text.to_owned());
        let bytes = text.trim().as_bytes();
        let number = |from: usize, to: usize| {
            let digits = bytes.get(from..to)?;
            let all_digits = digits.iter().all(u8::is_ascii_digit);
            all_digits.then(|| {
                digits
                    .iter()
                    .fold(0u16, |sum, digit| sum * 10 + u16::from(digit - b'0'))
            })
        };
        if bytes.len() != 10 || bytes[4] != b'-' || bytes[7] != b'-' {
            return Err(refused());
        }
        let part = |from, to| number(from, to).ok_or_else(refused);
        let small = |n: u16| u8::try_from(n).map_err(|_| refused());
        Self::new(part(0, 4)?, small(part(5, 7)?)?, small(part(8, 10)?)?).ok_or_else(refused)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl Serialize for Date {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Date {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn date(text: &str) -> Date {
        text.parse().unwrap()
    }

    #[test]
    fn dates_are_read_as_iso_8601_writes_them() {
        assert_eq!(date("2028-02-29").to_string(), "2028-02-29");
        for text in [
            "2027-02-29",
            "2100-02-29",
            "2027-13-01",
            "2027-04-31",
            "2027-00-10",
            "27-03-01",
            "2027-3-1",
            "01/03/2027",
            "1899-12-31",
            "2027-03-01T00:00",
            "",
            "２027-03-01",
        ] {
            assert!(text.parse::<Date>().is_err(), "{text}");
        }
    }

    /// Python 3.11, `(date(b) - date(a)).days`.
    #[test]
    fn days_between_are_counted() {
        for (from, to, days) in [
            ("2026-11-25", "2026-11-25", 0),
            ("2027-02-28", "2027-03-01", 1),
            ("2028-02-28", "2028-03-01", 2),
            ("1999-12-31", "2000-03-01", 61),
            ("1900-01-01", "2199-12-31", 109_572),
            ("2027-03-31", "2026-11-25", -126),
        ] {
            assert_eq!(date(from).days_until(date(to)), days, "{from} {to}");
        }
    }

    /// Python 3.11, `datetime.fromtimestamp(ms / 1000, timezone.utc).date()`.
    #[test]
    fn a_moment_lies_on_a_day() {
        for (moment, day) in [
            (0, "1970-01-01"),
            (86_399_999, "1970-01-01"),
            (951_782_400_000, "2000-02-29"),
            (951_868_800_000, "2000-03-01"),
            (1_700_000_000_000, "2023-11-14"),
            (1_835_395_199_000, "2028-02-28"),
            (4_102_444_800_000, "2100-01-01"),
            (7_258_118_399_000, "2199-12-31"),
        ] {
            assert_eq!(Date::on(Moment(moment)).unwrap(), date(day), "{moment}");
        }
        assert_eq!(Date::on(Moment(7_258_118_400_000)), None);
        assert_eq!(Date::on(Moment(u64::MAX)), None);
    }

    proptest! {
        #[test]
        fn every_day_is_found_again(days in 0i32..84_000) {
            let found = Date::on(Moment(days as u64 * 86_400_000 + 43_200_000)).unwrap();
            prop_assert_eq!(date("1970-01-01").days_until(found), days);
        }

        #[test]
        fn order_and_days_agree(
            a in (1900u16..2200, 1u8..=12, 1u8..=28), b in (1900u16..2200, 1u8..=12, 1u8..=28)
        ) {
            let (a, b) = (Date::new(a.0, a.1, a.2).unwrap(), Date::new(b.0, b.1, b.2).unwrap());
            prop_assert_eq!(a.cmp(&b), 0.cmp(&a.days_until(b)));
            prop_assert_eq!(a.to_string().parse::<Date>().unwrap(), a);
        }

        #[test]
        fn no_text_makes_it_panic(text in ".{0,12}") {
            let _ = text.parse::<Date>();
        }
    }
}
