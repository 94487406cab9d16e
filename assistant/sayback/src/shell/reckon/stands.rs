//! Stands under a lifted axle.

use super::{Answer, mass};
use clap::Args;
use miette::IntoDiagnostic;
use serde_json::json;
use steps::quantity::{Figure, GivenBy, Measured, Rating, Support, SupportVerdict};
use uom::si::f64::Ratio;
use uom::si::mass::kilogram;
use uom::si::ratio::percent;

const JSON: &str = "JSON: `load_each_kg`, rounded up to 10; `allowed_each_kg`, rounded down to 10; `holds`, true or \
false; `told`, the sentences.";

/// A vehicle and its stands.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct Stands {
    /// The vehicle's mass: "1800 kg"
    #[arg(long, value_name = "MASS")]
    vehicle: Measured,
    /// The percentage of it on the lifted axle
    #[arg(long, value_name = "PERCENT")]
    axle_share: f64,
    /// How many stands are under the axle
    #[arg(long, default_value_t = 2)]
    stands: u8,
    /// What a stand is rated for: "900 kg"
    #[arg(long, value_name = "MASS")]
    rated: Measured,
    /// The rating is for two stands together
    #[arg(long)]
    pair: bool,
    /// The percentage of its rating that the maker lets a stand carry
    #[arg(long, value_name = "PERCENT", default_value_t = 100.0)]
    usable: f64,
}

impl Stands {
    pub fn answer(&self) -> miette::Result<Answer> {
        let figure = |mass| Figure {
            mass,
            by: GivenBy::Technician,
        };
        let rated = figure(mass(self.rated, "a stand's rating")?);
        let support = Support {
            vehicle: figure(mass(self.vehicle, "the vehicle's mass")?),
            axle_share: Ratio::new::<percent>(self.axle_share),
            stands: self.stands,
            rating: if self.pair {
                Rating::Pair(rated)
            } else {
                Rating::Each(rated)
            },
            usable: Ratio::new::<percent>(self.usable),
        };
        let verdict = support.verdict().into_diagnostic()?;
        let (figures, holds) = match verdict {
            SupportVerdict::Holds(figures) => (figures, true),
            SupportVerdict::TooWeak(figures) => (figures, false),
        };
        let sentences = verdict.sentences();
        Ok(Answer {
            json: json!({
                "load_each_kg": figures.load.get::<kilogram>().round(),
                "allowed_each_kg": figures.allowed.get::<kilogram>().round(),
                "holds": holds, "told": sentences,
            }),
            lines: sentences,
        })
    }
}
