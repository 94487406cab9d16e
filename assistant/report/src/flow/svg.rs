//! The picture's lines, boxes and letters.

use super::{Lane, Row};
use crate::html::escaped;
use std::fmt::Write;

pub(super) const MARGIN: f32 = 16.0;
/// Width of a step.
pub(super) const BOX: f32 = 520.0;
/// From one lane to the next.
pub(super) const LANE: f32 = 16.0;
/// Room for a fact's words.
pub(super) const LABEL: f32 = 250.0;
/// From one line of text to the next.
pub(super) const LEADING: f32 = 18.0;
const GAP: f32 = 14.0;
const LETTERS: f32 = 13.0;
/// Usual sans-serif letters are at most 0.6 of their size wide on average.
const WIDE: f32 = 0.6 * LETTERS;

/// Breaks a text into lines that fit a step.
pub(super) fn wrapped(text: &str) -> Vec<String> {
    broken(text, ((BOX - 28.0) / WIDE) as usize)
}

fn broken(text: &str, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + word.chars().count() < most => {
                line.push(' ');
                line.push_str(word);
            }
            Some(_) | None => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A picture that grows downwards.
pub(super) struct Drawing {
    body: String,
    width: f32,
    y: f32,
}

impl Drawing {
    pub fn new(width: f32) -> Self {
        Self {
            body: String::new(),
            width,
            y: MARGIN,
        }
    }

    /// Writing to a string can't fail.
    fn put(&mut self, svg: std::fmt::Arguments<'_>) {
        let _ = self.body.write_fmt(svg);
        self.body.push('\n');
    }

    fn text(&mut self, x: f32, y: f32, size: f32, strong: bool, text: &str) {
        let weight = if strong { " font-weight=\"bold\"" } else { "" };
        let text = escaped(text);
        self.put(format_args!(
            r#"<text x="{x:.1}" y="{y:.1}" font-size="{size}"{weight}>{text}</text>"#
        ));
    }

    pub fn heading(&mut self, text: &str) {
        self.y += 24.0;
        self.text(MARGIN, self.y, 18.0, true, text);
        self.y += 8.0;
    }

    pub fn line(&mut self, text: &str) {
        let most = ((self.width - 2.0 * MARGIN) / WIDE) as usize;
        for line in broken(text, most) {
            self.y += LEADING;
            self.text(MARGIN, self.y, LETTERS, false, &line);
        }
    }

    pub fn gap(&mut self) {
        self.y += 2.0 * GAP;
    }

    /// Draws a step and an arrow to it; the middle of its height.
    pub fn row(&mut self, left: f32, row: &Row) -> f32 {
        let (from, top, height) = (self.y, self.y + GAP, row.height());
        let middle = left + BOX / 2.0;
        self.put(format_args!(
            r#"<path d="M{middle:.1} {from:.1}V{:.1}m-4 -5l4 5l4 -5" fill="none" stroke="black"/>"#,
            top - 1.0
        ));
        if row.hold {
            // Eight corners and a double edge: a hold point shows without any colour.
            for (inset, width) in [(0.0, 2.5), (5.0, 1.0)] {
                let (x, y) = (left + inset, top + inset);
                let (w, h) = (BOX - 2.0 * inset, height - 2.0 * inset);
                let cut = 12.0;
                self.put(format_args!(
                    r#"<path d="M{:.1} {y:.1}h{:.1}l{cut} {cut}v{:.1}l-{cut} {cut}h-{:.1}l-{cut} -{cut}v-{:.1}z" fill="white" stroke="black" stroke-width="{width}"/>"#,
                    x + cut,
                    w - 2.0 * cut,
                    h - 2.0 * cut,
                    w - 2.0 * cut,
                    h - 2.0 * cut,
                ));
            }
        } else {
            self.put(format_args!(
                r#"<rect x="{left:.1}" y="{top:.1}" width="{BOX}" height="{height:.1}" rx="4" fill="white" stroke="black"/>"#
            ));
        }
        let number = row.number.map(|it| format!("{it}  ")).unwrap_or_default();
        self.text(
            left + 14.0,
            top + LEADING,
            11.0,
            true,
            &format!("{number}{}", row.kind),
        );
        for (at, (line, strong)) in row.lines.iter().enumerate() {
            let y = top + LEADING * (at as f32 + 2.0);
            self.text(left + 14.0, y, LETTERS, *strong, line);
        }
        self.y = top + height;
        top + height / 2.0
    }

    /// Something that is off: a thin line with an open ring where it comes off and a full one where it is back.
    pub fn lane_of_thing(&mut self, x: f32, lane: &Lane, middles: &[f32]) {
        let (from, to) = self.ends(lane, middles);
        let name = escaped(&lane.name);
        let back = match lane.to {
            Some(_) => format!(r#"<circle cx="{x:.1}" cy="{to:.1}" r="4" fill="black"/>"#),
            None => String::new(),
        };
        self.put(format_args!(
            r#"<g><title>{name}</title><path d="M{x:.1} {from:.1}V{to:.1}" stroke="black" stroke-dasharray="2 3" fill="none"/><circle cx="{x:.1}" cy="{from:.1}" r="4" fill="white" stroke="black"/>{back}</g>"#
        ));
    }

    /// A fact that holds: a thick line with its words at its beginning, cut off by a bar where it is voided.
    pub fn lane_of_fact(&mut self, x: f32, lane: &Lane, middles: &[f32]) {
        let (from, to) = self.ends(lane, middles);
        let bar = match lane.to {
            Some(_) => format!("M{:.1} {to:.1}h12", x - 6.0),
            None => String::new(),
        };
        self.put(format_args!(
            r#"<path d="M{x:.1} {from:.1}V{to:.1}{bar}" stroke="black" stroke-width="3" fill="none"/>"#
        ));
        let most = ((LABEL - 4.0) / WIDE) as usize;
        let right = self.width - MARGIN - LABEL + 4.0;
        for (at, line) in broken(&lane.name, most).iter().enumerate() {
            let y = from + LEADING * at as f32;
            self.text(right, y, LETTERS, false, line);
        }
        self.put(format_args!(
            r#"<path d="M{x:.1} {from:.1}H{:.1}" stroke="black" stroke-width="1" fill="none"/>"#,
            right - 3.0
        ));
    }

    fn ends(&self, lane: &Lane, middles: &[f32]) -> (f32, f32) {
        let at = |step: usize| middles.get(step).copied().unwrap_or(self.y);
        let end = middles.last().copied().unwrap_or(self.y);
        (at(lane.from), lane.to.map_or(end, at))
    }

    pub fn finish(mut self) -> String {
        self.y += MARGIN;
        let (width, height) = (self.width, self.y);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" viewBox=\"0 0 {width:.0} {height:.0}\" font-family=\"sans-serif\">\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n{}</svg>\n",
            self.body
        )
    }
}
