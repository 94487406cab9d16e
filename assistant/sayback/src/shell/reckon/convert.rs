//! Units.

use super::{Answer, digits};
use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::json;
use std::str::FromStr;
use steps::quantity::{MeasureUnit, Measured, MeasuredError, TorqueError, TorqueUnit, TorqueValue};

const JSON: &str = "JSON: `given` as it was read; `in`, a list with `unit`, `value` (a number) and `told` (what a \
technician is told: a torque on a mark of a usual scale, never more than 1 % off; else as many digits as were given).";

/// What is to be converted.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct Convert {
    /// A number and its unit: "103 lbf.ft", "3/8 in", "200 thou", "35 psi", "-5 C"
    #[arg(allow_hyphen_values = true)]
    given: Given,
    /// The unit to convert to [default: all units of its kind]
    #[arg(long, value_name = "UNIT")]
    to: Option<String>,
}

#[derive(Debug, Clone, Copy)]
enum Given {
    Torque(TorqueValue),
    Measured(Measured),
}

impl FromStr for Given {
    type Err = miette::Report;

    fn from_str(text: &str) -> miette::Result<Self> {
        match text.parse::<TorqueValue>() {
            Ok(torque) => Ok(Self::Torque(torque)),
            Err(error @ TorqueError::Range) => Err(miette!("{error}")),
            Err(TorqueError::NoUnit | TorqueError::Unit(_) | TorqueError::Number(_)) => text
                .parse()
                .map(Self::Measured)
                .map_err(|error: MeasuredError| miette!("{error}")),
        }
    }
}

impl Convert {
    pub fn answer(&self) -> miette::Result<Answer> {
        match self.given {
            Given::Torque(torque) => self.torque(torque),
            Given::Measured(measured) => self.measured(measured),
        }
    }

    fn torque(&self, given: TorqueValue) -> miette::Result<Answer> {
        let units = match &self.to {
            Some(unit) => vec![unit.parse::<TorqueUnit>().into_diagnostic()?],
            None => TorqueUnit::ALL
                .into_iter()
                .filter(|unit| *unit != given.unit)
                .collect(),
        };
        let mut lines = Vec::new();
        let mut list = Vec::new();
        for unit in units {
            let exact = unit.of(given.quantity());
            let told = given.on_a_scale_of(unit).set;
            lines.push(format!(
                "{given} = {} {unit}; on a wrench {told}",
                digits(exact, 5)
            ));
            list.push(json!({ "unit": unit.symbol(), "value": exact, "told": told.to_string() }));
        }
        Ok(Answer {
            lines,
            json: json!({ "given": given.to_string(), "in": list }),
        })
    }

    fn measured(&self, given: Measured) -> miette::Result<Answer> {
        let units = match &self.to {
            Some(unit) => vec![unit.parse::<MeasureUnit>().into_diagnostic()?],
            None => MeasureUnit::ALL
                .into_iter()
                .filter(|unit| unit.dimension() == given.dimension() && *unit != given.unit)
                .collect(),
        };
        let mut lines = Vec::new();
        let mut list = Vec::new();
        for unit in units {
            let told = given.to(unit).into_diagnostic()?;
            lines.push(format!("{given} = {told}"));
            list.push(json!({
                "unit": unit.symbol(), "value": given.number_in(unit).into_diagnostic()?,
                "told": told.to_string(),
            }));
        }
        Ok(Answer {
            lines,
            json: json!({ "given": given.to_string(), "in": list }),
        })
    }
}
