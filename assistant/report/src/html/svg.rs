//! Drawings as SVG within HTML.

use super::escaped;
use crate::drawing::{Anchor, Drawing, Ink, Shape};
use std::fmt::Write;

pub(super) fn svg(drawing: &Drawing, class: &str) -> String {
    let (width, height) = (drawing.width, drawing.height);
    let tells = escaped(&drawing.tells);
    let mut out = format!(
        "<svg class=\"{class}\" viewBox=\"0 0 {width} {height}\" width=\"{width}pt\" height=\"{height}pt\" role=\"img\" aria-label=\"{tells}\">"
    );
    for shape in &drawing.shapes {
        // Writing into a text never fails.
        let _ = put(&mut out, shape);
    }
    out.push_str("</svg>");
    out
}

fn put(out: &mut String, shape: &Shape) -> std::fmt::Result {
    match shape {
        Shape::Boxes(boxes, ink) => {
            out.push_str("<path d=\"");
            for [x, y, width, height] in boxes {
                write!(out, "M{x:.2} {y:.2}h{width:.2}v{height:.2}h-{width:.2}z")?;
            }
            write!(out, "\" fill=\"{}\"/>", colour(*ink))
        }
        Shape::Line {
            from: [x1, y1],
            to: [x2, y2],
            width,
            ink,
        } => write!(
            out,
            "<path d=\"M{x1:.2} {y1:.2}L{x2:.2} {y2:.2}\" stroke=\"{}\" stroke-width=\"{width}\"/>",
            colour(*ink)
        ),
        Shape::Outline { points, fill, edge } => {
            let points: Vec<String> = points
                .iter()
                .map(|[x, y]| format!("{x:.2},{y:.2}"))
                .collect();
            write!(
                out,
                "<polygon points=\"{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"0.9\"/>",
                points.join(" "),
                colour(*fill),
                colour(*edge)
            )
        }
        Shape::Text {
            at: [x, y],
            size,
            anchor,
            text,
        } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            write!(
                out,
                "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size}\" text-anchor=\"{anchor}\" fill=\"#1a1a1a\">{}</text>",
                escaped(text)
            )
        }
    }
}

fn colour(ink: Ink) -> String {
    let level = ink.level();
    format!("#{level:02x}{level:02x}{level:02x}")
}
