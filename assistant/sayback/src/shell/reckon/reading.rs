//! A reading against its limits.

use super::Answer;
use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::json;
use steps::quantity::{Limit, Measured, Verdict};

const JSON: &str = "JSON: `reading`, `limit`; `holds`, true or false; `verdict`, one of within, below, above; `by`, how \
far from the limit, in the limit's unit. A reading at the limit holds.";

/// A reading and its limits.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct Reading {
    /// The reading: "21.4 mm", "200 thou"
    #[arg(allow_hyphen_values = true)]
    reading: Measured,
    /// The lowest allowed
    #[arg(
        long,
        value_name = "LIMIT",
        allow_hyphen_values = true,
        required_unless_present = "at_most"
    )]
    at_least: Option<Measured>,
    /// The highest allowed
    #[arg(long, value_name = "LIMIT", allow_hyphen_values = true)]
    at_most: Option<Measured>,
}

impl Reading {
    pub fn answer(&self) -> miette::Result<Answer> {
        let limit = match (self.at_least, self.at_most) {
            (Some(low), Some(high)) => Limit::between(low, high).into_diagnostic()?,
            (Some(low), None) => Limit::AtLeast(low),
            (None, Some(high)) => Limit::AtMost(high),
            // clap asks for one of them.
            (None, None) => return Err(miette!("give --at-least, --at-most or both")),
        };
        let reading = self.reading;
        let verdict = limit.verdict(reading).into_diagnostic()?;
        let (name, by, line) = match verdict {
            Verdict::Within(by) => ("within", by, format!("{reading}: within limits, by {by}.")),
            Verdict::Below(by) => (
                "below",
                by,
                format!("{reading}: OUT OF LIMITS, {by} too low."),
            ),
            Verdict::Above(by) => (
                "above",
                by,
                format!("{reading}: OUT OF LIMITS, {by} too high."),
            ),
        };
        Ok(Answer {
            lines: vec![line, format!("Limit: {limit}.")],
            json: json!({
                "reading": reading.to_string(), "limit": limit.to_string(), "holds": verdict.holds(),
                "verdict": name, "by": by.to_string(),
            }),
        })
    }
}
