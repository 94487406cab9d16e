//! A torque wrench with an adapter.

use super::{Answer, length, told};
use clap::Args;
use miette::IntoDiagnostic;
use serde_json::json;
use steps::quantity::{AdapterArm, Measured, TorqueUnit, TorqueValue};
use uom::si::angle::degree;
use uom::si::f64::Angle;

const JSON: &str = "JSON: `setting` and `at_fastener` (both with unit, within a thousandth), `factor` (how many times \
the setting the fastener gets). From the middle of the grip to the drive square is the wrench's length, from there \
to the fastener the adapter's. A straight socket extension changes nothing.";

/// A wrench, an adapter, and what is wanted or set.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct Adapter {
    /// From the middle of the grip to the drive square: "18 in"
    #[arg(long, value_name = "LENGTH")]
    wrench: Measured,
    /// From the drive square to the fastener: "2 in"
    #[arg(long, value_name = "LENGTH")]
    adapter: Measured,
    /// Degrees between adapter and wrench: 0 straight out, 90 square to it, above 90 back towards the grip
    #[arg(
        long,
        value_name = "DEGREES",
        default_value_t = 0.0,
        allow_negative_numbers = true
    )]
    angle: f64,
    /// The torque wanted at the fastener: "40 lbf.ft"
    #[arg(long, value_name = "TORQUE", required_unless_present = "setting")]
    torque: Option<TorqueValue>,
    /// A setting of the wrench, to find the torque at the fastener
    #[arg(long, value_name = "TORQUE", conflicts_with = "torque")]
    setting: Option<TorqueValue>,
    /// The unit of the answer [default: that of the torque]
    #[arg(long)]
    unit: Option<TorqueUnit>,
}

impl Adapter {
    pub fn answer(&self) -> miette::Result<Answer> {
        let arm = AdapterArm::new(
            length(self.wrench, "the wrench's length")?,
            length(self.adapter, "the adapter's length")?,
            Angle::new::<degree>(self.angle),
        )
        .into_diagnostic()?;
        let (setting, at_fastener) = match (self.torque, self.setting) {
            (Some(wanted), _) => {
                let setting = arm.setting(wanted.quantity()).into_diagnostic()?;
                (told(setting, self.unit.unwrap_or(wanted.unit))?, wanted)
            }
            (None, Some(set)) => {
                let reached = arm.at_fastener(set.quantity()).into_diagnostic()?;
                (set, told(reached, self.unit.unwrap_or(set.unit))?)
            }
            // clap asks for one of them.
            (None, None) => return Err(miette::miette!("give a --torque or a --setting")),
        };
        Ok(Answer {
            lines: vec![
                format!("Set {setting}: the fastener gets {at_fastener}."),
                format!(
                    "Wrench {}, adapter {} at {}°: {:.4} times the setting.",
                    self.wrench,
                    self.adapter,
                    self.angle,
                    arm.factor()
                ),
            ],
            json: json!({
                "setting": setting.to_string(), "at_fastener": at_fastener.to_string(), "factor": arm.factor(),
            }),
        })
    }
}
