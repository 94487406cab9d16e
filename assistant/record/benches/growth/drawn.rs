//! What was measured, as a table and as a picture.

use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write;

/// One number.
#[derive(Debug, Serialize)]
pub struct Measured {
    pub operation: &'static str,
    pub stored_jobs: usize,
    pub metric: &'static str,
    pub value: f64,
    pub unit: &'static str,
    pub n: usize,
}

/// What was measured, and its value by the number of stored jobs.
type Row<'a> = ((&'a str, &'a str, &'a str), BTreeMap<usize, f64>);

/// The operations in the order in which they were measured, each with its value for each number of jobs.
fn rows(all: &[Measured]) -> Vec<Row<'_>> {
    let mut rows: Vec<Row<'_>> = Vec::new();
    for it in all {
        let name = (it.operation, it.metric, it.unit);
        let place = rows.iter().position(|(other, _)| *other == name);
        let place = place.unwrap_or_else(|| {
            rows.push((name, BTreeMap::new()));
            rows.len() - 1
        });
        rows[place].1.insert(it.stored_jobs, it.value);
    }
    rows
}

pub fn table(all: &[Measured]) {
    let rows = rows(all);
    let numbers: Vec<_> = rows
        .first()
        .map(|(_, values)| values.keys().copied().collect())
        .unwrap_or_default();
    print!("\n{:36} {:>8}", "stored jobs", "");
    for number in &numbers {
        print!(" {number:>12}");
    }
    println!();
    for ((operation, metric, unit), values) in &rows {
        print!("{operation:36} {metric:>8}");
        for number in &numbers {
            match values.get(number) {
                Some(value) if *value >= 1000.0 => print!(" {value:>12.0}"),
                Some(value) => print!(" {value:>12.3}"),
                None => print!(" {:>12}", ""),
            }
        }
        println!(" {unit}");
    }
}

const LEFT: f64 = 70.0;
const RIGHT: f64 = 560.0;
const TOP: f64 = 50.0;
const BOTTOM: f64 = 420.0;
const COLOURS: [&str; 6] = [
    "#0b5d8a", "#a33b20", "#3d7a2a", "#6b3fa0", "#8a6d0b", "#444",
];
const DASHES: [&str; 2] = ["none", "6 3"];

/// Times over stored jobs, both axes logarithmic.
pub fn picture(all: &[Measured]) -> String {
    let rows: Vec<_> = rows(all)
        .into_iter()
        .filter(|((_, _, unit), _)| *unit == "ms")
        .collect();
    let values = || rows.iter().flat_map(|(_, values)| values.iter());
    let low = values()
        .map(|(_, value)| value.log10())
        .fold(f64::MAX, f64::min)
        .floor();
    let high = values()
        .map(|(_, value)| value.log10())
        .fold(f64::MIN, f64::max)
        .ceil();
    let most = values()
        .map(|(number, _)| (*number as f64).log10())
        .fold(1.0, f64::max);
    let x = |number: usize| LEFT + (RIGHT - LEFT) * (number as f64).log10() / most;
    let y = |power: f64| BOTTOM - (BOTTOM - TOP) * (power - low) / (high - low).max(1.0);
    let mut svg = String::from(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900\" height=\"470\" font-family=\"sans-serif\" \
         font-size=\"12\"><rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\
         <text x=\"16\" y=\"26\" font-size=\"16\">What the journal's work costs with more stored jobs</text>\n",
    );
    let mut power = low;
    while power <= high {
        let at = y(power);
        let label = 10f64.powf(power);
        let _ = writeln!(
            svg,
            "<line x1=\"{LEFT}\" x2=\"{RIGHT}\" y1=\"{at:.1}\" y2=\"{at:.1}\" stroke=\"#ddd\"/>\
             <text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{label} ms</text>",
            LEFT - 6.0,
            at + 4.0
        );
        power += 1.0;
    }
    let numbers: std::collections::BTreeSet<_> = values().map(|(number, _)| *number).collect();
    for number in numbers {
        let _ = writeln!(
            svg,
            "<text x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">{number}</text>",
            x(number),
            BOTTOM + 20.0
        );
    }
    let _ = writeln!(
        svg,
        "<text x=\"{LEFT}\" y=\"{}\">stored jobs</text>",
        BOTTOM + 40.0
    );
    for (place, ((operation, metric, _), values)) in rows.iter().enumerate() {
        let colour = COLOURS[place % COLOURS.len()];
        let dash = DASHES[place / COLOURS.len() % DASHES.len()];
        let points: Vec<_> = values
            .iter()
            .map(|(number, value)| format!("{:.1},{:.1}", x(*number), y(value.log10())))
            .collect();
        let legend = TOP + 22.0 * place as f64;
        let _ = writeln!(
            svg,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\" stroke-dasharray=\"{dash}\"/>\
             <line x1=\"585\" x2=\"612\" y1=\"{legend}\" y2=\"{legend}\" stroke=\"{colour}\" stroke-width=\"2\" stroke-dasharray=\"{dash}\"/>\
             <text x=\"620\" y=\"{}\">{operation}, {metric}</text>",
            points.join(" "),
            legend + 4.0
        );
    }
    svg.push_str("</svg>\n");
    svg
}
