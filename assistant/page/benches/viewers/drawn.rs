//! What was measured, as a table and as a picture.

use serde::Serialize;
use std::fmt::Write;

/// One run.
#[derive(Debug, Serialize)]
pub struct Measured {
    pub viewers: usize,
    pub changes: usize,
    pub received: usize,
    pub p50_ms: f64,
    pub p99_ms: f64,
    pub most_ms: f64,
    pub kilobytes_a_viewer: Option<f64>,
}

pub fn table(all: &[Measured]) {
    println!("\nviewers  changes  received   p50 ms   p99 ms  most ms  kB a viewer");
    for it in all {
        let memory = it
            .kilobytes_a_viewer
            .map_or_else(|| "unknown".to_owned(), |it| format!("{it:.1}"));
        println!(
            "{:>7} {:>8} {:>9} {:>8.2} {:>8.2} {:>8.2} {memory:>12}",
            it.viewers, it.changes, it.received, it.p50_ms, it.p99_ms, it.most_ms
        );
    }
}

const LEFT: f64 = 90.0;
const WIDTH: f64 = 520.0;
const ROW: f64 = 64.0;
const TOP: f64 = 70.0;

/// What is promised: a change is seen within this.
const PROMISED_MS: f64 = 100.0;

/// One row a run: the middle delay, the delay that one in a hundred exceeds, and the promise as a line.
pub fn picture(all: &[Measured]) -> String {
    let most = all.iter().map(|it| it.p99_ms).fold(PROMISED_MS, f64::max) * 1.05;
    let x = |ms: f64| LEFT + WIDTH * ms / most;
    let bottom = TOP + ROW * all.len() as f64;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"820\" height=\"{:.0}\" font-family=\"sans-serif\" \
         font-size=\"13\"><rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\
         <text x=\"16\" y=\"26\" font-size=\"16\">From a change to what viewers have of it, by the number of viewers</text>\
         <line x1=\"{promise:.1}\" x2=\"{promise:.1}\" y1=\"44\" y2=\"{bottom:.1}\" stroke=\"#a33b20\" stroke-dasharray=\"6 3\"/>\
         <text x=\"{promise:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{PROMISED_MS} ms promised</text>\n",
        bottom + 50.0,
        bottom + 20.0,
        promise = x(PROMISED_MS),
    );
    for (place, it) in all.iter().enumerate() {
        let y = TOP + ROW * place as f64;
        for (ms, name, colour, at) in [
            (it.p50_ms, "half", "#0b5d8a", y - 8.0),
            (it.p99_ms, "99 in 100", "#8fb8cf", y + 12.0),
        ] {
            // Writing to a String can't fail.
            let _ = writeln!(
                svg,
                "<rect x=\"{LEFT}\" y=\"{at:.1}\" width=\"{:.1}\" height=\"16\" fill=\"{colour}\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\">{name}: {ms:.1} ms</text>",
                x(ms) - LEFT,
                x(ms) + 6.0,
                at + 13.0
            );
        }
        let memory = it
            .kilobytes_a_viewer
            .map_or_else(String::new, |it| format!("{it:.0} kB each"));
        let _ = writeln!(
            svg,
            "<text x=\"{0:.1}\" y=\"{1:.1}\" text-anchor=\"end\" font-size=\"16\">{2}</text>\
             <text x=\"{0:.1}\" y=\"{3:.1}\" text-anchor=\"end\" font-size=\"11\">{memory}</text>",
            LEFT - 10.0,
            y + 8.0,
            it.viewers,
            y + 26.0
        );
    }
    svg.push_str("</svg>\n");
    svg
}
