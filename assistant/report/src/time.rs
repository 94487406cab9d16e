//! Moments, as a report writes them.

use crate::model::JobReport;
use jiff::Timestamp;
use jiff::tz::TimeZone;

/// The day and second of a moment, UTC: `2026-03-02 09:15:07`. What is no moment stands as it is.
pub(crate) fn second(at: &str) -> String {
    match at.parse::<Timestamp>() {
        Ok(_) => at.chars().take(19).collect::<String>().replace('T', " "),
        Err(_) => at.to_owned(),
    }
}

/// Seconds since 1970.
pub(crate) fn seconds(at: &str) -> Option<f64> {
    let at: Timestamp = at.parse().ok()?;
    Some(at.as_millisecond() as f64 / 1000.0)
}

/// The clock that a report's moments are told by.
pub(crate) struct Clock<'a> {
    zone: &'a TimeZone,
    /// The day on which all of it happened; empty when there were several.
    day: String,
    /// The offset from UTC all the while; `None` where it changed.
    offset: Option<String>,
}

impl<'a> Clock<'a> {
    pub fn of(report: &JobReport, zone: &'a TimeZone) -> Self {
        let first = local(&report.opened, zone);
        let last = local(&report.last, zone);
        let mut clock = Self {
            zone,
            day: String::new(),
            offset: None,
        };
        if let (Some((first, before)), Some((last, after))) = (first, last) {
            clock.offset = (before == after).then_some(after);
            if first.get(..10) == last.get(..10) {
                clock.day = first.chars().take(10).collect();
            }
        }
        clock
    }

    /// Day, second and offset: `2026-03-02 10:15:07 +01:00`.
    pub fn moment(&self, at: &str) -> String {
        match local(at, self.zone) {
            Some((second, offset)) => format!("{second} {offset}"),
            None => at.to_owned(),
        }
    }

    /// The day: `2026-03-02`.
    pub fn day(&self, at: &str) -> String {
        self.moment(at).chars().take(10).collect()
    }

    /// As short as it may be in a column named [`column`](Self::column): without a day or an offset that is the same all the while.
    pub fn brief(&self, at: &str) -> String {
        let Some((second, offset)) = local(at, self.zone) else {
            return at.to_owned();
        };
        let brief = match second.strip_prefix(&self.day) {
            Some(time) => time.trim_start().to_owned(),
            None => second,
        };
        match self.offset.as_ref() == Some(&offset) {
            true => brief,
            false => format!("{brief} {offset}"),
        }
    }

    /// What stands over a column of times.
    pub fn column(&self) -> String {
        match &self.offset {
            Some(offset) => format!("Time ({offset})"),
            None => "Time".to_owned(),
        }
    }
}

/// Day and second by the zone's clock, and the offset: `UTC` or as ISO 8601 has it.
fn local(at: &str, zone: &TimeZone) -> Option<(String, String)> {
    let at: Timestamp = at.parse().ok()?;
    let info = zone.to_offset_info(at);
    let second = info.offset().to_datetime(at).strftime("%Y-%m-%d %H:%M:%S");
    let seconds = info.offset().seconds();
    // A system that knows no zone keeps UTC.
    let offset = match info.abbreviation() {
        "UTC" | "Unknown" => "UTC".to_owned(),
        _ => format!(
            "{}{:02}:{:02}",
            if seconds < 0 { '-' } else { '+' },
            seconds.abs() / 3600,
            seconds.abs() / 60 % 60
        ),
    };
    Some((second.to_string(), offset))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_told_by_the_zone_s_clock_with_its_offset() {
        // POSIX has no sign of its own: CET-1 lies one hour east. Summer begins on 29 March 2026 at 01:00 UTC.
        let zone = TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap();
        let told = |at: &str| local(at, &zone).map(|(second, offset)| format!("{second} {offset}"));
        for (at, wanted) in [
            ("2026-03-29T00:59:59.000Z", "2026-03-29 01:59:59 +01:00"),
            ("2026-03-29T01:00:00.000Z", "2026-03-29 03:00:00 +02:00"),
            ("2026-03-01T23:30:00.000Z", "2026-03-02 00:30:00 +01:00"),
        ] {
            assert_eq!(told(at).as_deref(), Some(wanted));
        }
        let behind = TimeZone::posix("<-0330>3:30").unwrap();
        let (_, offset) = local("2026-03-02T09:00:00.000Z", &behind).unwrap();
        assert_eq!(offset, "-03:30");
        let (_, offset) = local("2026-03-02T09:00:00.000Z", &TimeZone::unknown()).unwrap();
        assert_eq!(offset, "UTC");
    }
}
