//! Moments as they are written: UTC, ISO 8601.

use jiff::Timestamp;
use steps::Moment;

fn timestamp(at: Moment) -> Option<Timestamp> {
    Timestamp::from_millisecond(i64::try_from(at.0).ok()?).ok()
}

/// The moment with milliseconds: `2026-03-02T09:15:07.250Z`. One beyond the year 9999 stands as its number.
pub fn iso(at: Moment) -> String {
    match timestamp(at) {
        Some(time) => format!("{time:.3}"),
        None => format!("{} ms after 1970", at.0),
    }
}

/// The day: `2026-03-02`.
pub fn day(at: Moment) -> String {
    let iso = iso(at);
    match timestamp(at) {
        Some(_) => iso.chars().take(10).collect(),
        None => "0000-00-00".to_owned(),
    }
}

/// The moment at which a day of the calendar begins, UTC: of `2026-03-02` midnight before it. `None` where
/// the text is no day since 1970.
pub fn beginning_of(day: &str) -> Option<Moment> {
    let date: jiff::civil::Date = day.trim().parse().ok()?;
    let midnight = jiff::tz::Offset::UTC
        .to_timestamp(date.at(0, 0, 0, 0))
        .ok()?;
    let milliseconds = u64::try_from(midnight.as_millisecond()).ok()?;
    Some(Moment(milliseconds))
}

/// Day and second: `2026-03-02 09:15:07`.
pub fn second(at: Moment) -> String {
    match timestamp(at) {
        Some(_) => iso(at)
            .chars()
            .take(19)
            .collect::<String>()
            .replace('T', " "),
        None => iso(at),
    }
}

/// A length of time as people say it: `12 s`, `3 min 20 s`, `2 h 05 min`, `3 days 4 h`.
pub fn length(seconds: u64) -> String {
    let (minutes, hours, days) = (seconds / 60, seconds / 3600, seconds / 86_400);
    match (days, hours, minutes) {
        (0, 0, 0) => format!("{seconds} s"),
        (0, 0, minutes) => format!("{minutes} min {:02} s", seconds % 60),
        (0, hours, minutes) => format!("{hours} h {:02} min", minutes % 60),
        (1, hours, _) => format!("1 day {} h", hours - 24),
        (days, hours, _) => format!("{days} days {} h", hours - 24 * days),
    }
}

/// How much of a wait is left, as people say it: `50 seconds left`, `almost 15 minutes left`,
/// `just over 1 hour 5 minutes left`.
pub fn left(seconds: u64) -> String {
    let counted = |count: u64, unit: &str| match count {
        1 => format!("1 {unit}"),
        _ => format!("{count} {unit}s"),
    };
    let (about, minutes) = match (seconds / 60, seconds % 60) {
        (0, _) => return format!("{} left", counted(seconds, "second")),
        (minutes, 0) => ("", minutes),
        (minutes, 1..30) => ("just over ", minutes),
        (minutes, _) => ("almost ", minutes + 1),
    };
    let time = match (minutes / 60, minutes % 60) {
        (0, minutes) => counted(minutes, "minute"),
        (hours, 0) => counted(hours, "hour"),
        (hours, minutes) => format!("{} {}", counted(hours, "hour"), counted(minutes, "minute")),
    };
    format!("{about}{time} left")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_written_as_iso_8601_has_them() {
        // RFC 3339, section 5.8, gives these two.
        assert_eq!(iso(Moment(482_196_050_520)), "1985-04-12T23:20:50.520Z");
        assert_eq!(second(Moment(851_042_397_000)), "1996-12-20 00:39:57");
        assert_eq!(day(Moment(0)), "1970-01-01");
        assert_eq!(iso(Moment(u64::MAX)), "18446744073709551615 ms after 1970");
    }

    #[test]
    fn a_day_begins_at_midnight() {
        // `date -u -d 2026-03-02 +%s` and `date -u -d 2024-02-29 +%s` of GNU coreutils give these two.
        assert_eq!(beginning_of("2026-03-02"), Some(Moment(1_772_409_600_000)));
        assert_eq!(beginning_of("2024-02-29"), Some(Moment(1_709_164_800_000)));
        for no_day in ["", "2026-02-29", "1969-12-31", "yesterday", "02.03.2026"] {
            assert_eq!(beginning_of(no_day), None, "{no_day}");
        }
    }

    #[test]
    fn what_is_left_is_told_in_minutes_and_seconds() {
        for (seconds, said) in [
            (0, "0 seconds left"),
            (1, "1 second left"),
            (59, "59 seconds left"),
            (60, "1 minute left"),
            (89, "just over 1 minute left"),
            (90, "almost 2 minutes left"),
            (899, "almost 15 minutes left"),
            (900, "15 minutes left"),
            (3_599, "almost 1 hour left"),
            (3_901, "just over 1 hour 5 minutes left"),
            (7_260, "2 hours 1 minute left"),
        ] {
            assert_eq!(left(seconds), said);
        }
        assert!(left(u64::MAX).starts_with("just over "));
    }

    #[test]
    fn lengths_are_written_as_said() {
        assert_eq!(length(59), "59 s");
        assert_eq!(length(200), "3 min 20 s");
        assert_eq!(length(7_500), "2 h 05 min");
        assert_eq!(length(3 * 86_400 + 4 * 3600), "3 days 4 h");
    }
}
