//! Running torque.

use super::Answer;
use clap::Args;
use miette::IntoDiagnostic;
use serde_json::json;
use steps::quantity::{TorqueSpec, TorqueValue, with_running_torque};

const JSON: &str = "JSON: `torque`, what to tighten to, with its limits as the source words them; `low`, `target`, \
`high`.";

/// A torque, and what the nut takes merely to be turned.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct Running {
    /// The source's torque, with its limits if it gives any: "90-110 N.m", "60 lbf.ft"
    #[arg(long)]
    torque: TorqueSpec,
    /// The measured running torque
    #[arg(long, value_name = "TORQUE")]
    running: TorqueValue,
}

impl Running {
    pub fn answer(&self) -> miette::Result<Answer> {
        let sum = with_running_torque(self.torque, self.running).into_diagnostic()?;
        Ok(Answer {
            lines: vec![
                format!(
                    "Tighten to {sum}: {} and {} to turn the nut.",
                    self.torque, self.running
                ),
                "Only where the source says to add it.".to_owned(),
            ],
            json: json!({
                "torque": sum.to_string(), "low": sum.low().to_string(),
                "target": sum.target().to_string(), "high": sum.high().to_string(),
            }),
        })
    }
}
