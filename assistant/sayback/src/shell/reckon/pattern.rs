//! The order in which fasteners are tightened.

use super::Answer;
use crate::shell::options::Overwrite;
use clap::{Args, ValueEnum};
use miette::IntoDiagnostic;
use report::{array_drawing, circle_drawing};
use serde_json::json;
use std::path::PathBuf;
use steps::quantity::{Pattern, RectangularArray, clock_position};

const JSON: &str = "JSON: `order`, the fasteners in the order in which they are tightened: numbers from the top \
clockwise in a circle, with the nearest hours of a clock face in `clock`; in an array `row` and `column` of each, \
counted from the top left.";

/// A circle, or rows and columns.
#[derive(Debug, Args)]
#[command(after_help = JSON)]
pub struct PatternOf {
    /// How many fasteners are in the circle
    #[arg(
        long,
        value_parser = clap::value_parser!(u16).range(1..=200),
        required_unless_present_all = ["rows", "columns"],
        conflicts_with_all = ["rows", "columns"]
    )]
    count: Option<u16>,
    /// How to choose the next one
    #[arg(long, value_enum, default_value = "star", conflicts_with_all = ["rows", "columns"])]
    pattern: PatternName,
    /// Rows of an array, such as a cylinder head's; it is tightened in a spiral from the middle out
    #[arg(long, value_parser = clap::value_parser!(u8).range(1..=40), requires = "columns")]
    rows: Option<u8>,
    /// Columns of an array
    #[arg(long, value_parser = clap::value_parser!(u8).range(1..=40), requires = "rows")]
    columns: Option<u8>,
    /// Write a drawing (SVG) to this file
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    #[command(flatten)]
    overwrite: Overwrite,
    /// The drawing's title
    #[arg(long, default_value = "Order of tightening")]
    title: String,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum PatternName {
    /// Across the circle each time
    CrissCross,
    /// Along the lines of a star
    Star,
    /// One beside the other
    InTurn,
}

impl From<PatternName> for Pattern {
    fn from(name: PatternName) -> Self {
        match name {
            PatternName::CrissCross => Self::CrissCross,
            PatternName::Star => Self::Star,
            PatternName::InTurn => Self::InTurn,
        }
    }
}

impl PatternOf {
    pub fn answer(&self) -> miette::Result<Answer> {
        let (answer, drawing) = match (self.count, self.rows, self.columns) {
            (None, Some(rows), Some(columns)) => self.array(RectangularArray { rows, columns }),
            // clap asks for a count, or for both of the others.
            (count, _, _) => self.circle(count.unwrap_or(1)),
        };
        if let Some(file) = &self.svg {
            files::write(file, drawing.as_bytes(), self.overwrite.if_there()).into_diagnostic()?;
        }
        Ok(answer)
    }

    fn circle(&self, count: u16) -> (Answer, String) {
        let pattern = Pattern::from(self.pattern);
        let order = pattern.order(count);
        let clock: Vec<u16> = order
            .iter()
            .map(|number| clock_position(*number, count))
            .collect();
        let mut lines = vec![
            format!("Tighten in this order: {}.", listed(&order)),
            "Number 1 is at the top (on a wheel, next to the valve), then clockwise.".to_owned(),
        ];
        // Beyond twelve, two would share an hour.
        if count <= 12 {
            lines.push(format!("By the clock: {}.", listed(&clock)));
        }
        let answer = Answer {
            lines,
            json: json!({ "order": order, "clock": clock }),
        };
        (answer, circle_drawing(pattern, count, &self.title))
    }

    fn array(&self, array: RectangularArray) -> (Answer, String) {
        let order = array.spiral();
        let width = array.count().to_string().len();
        let mut lines = vec!["From the middle out, each number being its turn:".to_owned()];
        for row in 1..=array.rows {
            let turns = (1..=array.columns).map(|column| {
                let turn = order
                    .iter()
                    .position(|place| place.row == row && place.column == column);
                format!("{:>width$}", turn.map_or(0, |turn| turn + 1))
            });
            lines.push(turns.collect::<Vec<_>>().join("  "));
        }
        let places: Vec<_> = order
            .iter()
            .map(|place| json!({ "row": place.row, "column": place.column }))
            .collect();
        let answer = Answer {
            lines,
            json: json!({ "order": places }),
        };
        (answer, array_drawing(array, &self.title))
    }
}

fn listed(numbers: &[u16]) -> String {
    let numbers: Vec<String> = numbers.iter().map(u16::to_string).collect();
    numbers.join(", ")
}
