//! Waiting by temperature.

use super::Answer;
use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::json;
use std::str::FromStr;
use steps::quantity::{Amount, Measured, WaitingTable};
use uom::si::f64::{ThermodynamicTemperature, Time};
use uom::si::time::minute;

const JSON: &str = "JSON: `at`, `minutes`. Between two rows the time is interpolated linearly and rounded up to a \
whole minute; outside the table there is no answer.";

/// A table and a temperature.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct Wait {
    /// The temperature: "15 C"
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    at: Measured,
    /// A row of the source's table with its minutes: "20 C = 360"; give at least two, coldest first
    #[arg(long, value_name = "ROW", required = true, allow_hyphen_values = true)]
    row: Vec<Row>,
}

#[derive(Debug, Clone, Copy)]
struct Row {
    temperature: Measured,
    minutes: f64,
}

impl FromStr for Row {
    type Err = miette::Report;

    fn from_str(text: &str) -> miette::Result<Self> {
        let (temperature, minutes) = text
            .split_once('=')
            .ok_or_else(|| miette!("“{text}” is no row such as “20 C = 360”"))?;
        let minutes = minutes.trim().trim_end_matches("min").trim();
        Ok(Self {
            temperature: temperature.parse().map_err(|error| miette!("{error}"))?,
            minutes: minutes
                .parse()
                .map_err(|_| miette!("“{minutes}” is no number of minutes"))?,
        })
    }
}

impl Wait {
    pub fn answer(&self) -> miette::Result<Answer> {
        let rows = self
            .row
            .iter()
            .map(|row| {
                Ok((
                    temperature(row.temperature)?,
                    Time::new::<minute>(row.minutes),
                ))
            })
            .collect::<miette::Result<Vec<_>>>()?;
        let table = WaitingTable::new(rows).into_diagnostic()?;
        let time = table.time_at(temperature(self.at)?).into_diagnostic()?;
        let minutes = time.get::<minute>().round();
        Ok(Answer {
            lines: vec![format!(
                "At {}: wait {minutes} minutes ({} h {} min).",
                self.at,
                (minutes / 60.0).floor(),
                minutes % 60.0
            )],
            json: json!({ "at": self.at.to_string(), "minutes": minutes }),
        })
    }
}

fn temperature(given: Measured) -> miette::Result<ThermodynamicTemperature> {
    match given.amount() {
        Amount::Temperature(temperature) => Ok(temperature),
        Amount::Length(_)
        | Amount::Voltage(_)
        | Amount::Pressure(_)
        | Amount::Charge(_)
        | Amount::Mass(_)
        | Amount::Volume(_) => Err(miette!(
            help = "write it like “20 C” or “68 F”",
            "“{given}” is no temperature"
        )),
    }
}
