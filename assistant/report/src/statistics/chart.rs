//! A procedure over many jobs, drawn as SVG.

use super::{PartStatistics, Statistics};
use crate::Part;
use crate::escaped;
use record::time;
use std::fmt::Write;

/// Height of a row, of the head above the rows, of the foot below; the left column's width; where the bars
/// end; the whole width. In pixels.
const ROW: f64 = 26.0;
const HEAD: f64 = 84.0;
const FOOT: f64 = 34.0;
const LEFT: f64 = 250.0;
const BARS_END: f64 = 690.0;
const WIDTH: f64 = 980.0;

/// Where the counts stand.
const COUNTS: [(f64, &str); 4] = [
    (740.0, "jobs"),
    (800.0, "asked"),
    (865.0, "refused"),
    (960.0, "out of limits"),
];

/// How many characters the left column has room for.
const NAME: usize = 34;

/// Ticks of the time line, in seconds: the first that leads to no more than this many is taken.
const TICKS: [f64; 12] = [
    1.0, 5.0, 10.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0, 14_400.0, 86_400.0,
];
const MAX_TICKS: f64 = 7.0;

pub(crate) fn of(statistics: &Statistics) -> String {
    let height = HEAD + ROW * statistics.parts.len() as f64 + FOOT;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" \
         height=\"{height}\" font-family=\"sans-serif\" font-size=\"13\" fill=\"#222\">\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n"
    );
    let title = match statistics.jobs {
        1 => format!("{}, 1 job", statistics.procedure),
        jobs => format!("{}, {jobs} jobs", statistics.procedure),
    };
    text(&mut svg, 16.0, 28.0, "start", "font-size=\"18\"", &title);
    let legend = "Time of each part: bar from first to third quartile, mark at the median";
    text(&mut svg, 16.0, 48.0, "start", "fill=\"#555\"", legend);
    for (x, name) in COUNTS {
        text(&mut svg, x, HEAD - 12.0, "end", "fill=\"#555\"", name);
    }
    let longest = statistics
        .parts
        .iter()
        .filter_map(|part| Some(part.seconds?.third))
        .fold(1.0, f64::max);
    let bottom = height - FOOT;
    let x_of = |seconds: f64| LEFT + (BARS_END - LEFT) * (seconds / longest).clamp(0.0, 1.0);
    let tick = TICKS
        .into_iter()
        .find(|tick| longest / tick <= MAX_TICKS)
        .unwrap_or(longest);
    let mut at = 0.0;
    while at <= longest {
        let x = x_of(at);
        let _ = writeln!(
            svg,
            "<line x1=\"{x:.1}\" y1=\"{HEAD}\" x2=\"{x:.1}\" y2=\"{bottom}\" stroke=\"#ddd\"/>"
        );
        let label = length(at);
        text(
            &mut svg,
            x,
            bottom + 18.0,
            "middle",
            "fill=\"#555\"",
            &label,
        );
        at += tick;
    }
    for (row, part) in statistics.parts.iter().enumerate() {
        draw(&mut svg, part, HEAD + ROW * row as f64, x_of);
    }
    svg.push_str("</svg>\n");
    svg
}

fn draw(svg: &mut String, part: &PartStatistics, top: f64, x_of: impl Fn(f64) -> f64) {
    let middle = top + ROW / 2.0;
    let base = middle + 4.5;
    let mut name: String = part.part.to_string();
    if name.chars().count() > NAME {
        name = name.chars().take(NAME - 1).chain(['…']).collect();
    }
    let weight = match part.part {
        Part::Gate(_) => "font-weight=\"bold\"",
        Part::Step(_) | Part::Reading(_) => "",
    };
    text(svg, 16.0, base, "start", weight, &name);
    if let Some(seconds) = part.seconds {
        let (from, to) = (x_of(seconds.first), x_of(seconds.third));
        let median = x_of(seconds.median);
        let _ = writeln!(
            svg,
            "<rect x=\"{from:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"14\" fill=\"#8fb3cc\"/>\
         <line x1=\"{median:.1}\" y1=\"{:.1}\" x2=\"{median:.1}\" y2=\"{:.1}\" stroke=\"#123\" stroke-width=\"3\"/>",
            middle - 7.0,
            (to - from).max(1.0),
            middle - 9.0,
            middle + 9.0,
        );
    }
    let counts = [
        part.jobs.to_string(),
        count(part.asked()),
        count(part.refusals),
        count(part.out_of_limits),
    ];
    for (place, ((x, _), count)) in COUNTS.into_iter().zip(counts).enumerate() {
        // What needs a look stands out in weight, not in colour alone.
        let weight = if place > 0 {
            "font-weight=\"bold\""
        } else {
            "fill=\"#555\""
        };
        text(svg, x, base, "end", weight, &count);
    }
}

/// Nothing is left blank, so that what there is shows.
fn count(number: u32) -> String {
    match number {
        0 => String::new(),
        number => number.to_string(),
    }
}

fn length(seconds: f64) -> String {
    time::length(seconds.round() as u64)
        .replace(" 00 s", "")
        .replace(" 00 min", "")
}

fn text(svg: &mut String, x: f64, y: f64, anchor: &str, style: &str, words: &str) {
    let words = escaped(words);
    // Writing into a string can't fail.
    let _ = writeln!(
        svg,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" {style}>{words}</text>"
    );
}
