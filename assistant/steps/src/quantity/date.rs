//! A plain date, for calibration that falls due.

use crate::Moment;
use jiff::{Timestamp, civil, tz::Offset};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// A day of the Gregorian calendar, from 1900-01-01 to 2199-12-31.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(civil::Date);

/// A text that isn't a date.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "“{0}” is not a date of the years 1900–2199 such as “2027-03-31” (ISO 8601: year-month-day)"
)]
pub struct DateError(pub String);

impl Date {
    fn new(day: civil::Date) -> Option<Self> {
        (1900..2200).contains(&day.year()).then_some(Self(day))
    }

    /// The day of a moment, by universal time; `None` outside of the calendar's years.
    pub fn on(moment: Moment) -> Option<Self> {
        let at = Timestamp::from_millisecond(i64::try_from(moment.0).ok()?).ok()?;
        Self::new(Offset::UTC.to_datetime(at).date())
    }

    /// Days from this date to `later`; negative where that is the earlier one.
    pub fn days_until(self, later: Self) -> i32 {
        (later.0 - self.0).get_days()
    }
}

impl FromStr for Date {
    type Err = DateError;

    fn from_str(text: &str) -> Result<Self, DateError> {
        let day = text.trim().parse().ok().and_then(Self::new);
        // Of all ways to write a date, only the one that it is printed in.
        day.filter(|day| day.to_string() == text.trim())
            .ok_or_else(|| DateError(text.to_owned()))
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
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
            let of = |(year, month, day)| date(&format!("{year}-{month:02}-{day:02}"));
            let (a, b) = (of(a), of(b));
            prop_assert_eq!(a.cmp(&b), 0.cmp(&a.days_until(b)));
            prop_assert_eq!(a.to_string().parse::<Date>().unwrap(), a);
        }

        #[test]
        fn no_text_makes_it_panic(text in ".{0,12}") {
            let _ = text.parse::<Date>();
        }
    }
}
