//! The steps of a sheet: number, action, what is done, its values beside it.

use super::{BODY, Flow, GAP, LEAD, Mark, SIDE, SMALL, SMALL_LEAD};
use crate::drawing::{self, Drawing, Ink};
use crate::pdf::letters::Weight;
use crate::pdf::structure::Role;
use crate::sheet::StepLine;

/// Widths of the columns before what is done, and of the one after it.
const NUMBER: f32 = 36.0;
const KIND: f32 = 66.0;
const VALUES: f32 = 142.0;
/// Within a frame.
const INSIDE: f32 = 5.0;
/// The triangle before a warning.
const TRIANGLE: f32 = 13.0;

/// A line of what is done.
struct Set {
    text: String,
    weight: Weight,
    indent: f32,
    triangle: bool,
}

impl Flow<'_> {
    pub(super) fn steps(&mut self, lines: &[StepLine]) {
        for line in lines {
            self.step(line);
        }
        self.y += 4.0;
    }

    fn step(&mut self, line: &StepLine) {
        let beside = if line.values.is_empty() { 0.0 } else { VALUES };
        let width = self.width - NUMBER - KIND - beside - 2.0 * INSIDE;
        let set = self.told(line, width);
        let values: Vec<String> = line
            .values
            .iter()
            .flat_map(|value| {
                let room = VALUES - GAP;
                self.letters.lines(value, Weight::Bold, SMALL + 0.5, room)
            })
            .collect();
        let height = (set.len() as f32 * LEAD).max(values.len() as f32 * SMALL_LEAD) + INSIDE * 2.0;
        let whole = height + 3.0;
        // A step stays with its warning; only one that is longer than a page goes on over the next.
        self.need(whole);
        let top = self.y;
        let page = self.pages.len();
        self.y += INSIDE;
        let left = SIDE + INSIDE;
        self.structure.begin(Role::Item);
        if !line.number.is_empty() {
            self.within(Role::Label, |flow| {
                flow.line(left, flow.y, BODY, Weight::Bold, line.number.clone());
            });
        }
        // What is done is read before its values, though these are drawn first.
        self.structure.begin(Role::Body);
        let at = [left + NUMBER, self.y + 1.2];
        self.within(Role::Paragraph, |flow| {
            flow.line(at[0], at[1], SMALL, Weight::Bold, line.kind.to_owned());
        });
        let told = self.structure.add(Role::Paragraph);
        let valued = (!values.is_empty()).then(|| self.structure.add(Role::Paragraph));
        let beside = SIDE + self.width - VALUES;
        for (number, value) in values.into_iter().enumerate() {
            let y = self.y + number as f32 * SMALL_LEAD;
            if y + SMALL_LEAD < self.bottom {
                let at = [beside, y];
                self.line_of(valued, at, SMALL + 0.5, Weight::Bold, value);
            }
        }
        for it in set {
            self.need(LEAD);
            let x = left + NUMBER + KIND;
            if it.triangle {
                self.triangle(x + 4.0, self.y + 6.6);
            }
            let at = [x + it.indent, self.y];
            self.line_of(Some(told), at, BODY, it.weight, it.text);
            self.y += LEAD;
        }
        self.structure.end();
        self.structure.end();
        if self.pages.len() == page {
            self.y = top + height;
            if line.hold {
                self.frame(top, height);
            }
        }
        if !line.hold {
            self.rule(0.4, Ink::Pale);
        }
        self.y += 3.0;
    }

    fn told(&self, line: &StepLine, width: f32) -> Vec<Set> {
        let mut set = Vec::new();
        let mut add = |text: &str, weight, indent: f32, triangle| {
            let lines = self.letters.lines(text, weight, BODY, width - indent);
            for (number, text) in lines.into_iter().enumerate() {
                // Whoever hears it has no line ends: words stay apart.
                set.push(Set {
                    text: format!("{} ", text.trim_end()),
                    weight,
                    indent,
                    triangle: triangle && number == 0,
                });
            }
        };
        if let Some(only) = &line.only {
            add(only, Weight::Regular, 0.0, false);
        }
        if let Some((signal, text)) = &line.warning {
            // The alert symbol stands for injury only (ANSI Z535.6).
            let (indent, alert) = match line.injures {
                true => (TRIANGLE, true),
                false => (0.0, false),
            };
            add(&format!("{signal}: {text}"), Weight::Bold, indent, alert);
        }
        add(&line.text, Weight::Regular, 0.0, false);
        for text in &line.strong {
            add(text, Weight::Bold, 0.0, false);
        }
        set
    }

    fn triangle(&mut self, x: f32, y: f32) {
        let mut drawing = Drawing::new(9.0, 9.0, "warning".to_owned());
        drawing.mark(drawing::Mark::Triangle, 0.0, 0.0);
        drawing.line([0.0, -1.4], [0.0, 0.8], 0.8, Ink::Black);
        drawing.fill([-0.4, 1.2, 0.8, 0.7], Ink::Black);
        // The signal word beside it says the same.
        let mark = Mark::Drawing {
            x,
            y,
            scale: 1.35,
            drawing,
        };
        self.mark_of(None, mark);
    }

    /// A thick edge round what lies between `top` and `top + height`.
    fn frame(&mut self, top: f32, height: f32) {
        let thick = 1.6;
        for (x, y, width, thick) in [
            (SIDE, top, self.width, thick),
            (SIDE, top + height - thick, self.width, thick),
            (SIDE, top, thick, height),
            (SIDE + self.width - thick, top, thick, height),
        ] {
            let edge = Mark::Rule {
                x,
                y,
                width,
                thick,
                ink: Ink::Black,
            };
            self.mark_of(None, edge);
        }
    }
}
