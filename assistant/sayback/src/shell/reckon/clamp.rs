//! Clamp load, and what share of its proof load it is.

use super::{Answer, digits, told};
use clap::Args;
use miette::{IntoDiagnostic, miette};
use serde_json::json;
use steps::quantity::{
    Finish, NutFactor, Plausibility, Strength, Thread, TorqueUnit, TorqueValue, clamp_load,
    plausibility, torque_for_clamp_load,
};
use uom::si::area::{square_inch, square_millimeter};
use uom::si::f64::{Area, Force};
use uom::si::force::{kilonewton, newton, pound_force};

const JSON: &str = "JSON: `thread`, `strength`, `nut_factor`, `torque`; `stress_area_mm2`, `proof_load_n`, \
`clamp_load_n`; `share_of_proof`, 0.75 for 75 %; `verdict`, one of plausible, low, high; `slip`, the unit that was \
likely `written` and the one `meant`, or null. T = K·d·F, proof loads by ISO 898-1 or SAE J429.";

const CAUTION: &str =
    "For plausibility only: friction scatters by a quarter and more. The maker's value goes first.";

/// A fastener, and its torque or the share wanted.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct Clamp {
    /// "M14x1.5", "M12" for the coarse pitch, "1/2-20 UNF"
    #[arg(long)]
    thread: Thread,
    /// A bolt's property class such as 8.8, a nut's such as 10, or "grade 5" for an inch bolt
    #[arg(long, value_name = "MARK")]
    strength: Strength,
    /// The torque: "85 N.m"
    #[arg(long, required_unless_present = "share")]
    torque: Option<TorqueValue>,
    /// A percentage of the proof load, to find the torque for it
    #[arg(long, value_name = "PERCENT", conflicts_with = "torque")]
    share: Option<f64>,
    /// The nut factor K: about 0.20 dry, 0.15 to 0.18 lubricated
    #[arg(long, value_name = "K", default_value_t = NutFactor::DRY.value())]
    nut_factor: f64,
    /// This torque only seats the fastener, which is then turned further by an angle
    #[arg(long)]
    then_angle: bool,
    /// The unit of the answer [default: that of the torque, else N.m]
    #[arg(long)]
    unit: Option<TorqueUnit>,
}

impl Clamp {
    pub fn answer(&self) -> miette::Result<Answer> {
        let k = NutFactor::new(self.nut_factor).into_diagnostic()?;
        let proof = self.strength.proof_load(self.thread).into_diagnostic()?;
        let torque = match (self.torque, self.share) {
            (Some(torque), _) => torque,
            (None, Some(share)) if share > 0.0 && share <= 100.0 => {
                let load = proof * (share / 100.0);
                let torque = torque_for_clamp_load(load, self.thread, k).into_diagnostic()?;
                told(torque, self.unit.unwrap_or(TorqueUnit::NewtonMetre))?
            }
            (None, Some(share)) => {
                return Err(miette!(
                    help = "a joint is usually clamped with about 75 %",
                    "{share} % is no share of a proof load that a fastener is tightened to"
                ));
            }
            // clap asks for one of them.
            (None, None) => return Err(miette!("give a --torque or a --share")),
        };
        let load = clamp_load(torque.quantity(), self.thread, k).into_diagnostic()?;
        let finish = if self.then_angle {
            Finish::ThenAngle(1)
        } else {
            Finish::AtTorque
        };
        let judged =
            plausibility(torque, self.thread, self.strength, k, finish).into_diagnostic()?;
        let (verdict, slip) = match judged {
            Plausibility::Plausible { .. } => ("plausible", None),
            Plausibility::Low(unusual) => ("low", unusual.slip),
            Plausibility::High(unusual) => ("high", unusual.slip),
        };
        let area = self.thread.stress_area();
        let shown = match self.unit {
            Some(unit) if unit != torque.unit => told(torque.quantity(), unit)?.to_string(),
            Some(_) | None => torque.to_string(),
        };
        Ok(Answer {
            lines: vec![
                format!(
                    "{}, {}: stress area {}, proof load {}.",
                    self.thread,
                    self.strength,
                    self.area(area),
                    self.force(proof)
                ),
                format!(
                    "{shown} at nut factor {}: clamp load {}.",
                    self.nut_factor,
                    self.force(load)
                ),
                format!("{}: {judged}.", capital(verdict)),
                CAUTION.to_owned(),
            ],
            json: json!({
                "thread": self.thread.to_string(), "strength": self.strength.to_string(),
                "nut_factor": self.nut_factor, "torque": shown,
                "stress_area_mm2": area.get::<square_millimeter>(), "proof_load_n": proof.get::<newton>(),
                "clamp_load_n": load.get::<newton>(), "share_of_proof": judged.share(), "verdict": verdict,
                "slip": slip.map(|slip| json!({
                    "written": slip.written.symbol(), "meant": slip.meant.symbol(),
                })),
            }),
        })
    }

    /// In the units of the thread's own tables.
    fn area(&self, area: Area) -> String {
        match self.thread {
            Thread::Metric(_) => format!("{} mm²", digits(area.get::<square_millimeter>(), 3)),
            Thread::Unified(_) => format!("{} in²", digits(area.get::<square_inch>(), 3)),
        }
    }

    fn force(&self, force: Force) -> String {
        match self.thread {
            Thread::Metric(_) => format!("{} kN", digits(force.get::<kilonewton>(), 3)),
            Thread::Unified(_) => format!("{:.0} lbf", force.get::<pound_force>()),
        }
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    let first = letters.next().map(|first| first.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}
