//! The pictures of a report: where a value lies, what happened when, the record's hash.

use crate::drawing::{Anchor, Drawing, Ink, Mark, Shape};
use crate::model::{EventKind, GateState, JobReport, Reading, Verdict};
use crate::time;

/// Where a measured value lies against its limits; `None` where there are none.
pub(crate) fn range(reading: &Reading) -> Option<Drawing> {
    let range = reading.range?;
    let value: f64 = reading.value.parse().ok()?;
    let (low, high) = match (range.min, range.max) {
        (None, None) => return None,
        (min, max) => (min.unwrap_or(range.least), max.unwrap_or(range.most)),
    };
    let (from, to) = (low.min(value), high.max(value));
    let pad = ((to - from) * 0.15).max(f64::EPSILON);
    let (from, to) = (from - pad, to + pad);
    let (width, height) = (112.0_f32, 26.0_f32);
    let margin = 6.0_f32;
    let at = |value: f64| {
        let share = ((value - from) / (to - from)).clamp(0.0, 1.0);
        margin + share as f32 * (width - 2.0 * margin)
    };
    let lies = match reading.verdict {
        Verdict::Within | Verdict::NoLimits => "within",
        Verdict::OutOfLimits => "outside",
    };
    let limits = reading.limits.clone().unwrap_or_default();
    let tells = format!(
        "{} {} {} lies {lies} its limits, {limits}",
        reading.name, reading.value, reading.unit
    );
    let mut drawing = Drawing::new(width, height, tells);
    let (axis, left, right) = (13.0, at(low), at(high));
    drawing.fill([left, axis - 3.0, (right - left).max(1.0), 6.0], Ink::Pale);
    drawing.line([margin, axis], [width - margin, axis], 0.6, Ink::Grey);
    let number = |value: f64| {
        let places = reading
            .value
            .split_once('.')
            .map_or(0, |(_, after)| after.len());
        format!("{value:.places$}")
    };
    let mut labels: Vec<(f32, String)> = Vec::new();
    for limit in [range.min, range.max].into_iter().flatten() {
        let x = at(limit);
        drawing.line([x, axis - 4.5], [x, axis + 4.5], 1.2, Ink::Black);
        labels.push((x, number(limit)));
    }
    let crowded = matches!(labels.as_slice(), [(a, _), (b, _)] if b - a < 34.0);
    for (place, (x, label)) in labels.into_iter().enumerate() {
        let anchor = match (crowded, place) {
            (true, 0) => Anchor::End,
            (true, _) => Anchor::Start,
            (false, _) if x < 18.0 => Anchor::Start,
            (false, _) if x > width - 18.0 => Anchor::End,
            (false, _) => Anchor::Middle,
        };
        drawing.text([x, height - 1.0], 6.5, anchor, label);
    }
    match reading.verdict {
        Verdict::Within | Verdict::NoLimits => drawing.mark(Mark::Pointer, at(value), axis - 6.5),
        Verdict::OutOfLimits => drawing.mark(Mark::Cross, at(value), axis),
    }
    Some(drawing)
}

/// A lane of the timeline: its name, and what lies in it.
struct Lane {
    name: &'static str,
    marks: Vec<(f64, Mark)>,
}

/// What happened when; `None` for a job that took no time.
pub(crate) fn timeline(report: &JobReport, width: f32) -> Option<Drawing> {
    let (start, end) = (time::seconds(&report.opened)?, time::seconds(&report.last)?);
    let whole = end - start;
    if whole < 1.0 {
        return None;
    }
    let lanes = lanes(report);
    let (left, top, lane_height) = (70.0_f32, 6.0_f32, 13.0_f32);
    let height = top + lane_height * lanes.len() as f32 + 18.0;
    let at = |moment: f64| {
        // A clock that was set back may leave moments outside.
        let share = ((moment - start) / whole).clamp(0.0, 1.0);
        left + 6.0 + share as f32 * (width - left - 12.0)
    };
    let counts: Vec<String> = lanes
        .iter()
        .map(|lane| format!("{} {}", lane.marks.len(), lane.name.to_lowercase()))
        .collect();
    let tells = format!(
        "Timeline over {}: {}. The tables below tell each moment",
        record::time::length(report.seconds),
        counts.join(", ")
    );
    let mut drawing = Drawing::new(width, height, tells);
    let bottom = top + lane_height * lanes.len() as f32;
    for (from, to) in pauses(report) {
        let (from, to) = (at(from), at(to));
        drawing.fill([from, top, (to - from).max(0.5), bottom - top], Ink::Pale);
    }
    for (number, lane) in lanes.iter().enumerate() {
        let y = top + lane_height * (number as f32 + 0.5);
        drawing.text([0.0, y + 2.6], 7.5, Anchor::Start, lane.name);
        drawing.line([left, y], [width, y], 0.4, Ink::Pale);
        for (moment, mark) in &lane.marks {
            drawing.mark(*mark, at(*moment), y);
        }
    }
    drawing.line([left, bottom], [width, bottom], 0.8, Ink::Grey);
    let tick = tick(whole);
    let mut after = 0.0;
    while after <= whole {
        let x = at(start + after);
        drawing.line([x, bottom], [x, bottom + 3.0], 0.8, Ink::Grey);
        let label = if after == 0.0 {
            "0".to_owned()
        } else {
            ticked(after)
        };
        let anchor = if x > width - 16.0 {
            Anchor::End
        } else {
            Anchor::Middle
        };
        drawing.text([x, bottom + 11.5], 7.0, anchor, label);
        after += tick;
    }
    Some(drawing)
}

fn lanes(report: &JobReport) -> Vec<Lane> {
    let of = |kind: EventKind, mark: Mark| {
        let events = report.course.iter().filter(move |event| event.kind == kind);
        events
            .filter_map(|event| Some((time::seconds(&event.at)?, mark)))
            .collect::<Vec<_>>()
    };
    let gates = report.gates.iter().filter_map(|gate| {
        let mark = match gate.state {
            GateState::Confirmed => Mark::Diamond,
            GateState::StayedClosed => Mark::HollowDiamond,
            GateState::AskedAgain => return None,
        };
        Some((time::seconds(&gate.at)?, mark))
    });
    let readings = report.readings.iter().filter_map(|reading| {
        let mark = match reading.verdict {
            Verdict::Within | Verdict::NoLimits => Mark::Pointer,
            Verdict::OutOfLimits => Mark::Cross,
        };
        Some((time::seconds(&reading.at)?, mark))
    });
    let all = [
        Lane {
            name: "Steps",
            marks: of(EventKind::Step, Mark::Stroke),
        },
        Lane {
            name: "Hold points",
            marks: gates.collect(),
        },
        Lane {
            name: "Torques",
            marks: of(EventKind::Torque, Mark::Square),
        },
        Lane {
            name: "Readings",
            marks: readings.collect(),
        },
        Lane {
            name: "Notes",
            marks: of(EventKind::Note, Mark::Triangle),
        },
    ];
    all.into_iter()
        .filter(|lane| !lane.marks.is_empty())
        .collect()
}

/// What the timeline's marks stand for, of those that are in it.
pub(crate) fn legend(report: &JobReport) -> String {
    let marks: Vec<Mark> = lanes(report)
        .into_iter()
        .flat_map(|lane| lane.marks)
        .map(|(_, mark)| mark)
        .collect();
    let meanings = [
        (Mark::Stroke, "Stroke: a step done."),
        (Mark::Diamond, "Filled diamond: a hold point confirmed."),
        (
            Mark::HollowDiamond,
            "Hollow diamond: a hold point stayed closed.",
        ),
        (Mark::Square, "Square: something tightened."),
        (
            Mark::Pointer,
            "Filled triangle: a reading, not out of limits.",
        ),
        (Mark::Cross, "Cross: a reading out of limits."),
        (Mark::Triangle, "Hollow triangle: a note."),
    ];
    let there = meanings.iter().filter(|(mark, _)| marks.contains(mark));
    let mut legend = vec!["What happened when."];
    legend.extend(there.map(|(_, meaning)| *meaning));
    if !pauses(report).is_empty() {
        legend.push("Grey: the job was put down.");
    }
    legend.join(" ")
}

/// Times in which the job was put down: from the event before to its being taken up.
fn pauses(report: &JobReport) -> Vec<(f64, f64)> {
    report
        .course
        .windows(2)
        .filter(|pair| matches!(pair, [_, then] if then.kind == EventKind::TakenUp))
        .filter_map(|pair| match pair {
            [before, then] => Some((time::seconds(&before.at)?, time::seconds(&then.at)?)),
            _ => None,
        })
        .collect()
}

/// Seconds between two ticks of a scale, so that there are at most eight.
fn tick(whole: f64) -> f64 {
    let steps = [
        1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0,
        14_400.0, 28_800.0, 43_200.0, 86_400.0,
    ];
    let fits = steps.into_iter().find(|step| whole / step <= 8.0);
    fits.unwrap_or_else(|| (whole / 8.0 / 86_400.0).ceil() * 86_400.0)
}

fn ticked(seconds: f64) -> String {
    if seconds < 60.0 {
        format!("{seconds:.0} s")
    } else if seconds < 3600.0 {
        let minutes = seconds / 60.0;
        if minutes.fract() == 0.0 {
            format!("{minutes:.0} min")
        } else {
            format!("{minutes:.1} min")
        }
    } else if seconds < 2.0 * 86_400.0 {
        let hours = seconds / 3600.0;
        if hours.fract() == 0.0 {
            format!("{hours:.0} h")
        } else {
            format!("{hours:.1} h")
        }
    } else {
        format!("{:.0} days", seconds / 86_400.0)
    }
}

/// A QR code (ISO/IEC 18004) with its quiet zone of four modules. `None` for a text that fits into none.
pub(crate) fn qr(text: &str, side: f32, tells: String) -> Option<Drawing> {
    let code = qrcode::QrCode::with_error_correction_level(text, qrcode::EcLevel::M).ok()?;
    let modules = code.width();
    let module = side / (modules + 8) as f32;
    let mut drawing = Drawing::new(side, side, tells);
    drawing.fill([0.0, 0.0, side, side], Ink::White);
    let colours = code.to_colors();
    let mut boxes = Vec::new();
    for (row, line) in colours.chunks(modules).enumerate() {
        let mut column = 0;
        // Neighbours become one box: no hairlines between them.
        while let Some(colour) = line.get(column) {
            let run = line
                .iter()
                .skip(column)
                .take_while(|it| *it == colour)
                .count();
            if *colour == qrcode::Color::Dark {
                boxes.push([
                    (column + 4) as f32 * module,
                    (row + 4) as f32 * module,
                    run as f32 * module,
                    module,
                ]);
            }
            column += run;
        }
    }
    drawing.shapes.push(Shape::Boxes(boxes, Ink::Black));
    Some(drawing)
}
