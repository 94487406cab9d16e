//! Which socket or spanner serves which head.

use super::Answer;
use clap::{Args, ValueEnum};
use miette::miette;
use serde_json::json;
use steps::quantity::{DriveShape, Fit, Size, fit};
use uom::si::length::millimeter;

const JSON: &str = "JSON: `head`; `tools`, a list with `tool`, `serves` and `fit`, one of right, stands-in, \
rounds-corners, too-small, never; `off_mm`, by how much it is too wide or lacks, or null.";

/// A head, and the tool that is asked about.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct FitOf {
    /// The size of the head: "13 mm", "1/2 in", or the number of a six-lobe drive
    head: Size,
    /// The size of the tool [default: all usual sizes that fit]
    tool: Option<Size>,
    /// The shape of the drive
    #[arg(long, value_enum, default_value = "hex")]
    shape: Shape,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Shape {
    /// Outside hexagon
    Hex,
    /// Hexagon socket, turned by a key
    HexSocket,
    /// Twelve points
    TwelvePoint,
    /// Six-lobe socket
    SixLobe,
    /// Slotted or castellated nut
    Slotted,
}

impl From<Shape> for DriveShape {
    fn from(shape: Shape) -> Self {
        match shape {
            Shape::Hex => Self::Hex,
            Shape::HexSocket => Self::HexSocket,
            Shape::TwelvePoint => Self::TwelvePoint,
            Shape::SixLobe => Self::SixLobe,
            Shape::Slotted => Self::Slotted,
        }
    }
}

impl FitOf {
    pub fn answer(&self) -> miette::Result<Answer> {
        let shape = DriveShape::from(self.shape);
        if let Size::Number(number) = self.head
            && shape != DriveShape::SixLobe
        {
            return Err(miette!(
                help = "say --shape six-lobe if it is the number of such a drive",
                "“{number}” lacks its unit: write “{number} mm”, or an inch size such as “1/2 in”"
            ));
        }
        let judged: Vec<(Size, Fit)> = match self.tool {
            Some(tool) => vec![(tool, fit(tool, self.head, shape))],
            None => usual_sizes()
                .map(|tool| (tool, fit(tool, self.head, shape)))
                .filter(|(_, fit)| fit.serves())
                .collect(),
        };
        let mut lines: Vec<String> = judged
            .iter()
            .map(|(tool, fit)| self.in_a_line(*tool, *fit))
            .collect();
        if lines.is_empty() {
            lines.push(format!("No usual size serves {}.", self.head));
        }
        let tools: Vec<_> = judged
            .iter()
            .map(|(tool, fit)| {
                let (name, off) = named(*fit);
                json!({ "tool": tool.to_string(), "serves": fit.serves(), "fit": name, "off_mm": off })
            })
            .collect();
        Ok(Answer {
            lines,
            json: json!({ "head": self.head.to_string(), "tools": tools }),
        })
    }

    fn in_a_line(&self, tool: Size, fit: Fit) -> String {
        let head = self.head;
        match fit {
            Fit::Right => format!("{tool} on {head}: the right one."),
            Fit::StandsIn => {
                format!("{tool} on {head}: stands in, within the right one's tolerance.")
            }
            Fit::RoundsCorners(by) => format!(
                "{tool} on {head}: no. {:.2} mm too wide, it rounds the corners.",
                by.get::<millimeter>()
            ),
            Fit::TooSmall(by) => format!(
                "{tool} on {head}: no. It lacks {:.2} mm; forced on, it rounds the corners.",
                by.get::<millimeter>()
            ),
            Fit::Never => format!("{tool} on {head}: no, only its own size."),
        }
    }
}

fn named(fit: Fit) -> (&'static str, Option<f64>) {
    match fit {
        Fit::Right => ("right", None),
        Fit::StandsIn => ("stands-in", None),
        Fit::RoundsCorners(by) => ("rounds-corners", Some(by.get::<millimeter>())),
        Fit::TooSmall(by) => ("too-small", Some(by.get::<millimeter>())),
        Fit::Never => ("never", None),
    }
}

/// What sets hold: 4 to 41 mm, 5/32 to 1 5/8 in, six-lobe 10 to 60.
fn usual_sizes() -> impl Iterator<Item = Size> {
    let metric = (4..=41)
        .map(|mm| format!("{mm} mm"))
        .chain(["5.5 mm".to_owned()]);
    let inch = (5..=52).filter_map(|n| {
        // In lowest terms, and above a half no odd thirty-seconds.
        let (n, of) = (1..=5).fold(
            (n, 32),
            |(n, of), _| {
                if n % 2 == 0 { (n / 2, of / 2) } else { (n, of) }
            },
        );
        (of < 32 || n < 16).then(|| format!("{n}/{of} in"))
    });
    let lobes = [
        "10", "15", "20", "25", "27", "30", "40", "45", "50", "55", "60",
    ];
    metric
        .chain(inch)
        .chain(lobes.map(str::to_owned))
        .filter_map(|text| text.parse().ok())
}
