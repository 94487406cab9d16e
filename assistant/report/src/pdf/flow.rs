//! Parts onto pages: what is drawn where. Lengths are points, y runs down.

mod steps;

use super::letters::{Letters, Weight};
use crate::drawing::{Anchor, Drawing, Ink, Shape};
use crate::sheet::{Cell, Part, Sheet, Table};

/// The space around what is written: left and right, top, bottom.
pub(super) const SIDE: f32 = 48.0;
pub(super) const TOP: f32 = 62.0;
pub(super) const BOTTOM: f32 = 54.0;
/// From line to line of the cautions on each page.
pub(super) const EACH_LEAD: f32 = 10.5;

const BODY: f32 = 9.5;
const LEAD: f32 = 13.0;
const SMALL: f32 = 8.0;
const SMALL_LEAD: f32 = 11.0;
/// Between two columns, and above and below a row's words.
const GAP: f32 = 8.0;
const PAD: f32 = 2.5;

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    Words {
        x: f32,
        y: f32,
        size: f32,
        weight: Weight,
        text: String,
    },
    /// A drawing, its upper left corner and how much it is scaled.
    Drawing {
        x: f32,
        y: f32,
        scale: f32,
        drawing: Drawing,
    },
    /// A photo by its place among the sheet's, and its area.
    Photo {
        place: usize,
        x: f32,
        y: f32,
        width: f32,
        height: f32,
    },
    Rule {
        x: f32,
        y: f32,
        width: f32,
        thick: f32,
        ink: Ink,
    },
}

#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Page {
    pub marks: Vec<Mark>,
}

/// From line to line of a table's row.
const ROW_LEAD: f32 = LEAD - 0.6;

/// A table's row: its words in lines, the height of its drawings, and the most lines of a cell.
struct Row {
    cells: Vec<(Weight, Vec<String>)>,
    drawn: f32,
    count: usize,
}

impl Row {
    fn height(&self) -> f32 {
        (self.count as f32 * ROW_LEAD).max(self.drawn) + 2.0 * PAD
    }
}

/// Between what is written and the cautions of each page.
const EACH_GAP: f32 = 4.0;

/// Sets a sheet on pages.
pub(super) fn pages(sheet: &Sheet, letters: &Letters) -> Vec<Page> {
    let (width, height) = sheet.paper.points();
    let mut flow = Flow {
        letters,
        width: width - 2.0 * SIDE,
        bottom: height - BOTTOM - EACH_LEAD * on_each_page(sheet, letters).len() as f32 - EACH_GAP,
        y: TOP,
        pages: vec![Page::default()],
        photo: 0,
    };
    flow.title(sheet);
    for (place, part) in sheet.parts.iter().enumerate() {
        flow.part(part, sheet.parts.get(place + 1));
    }
    flow.pages
}

/// The cautions of each page, in lines.
pub(super) fn on_each_page(sheet: &Sheet, letters: &Letters) -> Vec<String> {
    let (width, _) = sheet.paper.points();
    letters.lines(&sheet.on_each_page, Weight::Bold, SMALL, width - 2.0 * SIDE)
}

struct Flow<'a> {
    letters: &'a Letters,
    width: f32,
    bottom: f32,
    y: f32,
    pages: Vec<Page>,
    photo: usize,
}

impl Flow<'_> {
    fn mark(&mut self, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.marks.push(mark);
        }
    }

    fn room(&self) -> f32 {
        self.bottom - self.y
    }

    fn turn(&mut self) {
        self.pages.push(Page::default());
        self.y = TOP;
    }

    /// A new page unless so much fits on this one; never an empty page.
    fn need(&mut self, height: f32) {
        if height > self.room() && self.y > TOP {
            self.turn();
        }
    }

    fn rule(&mut self, thick: f32, ink: Ink) {
        let rule = Mark::Rule {
            x: SIDE,
            y: self.y,
            width: self.width,
            thick,
            ink,
        };
        self.mark(rule);
    }

    /// A line of words, its upper edge at `y`.
    fn line(&mut self, x: f32, y: f32, size: f32, weight: Weight, text: String) {
        // The base line lies about a font's size below the upper edge of its line.
        self.mark(Mark::Words {
            x,
            y: y + size * 1.07,
            size,
            weight,
            text,
        });
    }

    fn paragraph(&mut self, text: &str, size: f32, lead: f32, weight: Weight, indent: f32) {
        for line in self.letters.lines(text, weight, size, self.width - indent) {
            self.need(lead);
            self.line(SIDE + indent, self.y, size, weight, line);
            self.y += lead;
        }
    }

    fn title(&mut self, sheet: &Sheet) {
        self.paragraph(sheet.kind, BODY, LEAD, Weight::Regular, 0.0);
        self.paragraph(&sheet.title, 19.0, 24.0, Weight::Bold, 0.0);
        if !sheet.subtitle.is_empty() {
            self.y += 1.0;
            self.paragraph(&sheet.subtitle, 10.5, 14.0, Weight::Regular, 0.0);
        }
        self.y += 5.0;
        self.rule(1.4, Ink::Black);
        self.y += 9.0;
    }

    fn part(&mut self, part: &Part, next: Option<&Part>) {
        match part {
            Part::Heading(text) => {
                self.y += 13.0;
                // A heading stays with what it heads.
                let follows = match next {
                    Some(Part::Photos(_)) => 190.0,
                    // The proof stays together.
                    Some(Part::Facts {
                        facts,
                        beside: Some(drawing),
                    }) => self.facts_height(facts, Some(drawing)) + 4.0 * LEAD,
                    Some(Part::Table(table)) => self.beginning(table),
                    Some(_) | None => 44.0,
                };
                self.need(22.0 + follows);
                self.paragraph(text, 12.5, 17.0, Weight::Bold, 0.0);
                self.rule(0.6, Ink::Grey);
                self.y += 5.0;
            }
            Part::Words { text, strong } => {
                let weight = if *strong {
                    Weight::Bold
                } else {
                    Weight::Regular
                };
                self.y += 2.0;
                self.paragraph(text, BODY, LEAD, weight, 0.0);
                self.y += 2.0;
            }
            Part::List(items) => {
                for item in items {
                    self.need(LEAD);
                    self.line(SIDE, self.y, BODY, Weight::Regular, "–".to_owned());
                    self.paragraph(item, BODY, LEAD, Weight::Regular, 11.0);
                    self.y += 1.5;
                }
            }
            Part::Facts { facts, beside } => self.facts(facts, beside.as_ref()),
            Part::Table(table) => self.table(table),
            Part::Steps(lines) => self.steps(lines),
            Part::Figure { drawing, caption } => self.figure(drawing, caption),
            Part::Photos(photos) => self.photos(photos),
            Part::ToSign(lines) => self.signing(lines),
        }
    }

    /// Widths of the facts' names and of the facts.
    fn facts_columns(&self, beside: Option<&Drawing>) -> (f32, f32) {
        let names = 128.0;
        let beside = beside.map_or(0.0, |drawing| drawing.width + GAP);
        (names, self.width - names - beside)
    }

    fn facts_height(&self, facts: &[(String, String)], beside: Option<&Drawing>) -> f32 {
        let (names, width) = self.facts_columns(beside);
        let lines =
            |text: &str, width| self.letters.lines(text, Weight::Regular, BODY, width).len();
        let heights = facts.iter().map(|(name, fact)| {
            lines(name, names - GAP).max(lines(fact, width)) as f32 * LEAD + 1.0
        });
        let drawn = beside.map_or(0.0, |drawing| drawing.height);
        heights.sum::<f32>().max(drawn)
    }

    fn facts(&mut self, facts: &[(String, String)], beside: Option<&Drawing>) {
        let (names, width) = self.facts_columns(beside);
        let mut until = f32::MIN;
        if let Some(drawing) = beside {
            self.need(drawing.height);
            let x = SIDE + self.width - drawing.width;
            self.mark(Mark::Drawing {
                x,
                y: self.y,
                scale: 1.0,
                drawing: drawing.clone(),
            });
            until = self.y + drawing.height;
        }
        for (name, fact) in facts {
            let page = self.pages.len();
            let name = self.letters.lines(name, Weight::Regular, BODY, names - GAP);
            let fact = self.letters.lines(fact, Weight::Regular, BODY, width);
            for place in 0..name.len().max(fact.len()) {
                self.need(LEAD);
                for (x, lines) in [(SIDE, &name), (SIDE + names, &fact)] {
                    if let Some(line) = lines.get(place) {
                        self.line(x, self.y, BODY, Weight::Regular, line.clone());
                    }
                }
                self.y += LEAD;
            }
            self.y += 1.0;
            if self.pages.len() != page {
                until = f32::MIN;
            }
        }
        self.y = self.y.max(until) + 2.0;
    }

    fn signing(&mut self, lines: &[String]) {
        self.need(34.0);
        self.y += 18.0;
        let width = (self.width - 16.0 * (lines.len().saturating_sub(1)) as f32)
            / lines.len().max(1) as f32;
        let mut x = SIDE;
        for name in lines {
            let named = self.letters.width(name, Weight::Regular, BODY) + 6.0;
            self.line(x, self.y, BODY, Weight::Regular, name.clone());
            let y = self.y + BODY * 1.2;
            self.mark(Mark::Rule {
                x: x + named,
                y,
                width: width - named,
                thick: 0.6,
                ink: Ink::Black,
            });
            x += width + 16.0;
        }
        self.y += LEAD + 6.0;
    }

    fn figure(&mut self, drawing: &Drawing, caption: &str) {
        let scale = (self.width / drawing.width).min(1.06);
        let height = drawing.height * scale;
        self.need(height + 3.0 * SMALL_LEAD);
        self.y += 6.0;
        self.mark(Mark::Drawing {
            x: SIDE,
            y: self.y,
            scale,
            drawing: drawing.clone(),
        });
        self.y += height + 3.0;
        self.paragraph(caption, SMALL, SMALL_LEAD, Weight::Regular, 0.0);
        self.y += 3.0;
    }

    fn photos(&mut self, photos: &[(crate::Picture, String)]) {
        let cell = (self.width - 2.0 * GAP) / 2.0;
        for pair in photos.chunks(2) {
            let mut row = Vec::new();
            let mut height = 0.0_f32;
            for (picture, caption) in pair {
                let lines = self.letters.lines(caption, Weight::Regular, SMALL, cell);
                let (wide, high) = (picture.width.max(1) as f32, picture.height.max(1) as f32);
                let scale = (cell / wide).min(230.0 / high);
                let size = (wide * scale, high * scale);
                height = height.max(size.1 + lines.len() as f32 * SMALL_LEAD + 12.0);
                row.push((size, lines));
            }
            self.need(height);
            for (column, ((wide, high), lines)) in row.into_iter().enumerate() {
                let x = SIDE + column as f32 * (cell + 2.0 * GAP);
                let place = self.photo;
                self.photo += 1;
                self.mark(Mark::Photo {
                    place,
                    x,
                    y: self.y,
                    width: wide,
                    height: high,
                });
                for (number, line) in lines.into_iter().enumerate() {
                    let y = self.y + high + 3.0 + number as f32 * SMALL_LEAD;
                    self.line(x, y, SMALL, Weight::Regular, line);
                }
            }
            self.y += height;
        }
    }

    /// Where each column begins, and how wide its words may be.
    fn columns(&self, table: &Table) -> Vec<(f32, f32)> {
        let mut x = SIDE;
        let columns = table.columns.iter().map(|column| {
            let width = self.width * column.share;
            let left = x;
            x += width;
            (left, width - GAP)
        });
        columns.collect()
    }

    /// The height of a table's head and its first two rows, which stay together where a page holds them.
    fn beginning(&self, table: &Table) -> f32 {
        let columns = self.columns(table);
        let head = table.columns.iter().zip(&columns);
        let head = head.map(|(it, (_, width))| {
            let lines = self.letters.lines(&it.name, Weight::Bold, SMALL, *width);
            lines.len() as f32 * SMALL_LEAD
        });
        let head = head.fold(0.0, f32::max) + 2.0 * PAD;
        let rows = table.rows.iter().take(2);
        let rows = rows.map(|row| self.set(row, &columns).height());
        (head + rows.sum::<f32>()).min(self.bottom - TOP - 40.0)
    }

    fn table(&mut self, table: &Table) {
        self.need(self.beginning(table));
        let columns = self.columns(table);
        self.table_head(table, &columns);
        for row in &table.rows {
            self.row(row, &columns, table);
        }
        self.y += 4.0;
    }

    fn table_head(&mut self, table: &Table, columns: &[(f32, f32)]) {
        let mut height = 0.0_f32;
        for (column, (x, width)) in table.columns.iter().zip(columns) {
            let lines = self
                .letters
                .lines(&column.name, Weight::Bold, SMALL, *width);
            height = height.max(lines.len() as f32 * SMALL_LEAD);
            for (number, line) in lines.into_iter().enumerate() {
                let y = self.y + PAD + number as f32 * SMALL_LEAD;
                self.line(*x, y, SMALL, Weight::Bold, line);
            }
        }
        self.y += height + 2.0 * PAD;
        self.rule(0.8, Ink::Black);
    }

    /// A row's words, broken into lines.
    fn set(&self, row: &[Cell], columns: &[(f32, f32)]) -> Row {
        let set = |cell: &Cell, width: f32| {
            let weight = if cell.strong {
                Weight::Bold
            } else {
                Weight::Regular
            };
            (
                weight,
                self.letters.lines(&cell.text, weight, BODY - 0.5, width),
            )
        };
        let cells: Vec<_> = row
            .iter()
            .zip(columns)
            .map(|(cell, (_, width))| set(cell, *width))
            .collect();
        let drawn = row.iter().filter_map(|cell| cell.drawing.as_ref());
        let drawn = drawn.map(|drawing| drawing.height).fold(0.0, f32::max);
        let counts = cells.iter().map(|(_, lines)| lines.len());
        Row {
            count: counts.max().unwrap_or(0),
            cells,
            drawn,
        }
    }

    fn row(&mut self, row: &[Cell], columns: &[(f32, f32)], table: &Table) {
        let set = self.set(row, columns);
        let whole = set.height();
        let Row {
            cells,
            drawn,
            count,
        } = set;
        let lead = ROW_LEAD;
        let page = self.bottom - TOP - 40.0;
        // A row stays whole where it can; one longer than a page goes on over the next.
        if whole > self.room() && (whole <= page || self.room() < 4.0 * lead) {
            self.turn();
            self.table_head(table, columns);
        }
        for (cell, (x, _)) in row.iter().zip(columns) {
            if let Some(drawing) = &cell.drawing {
                let y = self.y + PAD;
                self.mark(Mark::Drawing {
                    x: *x,
                    y,
                    scale: 1.0,
                    drawing: drawing.clone(),
                });
            }
        }
        let top = self.y;
        self.y += PAD;
        for number in 0..count {
            if self.room() < lead {
                self.turn();
                self.table_head(table, columns);
                self.y += PAD;
            }
            for ((weight, lines), (x, _)) in cells.iter().zip(columns) {
                if let Some(line) = lines.get(number) {
                    self.line(*x, self.y, BODY - 0.5, *weight, line.clone());
                }
            }
            self.y += lead;
        }
        self.y += PAD;
        if self.y > top {
            self.y = self.y.max(top + drawn + 2.0 * PAD);
        }
        self.rule(0.4, Ink::Pale);
    }
}

/// Where a drawing's text begins, which is anchored somewhere.
pub(super) fn anchored(letters: &Letters, shape: &Shape) -> Option<(f32, f32, f32, String)> {
    let Shape::Text {
        at: [x, y],
        size,
        anchor,
        text,
    } = shape
    else {
        return None;
    };
    let width = letters.width(text, Weight::Regular, *size);
    let x = match anchor {
        Anchor::Start => *x,
        Anchor::Middle => x - width / 2.0,
        Anchor::End => x - width,
    };
    Some((x, *y, *size, text.clone()))
}
