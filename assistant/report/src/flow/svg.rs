//! The picture's lines, boxes and letters.

use super::{Block, Lane, Row};
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

/// Letters of a heading that fit a step's width; bold ones are wider.
const HEADING: usize = (BOX / (0.62 * 15.0)) as usize;

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

/// The room beside the steps for what is off, left, and for what holds, right.
pub(super) struct Lanes {
    pub left: f32,
    pub right: f32,
}

/// Where the middle of a step lies.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    column: usize,
    y: f32,
}

/// The height of a row with its heading.
pub(super) fn height((heading, row): &Block<'_>) -> f32 {
    let heading = heading.map_or(0.0, |text| {
        2.0 * GAP + LEADING * broken(text, HEADING).len() as f32
    });
    heading + GAP + row.height()
}

/// A picture whose columns grow downwards.
pub(super) struct Drawing {
    body: String,
    lanes: Lanes,
    columns: usize,
    y: f32,
    column: usize,
    /// Where the columns begin.
    top: f32,
    /// Where the last step of each column ends.
    bottoms: Vec<f32>,
}

impl Drawing {
    pub fn new(lanes: Lanes, columns: usize) -> Self {
        Self {
            body: String::new(),
            lanes,
            columns,
            y: MARGIN,
            column: 0,
            top: MARGIN,
            bottoms: vec![0.0; columns],
        }
    }

    /// The left edge of a column's steps.
    fn left(&self, column: usize) -> f32 {
        let wide = self.lanes.left + BOX + self.lanes.right + MARGIN;
        MARGIN + self.lanes.left + wide * column as f32
    }

    fn width(&self) -> f32 {
        self.left(self.columns) - self.lanes.left
    }

    pub fn begin_columns(&mut self) {
        self.top = self.y;
    }

    pub fn go_to_column(&mut self, column: usize) {
        if column != self.column {
            self.column = column;
            self.y = self.top;
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

    pub fn heading_in_column(&mut self, text: &str) {
        self.y += 2.0 * GAP;
        let left = self.left(self.column);
        for line in broken(text, HEADING) {
            self.text(left, self.y, 15.0, true, &line);
            self.y += LEADING;
        }
    }

    pub fn line(&mut self, text: &str) {
        let most = ((self.width() - 2.0 * MARGIN) / WIDE) as usize;
        for line in broken(text, most) {
            self.y += LEADING;
            self.text(MARGIN, self.y, LETTERS, false, &line);
        }
    }

    pub fn gap(&mut self) {
        self.y += 2.0 * GAP;
    }

    /// Draws a step and an arrow to it; the middle of its height.
    pub fn row(&mut self, row: &Row) -> Place {
        let left = self.left(self.column);
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
        if let Some(bottom) = self.bottoms.get_mut(self.column) {
            *bottom = self.y;
        }
        Place {
            column: self.column,
            y: top + height / 2.0,
        }
    }

    /// Something that is off: a thin line with an open ring where it comes off and a full one where it is back.
    pub fn lane_of_thing(&mut self, lane: &Lane, middles: &[Place]) {
        let Some((from, to)) = ends(lane, middles) else {
            return;
        };
        let name = escaped(&lane.name);
        let out = LANE * (lane.column as f32 + 1.0);
        let x = |it: &Self, column| it.left(column) - out;
        let path = self.down(from, to, x);
        let back = match lane.to {
            Some(_) => format!(
                r#"<circle cx="{:.1}" cy="{:.1}" r="4" fill="black"/>"#,
                x(self, to.column),
                to.y
            ),
            None => String::new(),
        };
        let off = x(self, from.column);
        self.put(format_args!(
            r#"<g><title>{name}</title><path d="{path}" stroke="black" stroke-dasharray="2 3" fill="none"/><circle cx="{off:.1}" cy="{:.1}" r="4" fill="white" stroke="black"/>{back}</g>"#,
            from.y
        ));
    }

    /// A fact that holds: a thick line with its words at its beginning, cut off by a bar where it is voided.
    pub fn lane_of_fact(&mut self, lane: &Lane, middles: &[Place]) {
        let Some((from, to)) = ends(lane, middles) else {
            return;
        };
        let out = BOX + LANE * (lane.column as f32 + 1.0);
        let x = |it: &Self, column| it.left(column) + out;
        let path = self.down(from, to, x);
        let bar = match lane.to {
            Some(_) => format!("M{:.1} {:.1}h12", x(self, to.column) - 6.0, to.y),
            None => String::new(),
        };
        self.put(format_args!(
            r#"<path d="{path}{bar}" stroke="black" stroke-width="3" fill="none"/>"#
        ));
        let most = ((LABEL - 4.0) / WIDE) as usize;
        let right = self.left(from.column) + BOX + self.lanes.right - LABEL + 4.0;
        for (at, line) in broken(&lane.name, most).iter().enumerate() {
            let y = from.y + LEADING * at as f32;
            self.text(right, y, LETTERS, false, line);
        }
        self.put(format_args!(
            r#"<path d="M{:.1} {:.1}H{:.1}" stroke="black" stroke-width="1" fill="none"/>"#,
            x(self, from.column),
            from.y,
            right - 3.0
        ));
    }

    /// A line down from one step to another, through the columns between them.
    fn down(&self, from: Place, to: Place, x: impl Fn(&Self, usize) -> f32) -> String {
        let mut path = String::new();
        for column in from.column..=to.column {
            let begin = match column == from.column {
                true => from.y,
                false => self.top,
            };
            let end = match column == to.column {
                true => to.y,
                false => self.bottoms.get(column).copied().unwrap_or(begin),
            };
            let _ = write!(path, "M{:.1} {begin:.1}V{end:.1}", x(self, column));
        }
        path
    }

    pub fn finish(self) -> String {
        let lowest = self.bottoms.iter().copied().fold(self.y, f32::max);
        let (width, height) = (self.width(), lowest + MARGIN);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" viewBox=\"0 0 {width:.0} {height:.0}\" font-family=\"sans-serif\">\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n{}</svg>\n",
            self.body
        )
    }
}

/// Where a lane's line begins and ends.
fn ends(lane: &Lane, middles: &[Place]) -> Option<(Place, Place)> {
    let from = middles.get(lane.from)?;
    let to = match lane.to {
        Some(to) => middles.get(to),
        None => middles.last(),
    };
    Some((*from, *to?))
}
