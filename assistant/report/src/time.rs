//! Moments, as a report writes them.

use jiff::Timestamp;

/// The day and second of a moment in RFC 3339: `2026-03-02 09:15:07`. What is no moment stands as it is.
pub(crate) fn second(at: &str) -> String {
    match at.parse::<Timestamp>() {
        Ok(_) => at.chars().take(19).collect::<String>().replace('T', " "),
        Err(_) => at.to_owned(),
    }
}

/// The day alone.
pub(crate) fn day(at: &str) -> String {
    second(at).chars().take(10).collect()
}

/// The time of day alone, when `at` lies on `day`; else day and second.
pub(crate) fn within(day: &str, at: &str) -> String {
    let second = second(at);
    match second.strip_prefix(day) {
        Some(time) if !day.is_empty() => time.trim_start().to_owned(),
        Some(_) | None => second,
    }
}

/// Seconds since 1970.
pub(crate) fn seconds(at: &str) -> Option<f64> {
    let at: Timestamp = at.parse().ok()?;
    Some(at.as_millisecond() as f64 / 1000.0)
}
